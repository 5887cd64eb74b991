package money

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// VATCode is the category of a supply for VAT. The rate belongs to the
// category, is configuration, and travels with each line, so that an old bill
// keeps the rate it was made at.
type VATCode string

// The categories. Outside means outside the scope of VAT: the tester's
// statutory test fee, or a payment passed on for the customer (HMRC VAT manual
// VTAXPER48000 and VTAXPER39000). It carries no rate.
const (
	Standard VATCode = "standard"
	Reduced  VATCode = "reduced"
	Zero     VATCode = "zero"
	Outside  VATCode = "outside"
)

// codes is the order in which categories are listed on a document.
var codes = []VATCode{Standard, Reduced, Zero, Outside}

// VATCodes gives the categories in the order a document lists them.
func VATCodes() []VATCode { return slices.Clone(codes) }

// Valid tells whether c is one of the four categories.
func (c VATCode) Valid() bool { return slices.Contains(codes, c) }

// Label is the category in words: "outside the scope of VAT" for Outside.
func (c VATCode) Label() string {
	switch c {
	case Standard:
		return "standard rate"
	case Reduced:
		return "reduced rate"
	case Zero:
		return "zero rate"
	case Outside:
		return "outside the scope of VAT"
	}
	return string(c)
}

// UKRate is the United Kingdom's rate of a category: 20 %, 5 %, and nothing
// for the other two (gov.uk, VAT rates). Use it as the default of the setting.
func UKRate(c VATCode) Rate {
	switch c {
	case Standard:
		return 2000
	case Reduced:
		return 500
	}
	return 0
}

// Rounding says where VAT is rounded to the penny. HMRC lets an invoice trader
// choose, and asks for the same choice throughout (VAT Notice 700, 17.5).
type Rounding string

// The policies.
const (
	// PerDocument rounds once for each category: base times rate, as EN 16931
	// asks in BR-CO-17.
	PerDocument Rounding = "document"
	// PerLine rounds each line and adds up.
	PerLine Rounding = "line"
)

// Taxed is one line of a document: its net amount, negative for a discount or
// a credit, and what VAT applies.
type Taxed struct {
	Net  Minor
	Code VATCode
	Rate Rate
}

// RateTotal is what a document comes to in one category at one rate.
type RateTotal struct {
	Code     VATCode
	Rate     Rate
	Net, VAT Minor
}

// Totals is what a document comes to. Gross is Net plus VAT (EN 16931
// BR-CO-15), and Net and VAT are the sums of ByRate (BR-CO-14), which lists
// the categories in their order and the higher rate first.
type Totals struct {
	Net, VAT, Gross Minor
	ByRate          []RateTotal
}

// Problems with the lines of a document, as a person may read them.
var (
	ErrRounding = errors.New("VAT is rounded per document or per line")
	ErrTooLong  = fmt.Errorf("a document has at most %d lines", MaxLines)
)

// Total adds up the lines of a document. The order of the lines does not
// matter. Errors: a line beyond the limits, an unknown category, a rate on a
// category that has none, too many lines, an unknown policy.
func Total(lines []Taxed, policy Rounding) (Totals, error) {
	if policy != PerDocument && policy != PerLine {
		return Totals{}, ErrRounding
	}
	if len(lines) > MaxLines {
		return Totals{}, ErrTooLong
	}
	type key struct {
		code VATCode
		rate Rate
	}
	groups := make(map[key]RateTotal)
	for _, l := range lines {
		if err := l.check(); err != nil {
			return Totals{}, err
		}
		k := key{l.Code, l.Rate}
		g := groups[k]
		g.Code, g.Rate = l.Code, l.Rate
		g.Net += l.Net
		if policy == PerLine {
			g.VAT += Percent(l.Net, l.Rate)
		}
		groups[k] = g
	}
	var t Totals
	for _, g := range groups {
		if policy == PerDocument {
			g.VAT = Percent(g.Net, g.Rate)
		}
		t.Net += g.Net
		t.VAT += g.VAT
		t.ByRate = append(t.ByRate, g)
	}
	t.Gross = t.Net + t.VAT
	slices.SortFunc(t.ByRate, func(a, b RateTotal) int {
		return cmp.Or(
			cmp.Compare(slices.Index(codes, a.Code), slices.Index(codes, b.Code)),
			cmp.Compare(b.Rate, a.Rate))
	})
	return t, t.Gross.Check()
}

func (l Taxed) check() error {
	switch {
	case !l.Code.Valid():
		return fmt.Errorf("there is no VAT category %.20q", string(l.Code))
	case l.Rate < 0 || l.Rate > MaxRate:
		return errors.New("a VAT rate lies between 0 and 1000 %")
	case l.Rate != 0 && (l.Code == Zero || l.Code == Outside):
		return fmt.Errorf("%s carries no VAT, but a rate was given", l.Code.Label())
	}
	return l.Net.Check()
}

// SplitGross takes the VAT out of an amount that includes it: VAT is the
// amount times rate/(100 %+rate), to the nearest penny (one sixth at 20 %, one
// twenty-first at 5 %), and net is the rest, so the two always add up.
// A negative rate is taken as none.
func SplitGross(gross Minor, r Rate) (net, vat Minor) {
	if r <= 0 {
		return gross, 0
	}
	vat = Minor(share(int64(gross), int64(r), wholeRate+int64(r)))
	return gross - vat, vat
}
