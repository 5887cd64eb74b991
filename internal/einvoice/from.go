package einvoice

import (
	"errors"
	"strconv"

	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Head is what a document says besides its sums.
type Head struct {
	Kind   Kind
	Number string
	// OutsideNumber is the number of the second document, of what lies outside
	// the scope of VAT, when a bill mixes the two; empty means Number and "-O".
	OutsideNumber                    string
	Issued, Due, TaxPoint, Delivered workday.Day
	Note, Currency                   string
	BuyerReference, Order            string
	Preceding                        []Reference
	Seller, Buyer                    Party
	Payment                          *Payment
	Terms                            string
	// ExemptReason says why what is exempt is so; needed only where it is.
	ExemptReason string
}

// OutsideReason is why a document outside the scope carries no VAT.
const OutsideReason = "Not subject to VAT"

// ErrUnit says that a bill counts in a unit with no code.
var ErrUnit = errors.New("a line counts in a unit that electronic invoices do not know")

// units are the units of a bill by UN/ECE Recommendation 20.
var units = map[pricing.Unit]string{
	pricing.Hour: "HUR", pricing.Minute: "MIN", pricing.Second: "SEC", pricing.One: "C62",
	pricing.Litre: "LTR", pricing.Metre: "MTR", pricing.Kilo: "KGM",
}

// From makes the electronic documents of a bill, or of a credit note when
// Head.Kind says so: one, or two when the bill mixes what is taxed with what
// lies outside the scope of VAT. They pay to the same amount as the bill and
// carry its VAT, line by line and rate by rate.
//
// EN 16931 works VAT out once for each rate, to the nearest penny. Where the
// garage rounds in another way, or agreed a price with VAT in it, the bill's
// VAT of a rate may differ by a penny or so. The document then carries the
// bill's VAT: a small charge or allowance named OffReason brings the base to
// where that VAT is right, and the rounding amount (BT-114) takes it off again.
func From(h Head, sum pricing.Sum) ([]Invoice, error) {
	if h.Kind == CreditNote {
		paid := sum.Paid
		sum = sum.Credit() // what is given back, as positive amounts
		sum.Paid, sum.Due = paid, sum.Totals.Gross-paid
	}
	taxed, outside := sum.Apart()
	var out []Invoice
	if len(taxed.Lines) > 0 || len(outside.Lines) == 0 {
		in, err := one(h, taxed)
		if err != nil {
			return nil, err
		}
		out = append(out, in)
	}
	if len(outside.Lines) > 0 {
		if len(out) > 0 {
			h.Number, h.OutsideNumber = or(h.OutsideNumber, h.Number+"-O"), ""
		}
		h.Seller.VATID, h.Buyer.VATID = "", "" // BR-O-02
		// A sole trader is then left without any identifier (BR-CO-26).
		if h.Seller.ID.Value+h.Seller.LegalID.Value == "" {
			h.Seller.ID.Value = h.Seller.Endpoint.Value
		}
		in, err := one(h, outside)
		if err != nil {
			return nil, err
		}
		out = append(out, in)
	}
	return out, nil
}

// OffReason names the charge or allowance that is there for the penny.
const OffReason = "Rounding of VAT"

func one(h Head, sum pricing.Sum) (Invoice, error) {
	in := Invoice{
		Specification: Specification, Process: Process, Kind: h.Kind, Number: h.Number,
		Issued: h.Issued, Due: h.Due, TaxPoint: h.TaxPoint, Delivered: h.Delivered, Note: h.Note, Currency: h.Currency,
		BuyerReference: h.BuyerReference, Order: h.Order, Preceding: h.Preceding, Seller: h.Seller, Buyer: h.Buyer,
		Payment: h.Payment, Terms: h.Terms, Prepaid: sum.Paid,
	}
	for i, l := range sum.Lines {
		line, err := lineOf(i+1, l)
		if err != nil {
			return in, err
		}
		in.Lines = append(in.Lines, line)
	}
	for _, c := range sum.Card {
		a := adjustOf(c.Adjusted)
		a.Tax = TaxOf(c.VAT.Code, c.VAT.Rate)
		in.Adjust = append(in.Adjust, a)
	}
	for _, b := range byTax(sum.Totals.ByRate) {
		in.breakDown(b, h.ExemptReason)
	}
	in.LineTotal = sum.LineNet
	in.AllowanceTotal, in.ChargeTotal = total(in.Adjust, false), total(in.Adjust, true)
	in.Net = in.LineTotal - in.AllowanceTotal + in.ChargeTotal
	in.VAT, in.Gross = sum.Totals.VAT, in.Net+sum.Totals.VAT
	in.Payable = in.Gross - in.Prepaid + in.Rounding
	return in, nil
}

// byTax is what a bill comes to by the categories of EN 16931: standard and
// reduced rates are both S there and may meet at the same rate.
func byTax(rates []money.RateTotal) []Breakdown {
	var out []Breakdown
	at := map[Tax]int{}
	for _, r := range rates {
		t := TaxOf(r.Code, r.Rate)
		i, ok := at[t]
		if !ok {
			i = len(out)
			at[t], out = i, append(out, Breakdown{Tax: t})
		}
		out[i].Base, out[i].VAT = out[i].Base+r.Net, out[i].VAT+r.VAT
	}
	return out
}

// breakDown adds what one rate comes to, with the charge or allowance that
// makes its VAT that of the bill.
func (in *Invoice) breakDown(b Breakdown, exempt string) {
	if off := adjustment(b.Base, b.Tax.Rate, b.VAT); off != 0 {
		in.Adjust = append(in.Adjust, AllowanceCharge{Charge: off > 0, Reason: OffReason, Amount: max(off, -off), Tax: b.Tax})
		in.Rounding -= off
		b.Base += off
	}
	switch b.Tax.Category {
	case Outside:
		b.Reason = OutsideReason
	case Exempt:
		b.Reason = exempt
	}
	in.Breakdown = append(in.Breakdown, b)
}

// adjustment is the smallest change to base that makes its VAT at the rate come
// to vat. At any rate above zero and up to 100 % there is one; the search ends
// at a change that no rounding explains.
func adjustment(base money.Minor, rate money.Rate, vat money.Minor) money.Minor {
	for off := money.Minor(0); off <= money.MaxLines*100 && rate > 0; off++ {
		if money.Percent(base+off, rate) == vat {
			return off
		}
		if money.Percent(base-off, rate) == vat {
			return -off
		}
	}
	return 0
}

func lineOf(n int, l pricing.LineSum) (Line, error) {
	unit, ok := units[l.Unit]
	if !ok {
		return Line{}, ErrUnit
	}
	line := Line{
		ID: strconv.Itoa(n), Name: or(clean(l.Text), string(l.Kind), "item"), Qty: l.Qty, Unit: unit, Net: l.Net,
		Price: PriceOf(l.Price), Tax: TaxOf(l.VAT.Code, l.VAT.Rate),
	}
	if l.Per != 1000 {
		line.Per = l.Per
	}
	for _, a := range l.Adjust {
		line.Adjust = append(line.Adjust, adjustOf(a))
	}
	return line, nil
}

func adjustOf(a pricing.Adjusted) AllowanceCharge {
	out := AllowanceCharge{Charge: a.Up, Reason: a.Text, Amount: a.Amount}
	if a.Percent != 0 {
		out.Percent, out.Base = &a.Percent, &a.Base
	}
	if !a.Up {
		out.ReasonCode = "95" // discount
	}
	return out
}

func or(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}
