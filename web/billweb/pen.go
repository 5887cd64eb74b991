package billweb

import (
	"strings"

	"rampside/internal/bill"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// docView is a document as it is read, on a page or on paper.
type docView struct {
	Kind, Number string
	From, To     party
	Facts        [][2]string
	Corrects     string
	Rows         []docRow
	Totals       []figure
	Taxes        []taxRow
	Paid         []figure
	Pay          []string
	Notes        []string
	Taxed        bool
}

type party struct {
	Name, Phone, Email, VAT string
	Address                 []string
}

type docRow struct {
	Text                string
	Details             []string
	Qty, Each, VAT, Net string
}

type figure struct {
	Label, Value string
	Strong       bool
}

type taxRow struct{ Label, Net, VAT string }

// kindWords is what stands at the head of a document.
func kindWords(d bill.Document) string {
	switch {
	case d.Kind == bill.CreditNote && d.Registered:
		return "VAT credit note"
	case d.Kind == bill.CreditNote:
		return "Credit note"
	case d.Form == bill.Full:
		return "VAT invoice"
	case d.Form == bill.Simplified:
		return "Simplified VAT invoice"
	}
	return "Invoice"
}

func newDoc(d bill.Document) docView {
	cur := d.Currency.Format
	v := docView{
		Kind: kindWords(d), Number: d.Number, Taxed: d.Registered,
		From: party{Name: d.Seller.Name, Phone: d.Seller.Phone, Email: d.Seller.Email, VAT: vatNumber(d.Seller), Address: addressLines(d.Seller.Address)},
		To:   party{Name: d.Buyer.Name, VAT: vatNumber(d.Buyer), Address: addressLines(d.Buyer.Address)},
	}
	v.facts(d)
	if d.Kind == bill.CreditNote {
		v.Corrects = "Corrects " + d.OfNumber + " of " + longDay(d.OfIssued) + ": " + d.Why
	}
	for _, i := range d.Items {
		v.Rows = append(v.Rows, docRowOf(d, i))
	}
	v.sums(d)
	if d.Registered {
		for _, r := range d.Sum.Totals.ByRate {
			v.Taxes = append(v.Taxes, taxRow{rateWords(r.Code, r.Rate), cur(r.Net), cur(r.VAT)})
		}
	}
	if d.Kind == bill.Bill {
		if d.Account.IBAN != "" {
			line := "By bank transfer to " + or(d.Account.Name, d.Seller.Name) + ", IBAN " + groups(d.Account.IBAN)
			if d.Account.BIC != "" {
				line += ", BIC " + d.Account.BIC
			}
			v.Pay = append(v.Pay, line+", with "+or(d.Number, "the number of this bill")+" as the reference.")
		}
		v.Notes = proseLines(d.Words)
	}
	if !d.Registered {
		v.Notes = append(v.Notes, "Not registered for VAT: none is charged.")
	}
	if d.Seller.Company != "" {
		v.Notes = append(v.Notes, "Company number "+d.Seller.Company+".")
	}
	return v
}

func (v *docView) facts(d bill.Document) {
	add := func(label, value string) {
		if value != "" {
			v.Facts = append(v.Facts, [2]string{label, value})
		}
	}
	add("Number", d.Number)
	add("Issued", longDay(d.Issued))
	if d.Registered {
		add("Time of supply", longDay(d.TaxPoint))
	}
	if d.Kind == bill.Bill {
		add("Work finished", longDay(d.Supplied))
		if d.Due == d.Issued {
			add("To be paid", "at once")
		} else {
			add("To be paid by", longDay(d.Due))
		}
	}
	add("Car", d.Car)
	add("Card", ui.Itoa(d.CardID))
	add("Your reference", d.Buyer.Reference)
}

func (v *docView) sums(d bill.Document) {
	cur, s := d.Currency.Format, d.Sum
	add := func(label string, m money.Minor, strong bool) {
		v.Totals = append(v.Totals, figure{label, cur(m), strong})
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
		out += " (" + rateWords(vat.Code, vat.Rate) + ")"
	}
	return out
}

func docRowOf(d bill.Document, i bill.Item) docRow {
	cur := d.Currency.Format
	row := docRow{Text: i.Text, Qty: qtyWords(i.Qty, i.Unit), Net: cur(i.Net), Each: cur(i.Price)}
	switch i.Unit {
	case pricing.Minute, pricing.Second, pricing.Hour:
		row.Each = cur(i.Price) + " an hour"
	}
	if d.Registered {
		row.VAT = "none"
		if i.VAT.Code.Taxable() {
			row.VAT = i.VAT.Rate.String()
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

func qtyWords(n int64, u pricing.Unit) string {
	if u == pricing.One || u == "" {
		return money.FormatQuantity(n)
	}
	return money.FormatQuantity(n) + " " + string(u)
}

func rateWords(c money.VATCode, r money.Rate) string {
	switch c {
	case money.Outside:
		return "outside the scope of VAT"
	case money.Exempt:
		return "exempt"
	}
	return r.String()
}

// vatNumber writes a number as it stands on paper: with GB before a bare one.
func vatNumber(p bill.Party) string {
	if p.VATNumber != "" && p.VATNumber[0] >= '0' && p.VATNumber[0] <= '9' {
		return p.Country + " " + p.VATNumber
	}
	return p.VATNumber
}

func addressLines(s string) []string { return proseLines(s) }

func proseLines(s string) []string {
	var out []string
	for l := range strings.SplitSeq(s, "\n") {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// groups writes an account number in fours.
func groups(s string) string {
	var b strings.Builder
	for i, c := range s {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}

func longDay(d workday.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.UTC().Format("2 January 2006")
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
