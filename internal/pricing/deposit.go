package pricing

import "rampside/internal/money"

// DepositVAT says how much of a deposit is VAT, at each rate of what it is for:
// money received creates a tax point for what was received (VAT Act 1994,
// section 6(4)). The deposit is shared out over the rates by what each comes
// to with VAT, and the VAT in each share is its published fraction; net and
// VAT add up to the deposit. ok is false when the totals come to nothing.
func DepositVAT(deposit money.Minor, of money.Totals) (t money.Totals, ok bool) {
	weights := make([]money.Minor, len(of.ByRate))
	for i, r := range of.ByRate {
		weights[i] = r.Net + r.VAT
	}
	parts, ok := money.Apportion(deposit, weights)
	if !ok {
		return money.Totals{}, false
	}
	for i, r := range of.ByRate {
		net, vat := money.SplitGross(parts[i], r.Rate)
		t.Net, t.VAT = t.Net+net, t.VAT+vat
		t.ByRate = append(t.ByRate, money.RateTotal{Code: r.Code, Rate: r.Rate, Net: net, VAT: vat})
	}
	t.Gross = t.Net + t.VAT
	return t, true
}

// GiveBack is the line that gives an exchange surcharge back, in whole or in
// part (qty in thousandths), at the price and the VAT rate it was charged at.
// ok is false when the line is no such surcharge or has not that many left.
func GiveBack(charged LineSum, qty, already int64) (l Line, ok bool) {
	if charged.Kind != Exchange || qty <= 0 || already < 0 || qty > charged.Qty-already || len(charged.Adjust) > 0 {
		return Line{}, false
	}
	return Line{Kind: Exchange, Text: charged.Text, VAT: charged.VAT, Price: Each{Qty: -qty, Unit: charged.Unit, Net: charged.Price}}, true
}
