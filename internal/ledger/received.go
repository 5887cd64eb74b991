package ledger

import (
	"cmp"
	"slices"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Move is something that happened to a bill after it was issued: money that
// came in for it (or went back, below nothing), or a credit note against it.
type Move struct {
	Number string // of the payment or the credit note
	Day    workday.Day
	// Paid is money set against the bill.
	Paid money.Minor
	// Credited is what a credit note takes off, at each rate, above nothing.
	Credited []money.RateTotal
}

// Received is the VAT of one bill by cash accounting: for each move the net and
// VAT that the money which came in stands for, on the day it came ("the day on
// which payment or other consideration is received", SI 1995/2518, regulation
// 57). Part of a bill's money is shared out over its rates by what each comes to
// with VAT, less what was credited until then; a fair apportionment is all that
// the rule asks for (VAT Notice 731), and this one comes to the bill's own net
// and VAT, to the penny, when all of it has been paid.
//
// A credit note moves nothing by itself, except where it changes the mix of
// rates that the money already received was for. Moves that change nothing are
// left out.
func Received(bill []money.RateTotal, moves []Move) []Document {
	order := slices.Clone(moves)
	slices.SortStableFunc(order, func(a, b Move) int {
		return cmp.Or(a.Day.Compare(b.Day), compareText(a.Number, b.Number))
	})
	base := slices.Clone(bill)
	var paid money.Minor
	so := make([]money.RateTotal, len(base)) // what was accounted for until now
	var out []Document
	for _, m := range order {
		paid += m.Paid
		for _, c := range m.Credited {
			if i := slices.IndexFunc(base, sameRate(c)); i >= 0 {
				base[i].Net -= c.Net
				base[i].VAT -= c.VAT
			}
		}
		now := stands(paid, base)
		if now == nil { // all of it is credited: what is held was for the bill as it was
			now = stands(paid, bill)
		}
		doc := Document{Number: m.Number, TaxPoint: m.Day}
		for i, r := range now {
			if r.Net != so[i].Net || r.VAT != so[i].VAT {
				doc.ByRate = append(doc.ByRate, money.RateTotal{Code: r.Code, Rate: r.Rate, Net: r.Net - so[i].Net, VAT: r.VAT - so[i].VAT})
			}
		}
		if len(doc.ByRate) > 0 {
			out, so = append(out, doc), now
		}
	}
	return out
}

func sameRate(r money.RateTotal) func(money.RateTotal) bool {
	return func(have money.RateTotal) bool { return have.Code == r.Code && have.Rate == r.Rate }
}

// stands says what net and VAT some money for a document stands for, at each of
// its rates in their order; nil when the document comes to nothing.
func stands(paid money.Minor, base []money.RateTotal) []money.RateTotal {
	weights := make([]money.Minor, len(base))
	var whole money.Minor
	for i, r := range base {
		weights[i] = max(r.Net+r.VAT, 0)
		whole += weights[i]
	}
	parts, ok := money.Apportion(paid, weights)
	if !ok {
		return nil
	}
	out := slices.Clone(base)
	for i, r := range base {
		gross := r.Net + r.VAT
		switch {
		case gross == parts[i] && paid == whole: // all of it: the document's own figures
			continue
		case gross <= 0:
			out[i].Net, out[i].VAT = parts[i], 0
			continue
		}
		vat, _ := money.Apportion(parts[i], []money.Minor{r.VAT, r.Net})
		if vat == nil {
			vat = []money.Minor{0, parts[i]}
		}
		out[i].VAT = vat[0]
		out[i].Net = parts[i] - out[i].VAT
	}
	return out
}
