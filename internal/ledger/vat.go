package ledger

import (
	"cmp"
	"slices"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Document is a bill, a credit note or a receipt for a deposit, as far as VAT
// goes: what it comes to at each rate on its tax point. Credit notes are below
// nothing, and so is what a bill takes off for deposits whose VAT was accounted
// for when they came in.
type Document struct {
	Number string
	// Of is the document that this one is about: the bill a payment was for, the
	// deposit a bill takes off.
	Of       string
	TaxPoint workday.Day
	ByRate   []money.RateTotal
}

// VATRow is what a period comes to at one rate, with the documents behind it in
// the order of their tax points.
type VATRow struct {
	money.RateTotal
	Behind []Behind
}

// Behind is one document's part in a figure.
type Behind struct {
	Number, Of string
	TaxPoint   workday.Day
	Net, VAT   money.Minor
}

// VATPeriod is the VAT of a period, both days included. Supplies is the net of
// all that lies within the scope of VAT, at a rate of zero too; Outside the net
// of what does not.
type VATPeriod struct {
	From, To               workday.Day
	Rows                   []VATRow
	VAT, Supplies, Outside money.Minor
}

// VATOf adds up the documents whose tax point falls in a period. The order in
// which they come does not matter.
func VATOf(docs []Document, from, to workday.Day) VATPeriod {
	p := VATPeriod{From: from, To: to}
	order := slices.Clone(docs)
	slices.SortStableFunc(order, func(a, b Document) int {
		if c := a.TaxPoint.Compare(b.TaxPoint); c != 0 {
			return c
		}
		return cmp.Or(compareText(a.Number, b.Number), compareText(a.Of, b.Of))
	})
	for _, d := range order {
		if d.TaxPoint.Before(from) || d.TaxPoint.After(to) {
			continue
		}
		for _, r := range d.ByRate {
			row := p.row(r)
			row.Net, row.VAT = row.Net+r.Net, row.VAT+r.VAT
			row.Behind = append(row.Behind, Behind{d.Number, d.Of, d.TaxPoint, r.Net, r.VAT})
			p.VAT += r.VAT
			if r.Code.Taxable() {
				p.Supplies += r.Net
			} else {
				p.Outside += r.Net
			}
		}
	}
	slices.SortFunc(p.Rows, func(a, b VATRow) int { return money.CompareVAT(a.Code, b.Code, a.Rate, b.Rate) })
	return p
}

// row finds the row of a category at a rate, and makes it when there is none.
func (p *VATPeriod) row(r money.RateTotal) *VATRow {
	i := slices.IndexFunc(p.Rows, func(have VATRow) bool { return have.Code == r.Code && have.Rate == r.Rate })
	if i < 0 {
		p.Rows = append(p.Rows, VATRow{RateTotal: money.RateTotal{Code: r.Code, Rate: r.Rate}})
		i = len(p.Rows) - 1
	}
	return &p.Rows[i]
}

// compareText compares numbers of documents: the shorter first, so that
// B-999999 stands before B-1000000.
func compareText(a, b string) int {
	if len(a) != len(b) {
		return len(a) - len(b)
	}
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
