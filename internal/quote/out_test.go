package quote_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/quote"
)

func TestTheQuotesThatAreOutAreListedByWhoWaitsLongest(t *testing.T) {
	r := open(t)
	old, said, gone := r.make(r.card().ID), r.make(r.card().ID), r.make(r.card().ID)
	r.Clock = r.Clock.Add(time.Hour)
	fresh := r.make(r.card().ID)
	newer := r.make(old.CardID)
	_, err := r.answer(said, append(yes(said, 0), no(said, 1)...))
	r.OK(err)
	_, err = r.answer(fresh, yes(fresh, 0))
	r.OK(err)
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: gone.ID, Reason: "wrong car"})
	r.OK(err)
	r.Clock = fresh.ValidUntil.Add(time.Second)
	last := r.make(r.card().ID)
	waiting, over, set, err := r.quotes.AllOut(t.Context(), r.Desk)
	r.OK(err)
	var got []quote.VersionID
	for _, o := range waiting {
		got = append(got, o.ID)
	}
	if len(got) != 3 || got[0] != fresh.ID || got[1] != newer.ID || got[2] != last.ID {
		t.Fatalf("waiting: %v, want %v, %v, %v", got, fresh.ID, newer.ID, last.ID)
	}
	if o := waiting[0]; o.State != quote.Expired || o.Agreed != 1 || o.Open != 1 || o.SaidBy != "Odette Marlowe" || o.Customer != "Odette Marlowe" || waiting[2].State != quote.Waiting {
		t.Errorf("%+v", waiting)
	}
	if len(over) != 1 || over[0].ID != said.ID || over[0].State != quote.Answered || over[0].Declined != 1 {
		t.Errorf("over: %+v", over)
	}
	if set.Name != "Saltmarsh Lane Garage" {
		t.Errorf("%q", set.Name)
	}
	_, _, _, err = r.quotes.AllOut(t.Context(), r.Posy)
	r.kind(err, apperr.Forbidden)
	r.Clock = r.Clock.AddDate(0, 0, 61)
	if waiting, over, _, err = r.quotes.AllOut(t.Context(), r.Desk); err != nil || len(waiting)+len(over) != 0 {
		t.Errorf("after 61 days: %d, %d, %v", len(waiting), len(over), err)
	}
}
