package handover_test

import (
	"fmt"
	"slices"
	"testing"

	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
)

// What is owed and what is kept, worked out by hand: a deposit of 10.00 before
// there is a bill, a bill that it is set off on, and a payment of 5.00 more than
// is owed.
func TestMoneyThatIsKeptForTheCustomerIsWeighedWhenTheCarGoes(t *testing.T) {
	r := open(t)
	bills := bill.New(r.DB)
	set, err := r.Settings.Settings(t.Context(), r.Owner)
	r.OK(err)
	set.Address = "2 Saltmarsh Lane"
	_, err = r.Settings.SaveSettings(t.Context(), r.Owner, set)
	r.OK(err)
	c := r.serviced()
	take := func(in bill.TakeInput) {
		t.Helper()
		in.Method = "cash"
		_, err := bills.Take(t.Context(), r.Desk, in)
		r.OK(err)
	}
	soft := func(card jobcard.CardID) (out []string) {
		for _, s := range r.plan(card).Soft() {
			out = append(out, s.Words+" at "+s.Path)
		}
		return out
	}
	says := func(want ...string) {
		t.Helper()
		if got := soft(c.ID); !slices.Equal(got, want) {
			t.Errorf("unsettled:\n%q\nwant\n%q", got, want)
		}
	}
	at := "/cards/" + fmt.Sprint(c.ID)
	take(bill.TakeInput{CardID: c.ID, Amount: 10_00})
	says("no bill has been made at "+at+"/bill", "a deposit of £10.00 is set against no bill: it is given back, or kept for the customer's next bill at "+at+"/deposit")
	d, err := bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: c.ID})
	r.OK(err)
	owed := d.Gross - 10_00
	on := "/bills/" + fmt.Sprint(d.ID)
	says("bill " + d.Number + " is not paid: " + owed.String() + " are owed at " + on)

	take(bill.TakeInput{CustomerID: c.CustomerID, Amount: 1})
	take(bill.TakeInput{BillID: d.ID, Amount: owed - 2_01})
	other := r.serviced()
	take(bill.TakeInput{CardID: other.ID, Amount: 7_00})
	says("bill " + d.Number + " is not paid: £2.00 are owed, and £7.00 kept for the customer can be set against it at " + on)

	take(bill.TakeInput{BillID: d.ID, Amount: 2_00})
	says()

	// Work that is done and not agreed holds the car; not so once it is free.
	extra := r.Book(cardtest.Op(r.Service))
	_, err = r.Cards.GoAhead(t.Context(), r.Desk, jobcard.AheadInput{LineID: extra.Lines[0].ID, Reason: "it would not have left the ramp"})
	r.OK(err)
	r.tick(extra.Lines[0].ID)
	if got := soft(extra.ID); len(got) != 1 {
		t.Errorf("done and not agreed: %q", got)
	}
	_, err = bills.Free(t.Context(), r.Desk, bill.FreeInput{CardID: extra.ID, LineID: extra.Lines[0].ID, Reason: "goodwill"})
	r.OK(err)
	if got := soft(extra.ID); len(got) != 0 {
		t.Errorf("done and free: %q", got)
	}
}
