package bill_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/einvoice"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
)

// rig is a garage registered for VAT that sends bills.
type rig struct {
	*cardtest.Garage
	bills  *bill.Service
	clocks *clocking.Service
	people *customer.Service
	t      testing.TB
}

func newRig(t testing.TB) *rig {
	t.Helper()
	g := cardtest.Open(t)
	r := &rig{Garage: g, bills: bill.New(g.DB), clocks: clocking.New(g.DB), people: customer.New(g.DB), t: t}
	r.registered("350983637")
	terms, err := r.bills.Terms(t.Context(), g.Owner)
	g.OK(err)
	terms.PayDays, terms.AccountName, terms.IBAN, terms.CompanyNumber, terms.Words = 14, "Saltmarsh Lane Garage", "GB82 WEST 1234 5698 7654 32", "01234567", "Please pay within 14 days."
	_, err = r.bills.SaveTerms(t.Context(), g.Owner, terms)
	g.OK(err)
	r.lives("4 Quay Steps\nSaltmarsh\nZZ9 4AB")
	return r
}

// registered sets the garage's address and VAT number.
func (r *rig) registered(number string) {
	r.t.Helper()
	ov, err := r.Settings.Settings(r.t.Context(), r.Owner)
	r.OK(err)
	ov.Address, ov.Phone, ov.Email, ov.VATNumber = "2 Saltmarsh Lane\nSaltmarsh\nZZ9 1AA", "01632 960100", "desk@saltmarsh.example", number
	_, err = r.Settings.SaveSettings(r.t.Context(), r.Owner, ov)
	r.OK(err)
}

// lives sets the customer's address.
func (r *rig) lives(address string) {
	r.t.Helper()
	c, err := customer.Get(r.t.Context(), r.DB.Pool, r.Keeper)
	r.OK(err)
	_, err = r.people.Edit(r.t.Context(), r.Desk, customer.EditInput{ID: c.ID, Version: c.Version, Input: customer.Input{Name: c.Name, Phone: c.Phone, Email: "odette@marlowe.example", Address: address}})
	r.OK(err)
}

// fixed is a line at a price, net.
func fixed(title string, net money.Minor) jobcard.NewLine {
	l := cardtest.Free(title, time.Hour)
	l.FixedPrice = &net
	return l
}

// finished is a card on which all the lines were agreed and done.
func (r *rig) finished(lines ...jobcard.NewLine) *jobcard.Sheet {
	r.t.Helper()
	s := r.Book(lines...)
	r.Agree(s.ID)
	r.done(s)
	return r.Sheet(s.ID)
}

func (r *rig) done(s *jobcard.Sheet, only ...int) {
	r.t.Helper()
	for i, l := range s.Lines {
		wanted := len(only) == 0
		for _, n := range only {
			wanted = wanted || n == i
		}
		if !wanted {
			continue
		}
		_, err := r.clocks.Tick(r.t.Context(), r.Posy, clocking.LineInput{LineID: l.ID})
		r.OK(err)
	}
}

func (r *rig) part(s *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	r.t.Helper()
	if line >= 0 {
		terms.LineID = s.Lines[line].ID
	}
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	if terms.VATCode == "" {
		terms.VATCode = money.Standard
	}
	done, err := r.Cards.AddPart(r.t.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
	return done.PartID
}

func (r *rig) preview(id jobcard.CardID) bill.Preview {
	r.t.Helper()
	p, err := r.bills.Preview(r.t.Context(), r.Desk, id, "")
	r.OK(err)
	return p
}

// issue issues the bill of a card and reads it. It must make clean electronic
// invoices that read back to the same figures.
func (r *rig) issue(id jobcard.CardID) bill.Document {
	r.t.Helper()
	done, err := r.bills.Issue(r.t.Context(), r.Desk, bill.IssueInput{CardID: id})
	r.OK(err)
	return r.read(done.ID)
}

func (r *rig) credit(in bill.CreditInput) bill.Document {
	r.t.Helper()
	if in.Why == "" {
		in.Why = "charged by mistake"
	}
	done, err := r.bills.Credit(r.t.Context(), r.Desk, in)
	r.OK(err)
	return r.read(done.ID)
}

func (r *rig) read(id bill.ID) bill.Document {
	r.t.Helper()
	d, err := r.bills.Read(r.t.Context(), r.Desk, id)
	r.OK(err)
	r.electronic(d)
	return d
}

// electronic holds a document's electronic form against the rules and against
// the document.
func (r *rig) electronic(d bill.Document) bill.Electronic {
	r.t.Helper()
	e, err := r.bills.Electronic(r.t.Context(), r.Desk, d.ID)
	r.OK(err)
	if len(e.Lacks) > 0 {
		r.t.Errorf("%s cannot be sent: %+v", d.Number, e.Lacks)
	}
	var payable, vat money.Minor
	for i, one := range e.Docs {
		file, err := e.File(i == 1)
		r.OK(err)
		back, err := einvoice.Read(bytesReader(file))
		if err != nil || len(einvoice.Check(back)) > 0 {
			r.t.Errorf("%s read back: %v, %v", one.Number, err, einvoice.Check(back))
		}
		payable, vat = payable+back.Payable, vat+back.VAT
	}
	sign := money.Minor(1)
	if d.Kind == bill.CreditNote {
		sign = -1
	}
	if payable != sign*d.Sum.Due || vat != sign*d.Sum.Totals.VAT {
		r.t.Errorf("%s: %s to pay with %s VAT, electronically %s with %s", d.Number, d.Sum.Due, d.Sum.Totals.VAT, payable, vat)
	}
	return e
}

func (r *rig) take(in bill.TakeInput) bill.Taken {
	r.t.Helper()
	if in.Method == "" {
		in.Method = "cash"
	}
	done, err := r.bills.Take(r.t.Context(), r.Desk, in)
	r.OK(err)
	return done
}

func (r *rig) count(sql string, args ...any) (n int) {
	r.t.Helper()
	r.OK(r.DB.Pool.QueryRow(r.t.Context(), sql, args...).Scan(&n))
	return n
}

func (r *rig) wrong(err error, kind apperr.Kind, fields ...string) {
	r.t.Helper()
	if !apperr.Is(err, kind) {
		r.t.Errorf("%v, want an error of kind %d", err, kind)
		return
	}
	e := apperr.Fields{}
	e.Merge("", err)
	for _, f := range fields {
		if e[f] == "" {
			r.t.Errorf("no message at %s: %v", f, err)
		}
	}
}
