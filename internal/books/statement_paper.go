package books

import (
	"bytes"
	"fmt"
	"strings"

	"rampside/internal/bill"
	"rampside/internal/ledger"
	"rampside/internal/paper"
	"rampside/internal/vatno"
	"rampside/internal/workday"
)

func date(d workday.Day) string { return d.UTC().Format("2 January 2006") }

// short is a date that stands in one line of a narrow column.
func short(d workday.Day) string { return d.UTC().Format("2 Jan 2006") }

// inFours sets an account number in groups of four, as ISO 13616 has it printed.
func inFours(iban string) string {
	var b strings.Builder
	for i, c := range []byte(iban) {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteByte(c)
	}
	return b.String()
}

// Words says what a row of a statement is.
func Words(r ledger.Row) string {
	what := map[ledger.Sort]string{ledger.Billed: "Bill", ledger.Credited: "Credit note", ledger.Paid: "Paid", ledger.Refunded: "Paid back"}[r.Sort]
	if r.Text != "" {
		what += ", " + r.Text
	}
	return what
}

// Columns says in which column of a statement the amount of a row stands, and
// with which sign: bills and what was paid back raise what is owed.
func Columns(r ledger.Row) (charged, paid bool) {
	return r.Sort == ledger.Billed || r.Sort == ledger.Refunded, r.Sort == ledger.Credited || r.Sort == ledger.Paid
}

// PDF is the statement on A4. The same statement gives the same bytes.
func (s Statement) PDF() ([]byte, error) {
	cur := s.Money()
	p := paper.Statement{
		Top: paper.Top{
			At:   s.Now,
			From: paper.Party{Name: s.Garage.Name, Address: s.Garage.Address, Phone: s.Garage.Phone, Email: s.Garage.Email, VATNumber: vatno.Format(s.Garage.VATNumber)},
			To:   paper.Party{Name: s.Customer.Name, Address: s.Customer.Address},
		},
		Period: date(s.Period.From) + " to " + date(s.Period.To),
	}
	p.Moves = append(p.Moves, paper.Move{Date: short(s.Period.From), What: "Brought forward", Balance: cur.Format(s.Opening)})
	for _, r := range s.Rows {
		m := paper.Move{Date: short(r.Day), Number: r.Number, What: Words(r), Balance: cur.Format(r.Balance)}
		if charged, _ := Columns(r); charged {
			m.Charged = cur.Format(r.Amount)
		} else {
			m.Paid = cur.Format(r.Amount)
		}
		p.Moves = append(p.Moves, m)
	}
	p.Totals = []paper.Amount{{Label: "Owed on " + date(s.Period.To), Value: cur.Format(s.Closing), Strong: true}}
	for _, b := range ledger.Buckets() {
		if m := s.Debtor.Aged.In[b]; m != 0 {
			p.Ages = append(p.Ages, paper.Amount{Label: b.String(), Value: cur.Format(m)})
		}
	}
	if u := s.Debtor.Aged.Unset; u != 0 {
		p.Ages = append(p.Ages, paper.Amount{Label: "not set against a bill", Value: cur.Format(-u)})
	}
	if s.Terms.IBAN != "" && s.Closing > 0 {
		p.Pay = []string{"By bank transfer to " + s.Terms.AccountName, "IBAN " + inFours(s.Terms.IBAN)}
		if s.Terms.BIC != "" {
			p.Pay = append(p.Pay, "BIC "+s.Terms.BIC)
		}
	}
	for _, d := range s.Debtor.Bills {
		if d.Kind == bill.Bill && d.Open() > 0 {
			p.Notes = append(p.Notes, fmt.Sprintf("%s of %s, due %s: %s is open.", d.Number, date(d.Issued), date(d.Due), cur.Format(d.Open())))
		}
	}
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		return nil, fmt.Errorf("the statement on paper: %w", err)
	}
	return b.Bytes(), nil
}

// FileName is what the statement is called as a file.
func (s Statement) FileName() string {
	return fmt.Sprintf("statement-%d-%s.pdf", s.Customer.ID, s.Period.To)
}
