package bill

import (
	"fmt"
	"strings"

	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/internal/pricing"
	"rampside/internal/vatno"
	"rampside/internal/workday"
)

// Title is what stands at the head of a document.
func (d Document) Title() string {
	switch {
	case d.Kind == CreditNote && d.Registered:
		return "VAT credit note"
	case d.Kind == CreditNote:
		return "Credit note"
	case d.Form == Full:
		return "VAT invoice"
	case d.Form == Simplified:
		return "Simplified VAT invoice"
	}
	return "Invoice"
}

// Printed is the document as it is read, the same on a page and on paper, with
// what was paid and credited since.
func (d Document) Printed() paper.Bill {
	cur := d.Currency.Format
	v := paper.Bill{Kind: d.Title(), Number: d.Number}
	v.At = d.IssuedAt
	v.From = paper.Party{Name: d.Seller.Name, Address: Lines(d.Seller.Address), Phone: d.Seller.Phone, Email: d.Seller.Email, VATNumber: d.Seller.VATWords()}
	v.To = paper.Party{Name: d.Buyer.Name, Address: Lines(d.Buyer.Address), VATNumber: d.Buyer.VATWords()}
	v.Facts = d.facts()
	if d.Kind == CreditNote {
		v.Corrects = "Corrects " + d.OfNumber + " of " + DayWords(d.OfIssued) + ": " + d.Why
	}
	for _, i := range d.Items {
		v.Rows = append(v.Rows, d.row(i))
	}
	v.Totals, v.Paid = d.totals(), d.since()
	if d.Registered {
		for _, r := range d.Sum.Totals.ByRate {
			v.Taxes = append(v.Taxes, paper.Tax{Label: RateWords(r.Code, r.Rate), Net: cur(r.Net), VAT: cur(r.VAT)})
		}
	}
	if d.Kind == Bill {
		v.Pay = d.pay()
		v.Notes = split(d.Words)
	}
	if !d.Registered {
		v.Notes = append(v.Notes, "Not registered for VAT: none is charged.")
	}
	if d.Seller.Company != "" {
		v.Notes = append(v.Notes, "Company number "+d.Seller.Company+".")
	}
	return v
}

func (d Document) pay() []string {
	if d.Account.IBAN == "" || d.ID != 0 && d.Open() <= 0 {
		return nil // nothing to pay, or nowhere to pay it
	}
	line := "By bank transfer to " + or(d.Account.Name, d.Seller.Name) + ", IBAN " + fours(d.Account.IBAN)
	if d.Account.BIC != "" {
		line += ", BIC " + d.Account.BIC
	}
	return []string{line + ", with " + or(d.Number, "the number of this bill") + " as the reference."}
}

func (d Document) facts() []paper.Fact {
	out := []paper.Fact{{Label: "Number", Value: d.Number}, {Label: "Issued", Value: DayWords(d.Issued)}}
	if d.Registered {
		out = append(out, paper.Fact{Label: "Time of supply", Value: DayWords(d.TaxPoint)})
	}
	if d.Kind == Bill {
		out = append(out, paper.Fact{Label: "Work finished", Value: DayWords(d.Supplied)})
		if d.Due == d.Issued {
			out = append(out, paper.Fact{Label: "To be paid", Value: "at once"})
		} else {
			out = append(out, paper.Fact{Label: "To be paid by", Value: DayWords(d.Due)})
		}
	}
	return append(out, paper.Fact{Label: "Car", Value: d.Car}, paper.Fact{Label: "Card", Value: fmt.Sprint(d.CardID)}, paper.Fact{Label: "Your reference", Value: d.Buyer.Reference})
}

func (d Document) totals() (out []paper.Amount) {
	s := d.Sum
	add := func(label string, m money.Minor, strong bool) {
		out = append(out, paper.Amount{Label: label, Value: d.Currency.Format(m), Strong: strong})
	}
	if len(s.Card) > 0 {
		add("Lines", s.LineNet, false)
		for _, a := range s.Card {
			add(adjustWords(a.Adjusted, d.Registered, a.VAT), signed(a.Adjusted), false)
		}
	}
	if d.Registered {
		add("Total without VAT", s.Totals.Net, false)
		add("VAT", s.Totals.VAT, false)
	}
	add("Total", s.Totals.Gross, true)
	if s.Paid != 0 {
		add("Deposits set off", -s.Paid, false)
		add("To pay", s.Due, true)
	}
	return out
}

// since says what was credited and paid since the issue, and what is left.
func (d Document) since() (out []paper.Amount) {
	paid := d.Paid - d.Sum.Paid
	if d.Kind != Bill || d.ID == 0 || d.Credited == 0 && paid == 0 {
		return nil
	}
	cur := d.Currency.Format
	if d.Credited != 0 {
		out = append(out, paper.Amount{Label: "Credited", Value: cur(-d.Credited)})
	}
	if paid != 0 {
		out = append(out, paper.Amount{Label: "Paid since", Value: cur(-paid)})
	}
	label := "Still to pay"
	if d.Open() < 0 {
		label = "Paid too much"
	}
	return append(out, paper.Amount{Label: label, Value: cur(max(d.Open(), -d.Open())), Strong: true})
}

func (d Document) row(i Item) paper.Row {
	cur := d.Currency.Format
	row := paper.Row{What: i.Text, Qty: QuantityWords(i.Qty, i.Unit), Net: cur(i.Net), Each: cur(i.Price)}
	switch i.Unit {
	case pricing.Minute, pricing.Second, pricing.Hour:
		row.Each = cur(i.Price) + "/h"
	}
	if d.Registered {
		row.Tax = "none"
		if i.VAT.Code.Taxable() {
			row.Tax = i.VAT.Rate.String()
		}
	}
	for _, a := range i.Adjust {
		row.Details = append(row.Details, adjustWords(a, false, pricing.VAT{})+": "+cur(signed(a)))
	}
	if i.AllIn && d.Registered {
		row.Details = append(row.Details, "agreed as "+cur(i.Net+i.Inside)+" with VAT")
	}
	return row
}

func signed(a pricing.Adjusted) money.Minor {
	if a.Up {
		return a.Amount
	}
	return -a.Amount
}

func adjustWords(a pricing.Adjusted, taxed bool, vat pricing.VAT) string {
	out := a.Text
	if a.Percent != 0 {
		out += ", " + a.Percent.String()
	}
	if taxed && vat.Code != "" {
		out += " (" + RateWords(vat.Code, vat.Rate) + ")"
	}
	return out
}

// QuantityWords writes a quantity in thousandths with its unit.
func QuantityWords(n int64, u pricing.Unit) string {
	if u == pricing.One || u == "" {
		return money.FormatQuantity(n)
	}
	return money.FormatQuantity(n) + " " + string(u)
}

// RateWords writes a rate of VAT as a document has it.
func RateWords(c money.VATCode, r money.Rate) string {
	switch c {
	case money.Outside:
		return "outside the scope of VAT"
	case money.Exempt:
		return "exempt"
	}
	return r.String()
}

// VATWords writes the party's VAT number as it stands on paper: with the
// country before a bare one.
func (p Party) VATWords() string {
	if p.VATNumber != "" && p.Country != "GB" && p.VATNumber[0] >= '0' && p.VATNumber[0] <= '9' {
		return p.Country + " " + p.VATNumber
	}
	return vatno.Format(p.VATNumber)
}

// Lines is an address without its empty lines.
func Lines(s string) string { return strings.Join(split(s), "\n") }

func split(s string) []string {
	var out []string
	for l := range strings.SplitSeq(s, "\n") {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// fours writes an account number in groups of four.
func fours(s string) string {
	var b strings.Builder
	for i, c := range s {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}

// DayWords writes a day as a document has it; empty for none.
func DayWords(d workday.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.UTC().Format("2 January 2006")
}
