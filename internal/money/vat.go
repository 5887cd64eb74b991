package money

import (
	"cmp"
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
	// Exempt is a supply that the law frees from VAT. Documents can hold it;
	// the lines of a card are priced in the other four.
	Exempt VATCode = "exempt"
)

// codes is the order in which categories are listed on a document.
var codes = []VATCode{Standard, Reduced, Zero, Exempt, Outside}

// VATCodes gives the categories that a line may be priced in, in the order a
// document lists them.
func VATCodes() []VATCode { return []VATCode{Standard, Reduced, Zero, Outside} }

// Valid tells whether a line may be priced in c.
func (c VATCode) Valid() bool { return slices.Contains(VATCodes(), c) }

// Taxable tells whether c is a supply within the scope of VAT, whatever its
// rate: all but Outside.
func (c VATCode) Taxable() bool { return c != Outside }

// CompareVAT puts categories in the order a document lists them, and the
// higher rate first.
func CompareVAT(a, b VATCode, ra, rb Rate) int {
	return cmp.Or(cmp.Compare(slices.Index(codes, a), slices.Index(codes, b)), cmp.Compare(rb, ra))
}

// Label is the category in words: "outside the scope of VAT" for Outside.
func (c VATCode) Label() string {
	switch c {
	case Standard:
		return "standard rate"
	case Reduced:
		return "reduced rate"
	case Zero:
		return "zero rate"
	case Exempt:
		return "exempt from VAT"
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
