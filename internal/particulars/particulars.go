// Package particulars says what a VAT invoice of the United Kingdom still
// lacks: the full one by regulation 14(1) of the Value Added Tax Regulations
// 1995 (SI 1995/2518, as amended), the simplified one by regulation 16A, and a
// credit note by regulation 15C and VAT Notice 700, 18.2.
package particulars

import (
	"fmt"
	"strings"

	"rampside/internal/money"
	"rampside/internal/vatno"
	"rampside/internal/workday"
)

// SimplifiedLimit is the most that a simplified invoice may come to, VAT
// included: £250.00 (regulation 16A).
const SimplifiedLimit money.Minor = 250_00

// Form is which of the lawful forms a document takes.
type Form string

// The forms.
const (
	Full       Form = "full"
	Simplified Form = "simplified"
	Credit     Form = "credit note"
)

// Party is the supplier or the customer as the document names them.
type Party struct {
	Name, Address, VATNumber string
}

// Line is one description of the document. Taxed is false for what lies outside
// the scope of VAT, which needs no rate.
type Line struct {
	Description string
	// Qty is the quantity in thousandths, or the extent of the services.
	Qty       int64
	UnitPrice *money.Minor
	Net       *money.Minor
	Taxed     bool
	Rate      *money.Rate
	// Reason says why a line carries no VAT, where it is exempt or zero-rated.
	Reason string
}

// RateGross is what a document comes to at one rate, VAT included.
type RateGross struct {
	Rate  money.Rate
	Gross money.Minor
}

// Document is what a bill or a credit note states.
type Document struct {
	Number             string
	TimeOfSupply       workday.Day
	Issued             workday.Day
	Supplier, Customer Party
	Lines              []Line
	Net, VAT, Gross    *money.Minor
	Currency           string
	// VATSterling is the VAT in sterling when Currency is another.
	VATSterling *money.Minor
	// CashDiscount is set when a discount for prompt payment is offered and
	// then must state its rate.
	CashDiscount     bool
	CashDiscountRate *money.Rate
	// ByRate is needed on a simplified invoice.
	ByRate []RateGross
	// Original and OriginalIssued name the bill that a credit note corrects,
	// Why says what for.
	Original       string
	OriginalIssued workday.Day
	Why            string
}

// Lack is one particular that is missing.
type Lack struct {
	Rule string // "reg 14(1)(a)"
	Says string
}

func (l Lack) String() string { return l.Says + " (" + l.Rule + ")" }

// SimplifiedAllowed tells whether a document of this total, VAT included, may
// take the simplified form.
func SimplifiedAllowed(gross money.Minor) bool { return gross <= SimplifiedLimit }

// Check says what a document lacks in a form; nothing means that it will do.
func Check(d Document, form Form) []Lack {
	c := checker{d: d}
	switch form {
	case Simplified:
		c.simplified()
	case Credit:
		c.full()
		c.credit()
	default:
		c.full()
	}
	return c.lacks
}

type checker struct {
	d     Document
	lacks []Lack
}

func (c *checker) need(ok bool, rule, says string) {
	if !ok {
		c.lacks = append(c.lacks, Lack{rule, says})
	}
}

func stated(s string) bool { return strings.TrimSpace(s) != "" }

func (c *checker) supplier(rule string) {
	s := c.d.Supplier
	c.need(stated(s.Name), rule, "the supplier's name")
	c.need(stated(s.Address), rule, "the supplier's address")
	_, err := vatno.Parse(s.VATNumber)
	c.need(err == nil, rule, "the supplier's VAT number")
}

func (c *checker) full() {
	d := c.d
	c.need(stated(d.Number), "reg 14(1)(a)", "a sequential number")
	c.need(!d.TimeOfSupply.IsZero(), "reg 14(1)(b)", "the time of supply")
	c.need(!d.Issued.IsZero(), "reg 14(1)(c)", "the date of issue")
	c.supplier("reg 14(1)(d)")
	c.need(stated(d.Customer.Name), "reg 14(1)(e)", "the customer's name")
	c.need(stated(d.Customer.Address), "reg 14(1)(e)", "the customer's address")
	c.need(len(d.Lines) > 0, "reg 14(1)(g)", "a description of what is supplied")
	for i, l := range d.Lines {
		where := fmt.Sprintf("line %d: ", i+1)
		c.need(stated(l.Description), "reg 14(1)(g)", where+"a description")
		c.need(l.Qty != 0, "reg 14(1)(h)", where+"the quantity or extent")
		c.need(!l.Taxed || l.Rate != nil, "reg 14(1)(h)", where+"the rate of VAT")
		c.need(l.Net != nil, "reg 14(1)(h)", where+"the amount without VAT")
		c.need(l.UnitPrice != nil, "reg 14(1)(m)", where+"the unit price")
	}
	c.need(d.Net != nil, "reg 14(1)(i)", "the total without VAT")
	c.need(!d.CashDiscount || d.CashDiscountRate != nil, "reg 14(1)(j)", "the rate of the cash discount")
	c.need(d.VAT != nil && (d.Currency == "GBP" || d.VATSterling != nil), "reg 14(1)(l)", "the total VAT in sterling")
}

func (c *checker) simplified() {
	d := c.d
	c.need(d.Gross == nil || SimplifiedAllowed(*d.Gross), "reg 16A", "the full form: this comes to more than £250.00")
	c.supplier("reg 16A(a)")
	c.need(!d.TimeOfSupply.IsZero(), "reg 16A(b)", "the time of supply")
	c.need(len(d.Lines) > 0, "reg 16A(c)", "a description of what is supplied")
	taxed := false
	for i, l := range d.Lines {
		c.need(stated(l.Description), "reg 16A(c)", fmt.Sprintf("line %d: a description", i+1))
		taxed = taxed || l.Taxed
	}
	c.need(d.Gross != nil, "reg 16A(d)", "the total with VAT")
	c.need(!taxed || len(d.ByRate) > 0, "reg 16A(e)", "the amount with VAT and the rate, for each rate")
}

func (c *checker) credit() {
	c.need(stated(c.d.Original) && !c.d.OriginalIssued.IsZero(), "Notice 700, 18.2", "the number and date of the bill that is credited")
	c.need(stated(c.d.Why), "Notice 700, 18.2", "the reason for the credit")
}
