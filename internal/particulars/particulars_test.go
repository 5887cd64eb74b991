package particulars

import (
	"slices"
	"testing"

	"rampside/internal/money"
	"rampside/internal/workday"
)

func of[T any](v T) *T { return &v }

// whole is a document with every particular of all three forms. Its VAT number
// is a test vector of the open-source tax library gobl (regimes/gb).
func whole() Document {
	return Document{
		Number: "B-000123", TimeOfSupply: workday.Must(2026, 11, 24), Issued: workday.Must(2026, 11, 25),
		Supplier: Party{"Slipway Motors", "1 Slipway, Northhaven", "GB 350 9836 37"}, Customer: Party{Name: "Bo Example", Address: "2 Quay, Northhaven"},
		Lines: []Line{
			{Description: "Front brakes", Qty: 1000, UnitPrice: of(money.Minor(120_00)), Net: of(money.Minor(120_00)), Taxed: true, Rate: of(money.Rate(2000))},
			{Description: "MOT test", Qty: 1000, UnitPrice: of(money.Minor(54_85)), Net: of(money.Minor(54_85))},
		},
		Net: of(money.Minor(174_85)), VAT: of(money.Minor(24_00)), Gross: of(money.Minor(198_85)), Currency: "GBP",
		CashDiscount: true, CashDiscountRate: of(money.Rate(200)), ByRate: []RateGross{{2000, 144_00}},
		Original: "B-000100", OriginalIssued: workday.Must(2026, 10, 1), Why: "Pads returned",
	}
}

func TestAWholeDocumentLacksNothing(t *testing.T) {
	for _, form := range []Form{Full, Simplified, Credit} {
		if l := Check(whole(), form); len(l) > 0 {
			t.Errorf("%s: %v", form, l)
		}
	}
}

// The particulars of SI 1995/2518, regulations 14(1) and 16A (legislation.gov.uk,
// as amended), and of VAT Notice 700, 18.2 for credit notes (from memory).
func TestEachParticularIsMissedByItsRegulation(t *testing.T) {
	for _, c := range []struct {
		form Form
		rule string
		drop func(d *Document)
	}{
		{Full, "reg 14(1)(a)", func(d *Document) { d.Number = " " }},
		{Full, "reg 14(1)(b)", func(d *Document) { d.TimeOfSupply = workday.Day{} }},
		{Full, "reg 14(1)(c)", func(d *Document) { d.Issued = workday.Day{} }},
		{Full, "reg 14(1)(d)", func(d *Document) { d.Supplier.Name = "" }},
		{Full, "reg 14(1)(d)", func(d *Document) { d.Supplier.Address = "" }},
		{Full, "reg 14(1)(d)", func(d *Document) { d.Supplier.VATNumber = "" }},
		{Full, "reg 14(1)(d)", func(d *Document) { d.Supplier.VATNumber = "999999991" }},
		{Full, "reg 14(1)(e)", func(d *Document) { d.Customer.Name = "" }},
		{Full, "reg 14(1)(e)", func(d *Document) { d.Customer.Address = "" }},
		{Full, "reg 14(1)(g)", func(d *Document) { d.Lines[0].Description = "" }},
		{Full, "reg 14(1)(g)", func(d *Document) { d.Lines = nil }},
		{Full, "reg 14(1)(h)", func(d *Document) { d.Lines[1].Qty = 0 }},
		{Full, "reg 14(1)(h)", func(d *Document) { d.Lines[0].Rate = nil }},
		{Full, "reg 14(1)(h)", func(d *Document) { d.Lines[0].Net = nil }},
		{Full, "reg 14(1)(i)", func(d *Document) { d.Net = nil }},
		{Full, "reg 14(1)(j)", func(d *Document) { d.CashDiscountRate = nil }},
		{Full, "reg 14(1)(l)", func(d *Document) { d.VAT = nil }},
		{Full, "reg 14(1)(l)", func(d *Document) { d.Currency = "EUR" }},
		{Full, "reg 14(1)(m)", func(d *Document) { d.Lines[0].UnitPrice = nil }},
		{Simplified, "reg 16A", func(d *Document) { d.Gross = of(SimplifiedLimit + 1) }},
		{Simplified, "reg 16A(a)", func(d *Document) { d.Supplier.VATNumber = "000000000" }},
		{Simplified, "reg 16A(b)", func(d *Document) { d.TimeOfSupply = workday.Day{} }},
		{Simplified, "reg 16A(c)", func(d *Document) { d.Lines[1].Description = "" }},
		{Simplified, "reg 16A(d)", func(d *Document) { d.Gross = nil }},
		{Simplified, "reg 16A(e)", func(d *Document) { d.ByRate = nil }},
		{Credit, "reg 14(1)(a)", func(d *Document) { d.Number = "" }},
		{Credit, "Notice 700, 18.2", func(d *Document) { d.Original = "" }},
		{Credit, "Notice 700, 18.2", func(d *Document) { d.Why = "" }},
	} {
		d := whole()
		c.drop(&d)
		l := Check(d, c.form)
		if !slices.ContainsFunc(l, func(l Lack) bool { return l.Rule == c.rule && l.String() != "" }) || len(l) != 1 {
			t.Errorf("%s, %s: %v", c.form, c.rule, l)
		}
	}
}

func TestASimplifiedInvoiceNeedsNeitherNumberNorCustomer(t *testing.T) {
	d := whole()
	d.Number, d.Customer, d.Issued, d.Net, d.Lines[0].UnitPrice = "", Party{}, workday.Day{}, nil, nil
	if l := Check(d, Simplified); len(l) > 0 {
		t.Errorf("%v", l)
	}
}

func TestTwoHundredAndFiftyPoundsMayBeSimplifiedAndAPennyMoreNot(t *testing.T) {
	for gross, want := range map[money.Minor]bool{0: true, 249_99: true, 250_00: true, 250_01: false} {
		if SimplifiedAllowed(gross) != want {
			t.Errorf("%v", gross)
		}
	}
}
