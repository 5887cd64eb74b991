package books

import (
	"rampside/internal/ledger"
	"rampside/internal/money"
)

// Box is one box of a United Kingdom VAT return (form VAT100). Known is false
// where what is kept here cannot fill it: purchases are not kept.
type Box struct {
	Number int
	Label  string
	Amount money.Minor
	Known  bool
	// Note says what is in the figure, or why there is none.
	Note string
}

// notHere is said of boxes about purchases.
const notHere = "not kept here: take it from the purchase records"

// Boxes are the nine boxes as far as sales fill them. Labels follow the form
// VAT100; boxes 6 to 9 have no pence on it ("00" is printed there), and the
// pence are left off. Exempt and zero-rated supplies are in box 6, what is
// outside the scope of VAT is not (VAT Notice 700/12, box 6).
func Boxes(p ledger.VATPeriod) []Box {
	return []Box{
		{1, "VAT due in this period on sales and other outputs", p.VAT, true, "all of the VAT above"},
		{2, "VAT due in this period on acquisitions from EU member states (Northern Ireland)", 0, false, notHere},
		{3, "Total VAT due (boxes 1 and 2)", p.VAT, true, "box 1 alone, as long as box 2 is nothing"},
		{4, "VAT reclaimed in this period on purchases and other inputs", 0, false, notHere},
		{5, "Net VAT to be paid or reclaimed (boxes 3 and 4)", 0, false, "needs box 4"},
		{6, "Total value of sales and all other outputs excluding any VAT", p.Supplies - p.Supplies%100, true, "net of all within the scope of VAT, without pence"},
		{7, "Total value of purchases and all other inputs excluding any VAT", 0, false, notHere},
		{8, "Total value of goods supplied to EU member states (Northern Ireland)", 0, false, "sales abroad are not told apart here"},
		{9, "Total value of goods acquired from EU member states (Northern Ireland)", 0, false, notHere},
	}
}
