package bill_test

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

func bytesReader(b []byte) io.Reader { return bytes.NewReader(b) }

func TestOnlyWhatWasAgreedAndDoneIsBilled(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 80_00), fixed("Wipers, replace", 10_00), fixed("Battery, test", 15_00))
	r.part(s, 0, jobcard.PartTerms{Name: "Rear box", Price: new(money.Minor(120_00)), Supply: jobcard.Arrived})
	r.part(s, -1, jobcard.PartTerms{Name: "Bulb", Price: new(money.Minor(3_50)), Supply: jobcard.Arrived})
	r.Fits(s.ID)
	_, err := r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{CardID: s.ID, Lines: []jobcard.LineID{s.Lines[0].ID, s.Lines[1].ID}, Answer: jobcard.Agreed, SaidBy: "Odette", How: "by phone"})
	r.OK(err)
	r.done(r.Sheet(s.ID), 0)
	p := r.preview(s.ID)
	if len(p.Items) != 2 || p.Sum.Totals.Net != 200_00 || p.Sum.Totals.VAT != 40_00 || !p.Ready() {
		t.Fatalf("%d lines, %+v, stopped by %+v", len(p.Items), p.Sum.Totals, p.Stops)
	}
	why := map[string]string{}
	for _, l := range p.Left {
		why[l.Text] = l.Why
	}
	if !strings.Contains(why["Wipers, replace"], "not done") || !strings.Contains(why["Bulb"], "not fitted") || why["Battery, test"] == "" {
		t.Errorf("left off: %v", why)
	}
	d := r.issue(s.ID)
	if d.Number != "B-00001" || d.Sum.Totals.Gross != 240_00 || d.Open() != 240_00 || len(d.Items) != 2 || d.Due != d.Issued.AddDays(14) {
		t.Errorf("%+v", d)
	}
	_, err = r.bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: s.ID})
	r.wrong(err, apperr.Conflict)
	// What is done later goes on a second bill.
	r.done(r.Sheet(s.ID), 1)
	if d := r.issue(s.ID); d.Number != "B-00002" || d.Sum.Totals.Net != 10_00 {
		t.Errorf("%s, %s", d.Number, d.Sum.Totals.Net)
	}
}

func TestALineDoneWithoutBeingAgreedStopsTheBillUntilItIsSettled(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 80_00), fixed("Sensor, replace", 60_00))
	_, err := r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{CardID: s.ID, Lines: []jobcard.LineID{s.Lines[0].ID}, Answer: jobcard.Agreed, SaidBy: "Odette", How: "by phone"})
	r.OK(err)
	_, err = r.Cards.GoAhead(t.Context(), r.Desk, jobcard.AheadInput{LineID: s.Lines[1].ID, Reason: "she cannot be reached"})
	r.OK(err)
	r.done(s)
	p := r.preview(s.ID)
	if len(p.Stops) != 1 || p.Stops[0].LineID != s.Lines[1].ID || !strings.Contains(p.Stops[0].Says, "Sensor, replace") {
		t.Fatalf("%+v", p.Stops)
	}
	_, err = r.bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: s.ID})
	r.wrong(err, apperr.Conflict)
	_, err = r.bills.Free(t.Context(), r.Desk, bill.FreeInput{CardID: s.ID, LineID: s.Lines[1].ID})
	r.wrong(err, apperr.Invalid, "reason")
	_, err = r.bills.Free(t.Context(), r.Desk, bill.FreeInput{CardID: s.ID, LineID: s.Lines[1].ID, Reason: "our mistake"})
	r.OK(err)
	d := r.issue(s.ID)
	free := d.Items[1]
	if d.Sum.Totals.Gross != 96_00 || free.List != 60_00 || free.Net != 0 || len(free.Adjust) != 1 || free.Adjust[0].Text != "No charge: our mistake" {
		t.Errorf("%s, %+v", d.Sum.Totals.Gross, free)
	}
}

func TestWhatABillMustStateIsAskedForWhereItIsFilledIn(t *testing.T) {
	r := newRig(t)
	r.lives("")
	s := r.finished(fixed("Exhaust, replace", 300_00))
	p := r.preview(s.ID)
	if len(p.Stops) != 1 || p.Stops[0].Where != bill.AtCustomer || p.Stops[0].Rule != "reg 14(1)(e)" || p.Form != bill.Full {
		t.Fatalf("%s: %+v", p.Form, p.Stops)
	}
	// SI 1995/2518, regulation 16A: up to £250.00 with VAT the simplified form
	// needs no customer's address.
	small := r.finished(fixed("Wipers, replace", 208_33))
	d := r.issue(small.ID)
	if d.Form != bill.Simplified || d.Sum.Totals.Gross != 250_00 {
		t.Errorf("%s at %s", d.Form, d.Sum.Totals.Gross)
	}
	if c := r.credit(bill.CreditInput{BillID: d.ID, Whole: true}); c.Sum.Totals.Gross != -250_00 {
		t.Errorf("a simplified bill is credited by %s", c.Sum.Totals.Gross)
	}
	over := r.finished(fixed("Wipers, replace", 208_34))
	if p := r.preview(over.ID); p.MaySimplify || p.Sum.Totals.Gross != 250_01 {
		t.Errorf("simplified at %s", p.Sum.Totals.Gross)
	}
}

func TestAGarageThatIsNotRegisteredChargesNoVAT(t *testing.T) {
	r := newRig(t)
	r.registered("")
	s := r.Book(fixed("Exhaust, replace", 80_00))
	_, err := r.Cards.Adjust(t.Context(), r.Desk, jobcard.AdjustInput{CardID: s.ID, AdjustTerms: jobcard.AdjustTerms{What: "Regular customer", Percent: new(money.Rate(1000))}})
	r.OK(err)
	r.Agree(s.ID)
	r.done(r.Sheet(s.ID))
	d := r.issue(s.ID)
	if d.Form != bill.WithoutVAT || d.Registered || d.Sum.Totals.Gross != 72_00 || d.Sum.Totals.VAT != 0 {
		t.Errorf("%s, %+v", d.Form, d.Sum.Totals)
	}
	c := r.credit(bill.CreditInput{BillID: d.ID, Whole: true})
	if c.Sum.Totals.Gross != -72_00 {
		t.Errorf("credited %s", c.Sum.Totals.Gross)
	}
}

// VAT Act 1994, section 6(5): an invoice issued within 14 days after the basic
// tax point is the tax point instead.
func TestTheTimeOfSupplyIsTheDayOfTheBillUpToFourteenDaysAfterTheWork(t *testing.T) {
	work := workday.Must(2026, 10, 5)
	for days, want := range map[int]workday.Day{0: work, 14: work.AddDays(14), 15: work, 40: work} {
		if got := bill.TaxPoint(work, work.AddDays(days)); got != want {
			t.Errorf("billed %d days later: %s, want %s", days, got, want)
		}
	}
}

func TestAStatutoryTestFeeMakesTwoElectronicInvoicesThatAddUpToTheBill(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 80_00), fixed("Test", 0))
	_, err := r.Cards.AddFee(t.Context(), r.Desk, jobcard.FeeInput{CardID: s.ID, LineID: s.Lines[1].ID, FeeTerms: jobcard.FeeTerms{What: "MOT test", Class: "4", Charged: 54_85, Own: true}})
	r.OK(err)
	r.Agree(s.ID)
	r.done(r.Sheet(s.ID))
	d := r.issue(s.ID)
	e := r.electronic(d)
	if d.Sum.Totals.Gross != 150_85 || len(e.Docs) != 2 || e.Docs[1].Number != d.Number+"-O" || e.Docs[1].Payable != 54_85 {
		t.Errorf("%s in %d documents", d.Sum.Totals.Gross, len(e.Docs))
	}
}

func TestABillThatCameToAnotherAmountThanWasSeenIsNotIssued(t *testing.T) {
	r := newRig(t)
	s := r.finished(fixed("Exhaust, replace", 80_00))
	_, err := r.bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: s.ID, Seen: new(money.Minor(90_00))})
	r.wrong(err, apperr.Conflict)
	if n := r.count(`select last from bill_series where name = 'bill'`); n != 0 {
		t.Errorf("%d numbers given out", n)
	}
	for who, want := range map[string]apperr.Kind{"posy": apperr.Forbidden} {
		_, err := r.bills.Issue(t.Context(), r.Posy, bill.IssueInput{CardID: s.ID})
		if !apperr.Is(err, want) {
			t.Errorf("%s: %v", who, err)
		}
	}
}
