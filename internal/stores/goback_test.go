package stores_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/internal/workday"
)

func TestACreditThatIsLessThanExpectedIsOwedUntilItComesOrIsGivenUp(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Housing", Number: "TH-1404", Cost: 52_40, SupplierID: r.Supplier, Supply: jobcard.Arrived})
	r.Agree(s.ID)
	_, err := r.clocks.Snag(t.Context(), r.Posy, jobcard.SnagInput{LineID: s.Lines[0].ID, PartID: id, Kind: jobcard.WrongPart, Note: "three bolts"})
	r.OK(err)
	back := r.returns()
	if len(back.ToWrite) != 1 || back.ToWrite[0].PartID != id || back.ToWrite[0].Why != "three bolts" || back.ToWrite[0].Cost != 52_40 {
		t.Fatalf("to be written up: %+v", back.ToWrite)
	}
	_, err = r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: id, Qty: 500, Kind: stores.WrongPart, Why: "three bolts", Expected: 52_40})
	r.wrong(err, apperr.Invalid, "qty")
	up, err := r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: id, Kind: stores.WrongPart, Why: "three bolts", Expected: 52_40})
	r.OK(err)
	_, err = r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: id, Kind: stores.WrongPart, Why: "again", Expected: 52_40})
	r.wrong(err, apperr.Invalid, "part")
	if a := r.account(r.Supplier); a.Owed != 0 || a.Held != 52_40 || a.ToSend != 1 {
		t.Errorf("before it left: %+v", a)
	}
	_, err = r.stores.Send(t.Context(), r.Posy, stores.SentInput{ReturnID: up.ReturnID, Version: 1, How: "their driver"})
	r.OK(err)
	if a := r.account(r.Supplier); a.Owed != 52_40 || a.Held != 0 {
		t.Errorf("once it left: %+v", a)
	}
	_, err = r.stores.Credit(t.Context(), r.Posy, stores.CreditInput{ReturnID: up.ReturnID, Version: 2, Amount: 40_00})
	r.wrong(err, apperr.Forbidden)
	for field, in := range map[string]stores.CreditInput{
		"amount": {}, "why": {Amount: 1, Last: true}, "day": {Amount: 1, Day: r.Day.AddDays(1)},
	} {
		in.ReturnID, in.Version = up.ReturnID, 2
		_, err = r.stores.Credit(t.Context(), r.Desk, in)
		r.wrong(err, apperr.Invalid, field)
	}
	_, err = r.stores.Credit(t.Context(), r.Desk, stores.CreditInput{ReturnID: up.ReturnID, Version: 2, Amount: 40_00, Ref: "CN 88"})
	r.OK(err)
	open := r.returns().Open
	if len(open) != 1 || open[0].Received != 40_00 || open[0].Owed() != 12_40 || len(open[0].Credits) != 1 || open[0].Credits[0].Day != r.Day {
		t.Fatalf("in part: %+v", open)
	}
	_, err = r.stores.Settle(t.Context(), r.Desk, stores.SettleInput{ReturnID: up.ReturnID, Version: 2, Why: "handling charge"})
	r.wrong(err, apperr.Conflict)
	_, err = r.stores.Settle(t.Context(), r.Desk, stores.SettleInput{ReturnID: up.ReturnID, Version: 3, Why: "handling charge"})
	r.OK(err)
	done := r.returns()
	if len(done.Open) != 0 || len(done.Settled) != 1 || done.Settled[0].Short() != 12_40 || done.Settled[0].SettledWhy != "handling charge" {
		t.Errorf("settled: %+v", done)
	}
	if a := r.account(r.Supplier); a.Owed != 0 || a.Short != 12_40 {
		t.Errorf("the account: %+v", a)
	}
	if p := r.partOf(s, id); p.Supply != jobcard.Credited {
		t.Errorf("on the card it is %s", p.Supply)
	}
}

func TestACreditInFullSettlesItselfLongAfterTheCarWasCollected(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Pump", Cost: 80_00, SupplierID: r.Supplier, Supply: jobcard.Arrived})
	up, err := r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: id, Kind: stores.Faulty, Why: "it whines", Expected: 80_00, Again: true})
	r.OK(err)
	parts := r.Sheet(s.ID).Parts
	if len(parts) != 2 || parts[0].Supply != jobcard.GoingBack || parts[1].Supply != jobcard.Needed || parts[1].Name != "Pump" {
		t.Fatalf("on the card: %+v", parts)
	}
	_, err = r.DB.Pool.Exec(t.Context(), `update card set stage = 'collected', ready_at = now(), collected_at = now() where id = $1`, s.ID)
	r.OK(err)
	r.Clock = r.Clock.AddDate(0, 1, 0)
	for i, amount := range []money.Minor{30_00, 55_00} {
		_, err = r.stores.Credit(t.Context(), r.Desk, stores.CreditInput{ReturnID: up.ReturnID, Version: 1 + i, Amount: amount, Day: r.Day})
		r.OK(err)
	}
	if p := r.partOf(s, id); p.Supply != jobcard.Credited {
		t.Errorf("on the card it is %s", p.Supply)
	}
	settled := r.returns().Settled
	if len(settled) != 1 || settled[0].Received != 85_00 || settled[0].Short() != 0 {
		t.Errorf("settled %+v", settled)
	}
}

func TestTheOldUnitOfAnExchangeGoesBackByItsDay(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Caliper", Number: "C-1", Qty: 2000, Cost: 70_00})
	by := r.Day.AddDays(14)
	o := r.order(r.Clock.Add(time.Hour), stores.OrderedLine{PartID: id, Surcharge: 45_00, BackBy: by})
	if o.Surcharges() != 90_00 || o.Net() != 140_00 {
		t.Errorf("the order: %s and %s", o.Net(), o.Surcharges())
	}
	r.came(r.Posy, o.Lines...)
	open := r.returns().Open
	if len(open) != 1 || open[0].Kind != stores.ExchangeUnit || open[0].Expected != 90_00 || open[0].SendBy != by || open[0].Overdue(by) || !open[0].Overdue(by.AddDays(1)) {
		t.Fatalf("the old units: %+v", open)
	}
	if a := r.account(r.Supplier); a.Old != 1 || a.Held != 90_00 {
		t.Errorf("the account: %+v", a)
	}
}

func TestWhatGoesBackWithoutACardIsWrittenUpByItself(t *testing.T) {
	r := newRig(t)
	_, err := r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{Expected: -1})
	r.wrong(err, apperr.Invalid, "supplier", "kind", "name", "qty", "why", "expected")
	_, err = r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: 999, Kind: stores.NotNeeded, Name: "Oil", Qty: 1000, Why: "one too many"})
	r.wrong(err, apperr.Invalid, "supplier")
	_, err = r.stores.WriteUp(t.Context(), r.Posy, stores.WriteUpInput{})
	r.wrong(err, apperr.Forbidden)
	s := r.Book(cardtest.Op(r.Service))
	own := r.part(s, 0, jobcard.PartTerms{Name: "Blades", Source: jobcard.FromCustomer, Supply: jobcard.Arrived})
	still := r.part(s, 0, jobcard.PartTerms{Name: "Plug"})
	for _, id := range []jobcard.PartID{own, still, 999_999} {
		_, err = r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: id, Kind: stores.Faulty, Why: "bent"})
		r.wrong(err, apperr.Invalid, "part")
	}
	up, err := r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, Kind: stores.NotNeeded, Name: "Oil", Qty: 1000, Why: "one too many", SendBy: workday.Must(2026, time.October, 9)})
	r.OK(err)
	_, err = r.stores.Send(t.Context(), r.Posy, stores.SentInput{ReturnID: up.ReturnID, Version: 1})
	r.OK(err)
	if x := r.returns(); len(x.Open) != 0 || len(x.Settled) != 1 || x.Settled[0].SettledWhy != "no money was to come for it" {
		t.Errorf("for no money: %+v", x)
	}
}
