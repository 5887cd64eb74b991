package outlook_test

import (
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/outlook"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

func TestATickMovesTheOutlookAndNothingElseDoes(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service), cardtest.Op(r.Check), cardtest.Op(r.Brakes))
	if !r.refresh() {
		t.Fatal("nothing was worked out")
	}
	first := r.today()
	if first.Newer != 0 || first.Off != "" || len(first.Cars) != 1 {
		t.Fatalf("newer %d, off %q, %d cars", first.Newer, first.Off, len(first.Cars))
	}
	if r.refresh() {
		t.Error("it was worked out twice although nothing happened")
	}
	before := r.of(c.ID)
	if before.Chance < 0.02 || before.Chance > 0.98 {
		t.Fatalf("the chance is %.3f: the test wants one that can move", before.Chance)
	}
	r.on(r.Posy, c.Lines[0])
	r.Clock = r.Clock.Add(20 * time.Minute)
	r.tick(r.Posy, c.Lines[0])
	if n := r.today().Newer; n == 0 {
		t.Error("the page does not know that something newer happened")
	}
	if !r.refresh() {
		t.Fatal("a tick was not worked out")
	}
	after := r.of(c.ID)
	if after.Chance <= before.Chance || after.Done != 1 {
		t.Errorf("an hour and a half was saved: %.3f before, %.3f after, %d done", before.Chance, after.Chance, after.Done)
	}
}

func TestTheSameDayGivesTheSameFigures(t *testing.T) {
	one, two := open(t), open(t)
	for _, r := range []*rig{one, two} {
		r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service), cardtest.Op(r.Brakes))
		r.car(r.Garage.Day, true, 11, 0, cardtest.Op(r.Check), cardtest.Op(r.Brakes))
		r.refresh()
	}
	a, b := one.today(), two.today()
	for i := range a.Cars {
		if a.Cars[i].Chance != b.Cars[i].Chance || a.Cars[i].Ninety != b.Cars[i].Ninety {
			t.Errorf("car %d: %.5f and %.5f, %v and %v", i, a.Cars[i].Chance, b.Cars[i].Chance, a.Cars[i].Ninety, b.Cars[i].Ninety)
		}
	}
}

func TestALaterPromiseNeverLowersTheChance(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 10, 0, cardtest.Op(r.Service), cardtest.Op(r.Brakes))
	other := r.car(r.Garage.Day, true, 9, 30, cardtest.Op(r.Check))
	// The order must not move with the promise, since another order is another
	// day.
	r.OK(r.outlook.SetOrder(r.Context(), r.Desk, outlook.OrderInput{Day: r.Garage.Day, Cards: []jobcard.CardID{other.ID, c.ID}}))
	last := -1.0
	for hour := 10; hour <= 17; hour++ {
		s := r.Sheet(c.ID)
		_, err := r.Cards.EditVisit(r.Context(), r.Desk, jobcard.EditVisitInput{CardID: c.ID, Version: s.Version, Visit: jobcard.Visit{
			BookedFor: r.Garage.Day, ArrivesAt: s.ArrivesAt, PromisedAt: workday.At(r.Garage.Day, workday.Clock(hour*60), zone),
		}})
		r.OK(err)
		r.refresh()
		now := r.of(c.ID).Chance
		if now < last {
			t.Errorf("promised for %d:00 the chance is %.4f, an hour earlier %.4f", hour, now, last)
		}
		last = now
	}
	if last < 0.9 {
		t.Errorf("two hours and a half of work are done by five with a chance of %.3f only", last)
	}
}

func TestAPartThatComesTomorrowCannotKeepTodaysPromise(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 16, 0, cardtest.Op(r.Service))
	id := r.part(c, 0, jobcard.PartTerms{Name: "Oil filter", SupplierID: r.Supplier, Supply: jobcard.Ordered, DueAt: r.Clock.Add(25 * time.Hour)})
	r.refresh()
	if got := r.of(c.ID); got.Chance > 0.01 || got.Half.Beyond || !got.Half.At.After(r.Clock.Add(25*time.Hour)) {
		t.Errorf("the chance is %.3f, half by %v", got.Chance, got.Half)
	}
	p, _ := r.Sheet(c.ID).Part(id)
	_, err := r.Cards.SetSupply(r.Context(), r.Desk, jobcard.SupplyInput{PartID: id, Version: p.Version, Supply: jobcard.NotComing})
	r.OK(err)
	r.refresh()
	if got := r.of(c.ID); got.Chance != 0 || !got.Half.Beyond || got.Stuck != "Oil filter" {
		t.Errorf("with a part that never comes: %.3f, %v, stuck for %q", got.Chance, got.Half, got.Stuck)
	}
}

func TestWhoIsAwayDoesNoWork(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 13, 0, cardtest.Op(r.Service), cardtest.Op(r.Service))
	d := r.car(r.Garage.Day, true, 13, 0, cardtest.Op(r.Service), cardtest.Op(r.Service))
	r.refresh()
	both := r.of(c.ID).Chance + r.of(d.ID).Chance
	r.OK(r.roster.AddAbsence(r.Context(), r.Owner, roster.AbsenceInput{StaffID: r.Bram.StaffID, From: r.Garage.Day, To: r.Garage.Day, Reason: "dentist"}))
	if !r.refresh() {
		t.Fatal("an absence was not worked out")
	}
	if alone := r.of(c.ID).Chance + r.of(d.ID).Chance; alone > both-0.3 {
		t.Errorf("alone %.2f promises are kept, together %.2f", alone, both)
	}
}

func TestAGarageWithoutHoursIsToldWhatIsMissing(t *testing.T) {
	r := withoutHours(t)
	r.car(r.Garage.Day, true, 13, 0, cardtest.Op(r.Service))
	r.refresh()
	if got := r.today(); !strings.Contains(got.Off, "Nobody is planned to work") || len(got.Cars) != 0 {
		t.Errorf("off: %q, %d cars", got.Off, len(got.Cars))
	}
}

func TestOneRampHoldsTheSecondCarUp(t *testing.T) {
	r := open(t)
	r.car(r.Garage.Day, true, 10, 30, cardtest.Op(r.Brakes))
	d := r.car(r.Garage.Day, true, 10, 30, cardtest.Op(r.Brakes))
	r.refresh()
	free := r.of(d.ID).Chance
	_, err := r.outlook.SetRamps(r.Context(), r.Owner, outlook.Setting{Ramps: 1})
	r.OK(err)
	r.refresh()
	if held := r.of(d.ID).Chance; held > free-0.2 {
		t.Errorf("with one ramp %.2f, without a bound %.2f", held, free)
	}
}

func TestTheOrderThatWasSetIsKeptForItsDayOnly(t *testing.T) {
	r := open(t)
	a := r.car(r.Garage.Day, true, 11, 0, cardtest.Op(r.Service))
	b := r.car(r.Garage.Day, true, 12, 0, cardtest.Op(r.Service))
	r.refresh()
	if got := r.today().Cars; got[0].Card != a.ID {
		t.Fatalf("card %d is first, not the one promised first", got[0].Card)
	}
	in := outlook.OrderInput{Day: r.Garage.Day, Cards: []jobcard.CardID{b.ID, a.ID}, Pinned: []jobcard.CardID{b.ID}}
	r.OK(r.outlook.SetOrder(r.Context(), r.Desk, in))
	r.refresh()
	if got := r.today(); got.Cars[0].Card != b.ID || !got.Cars[0].Pinned || !got.Ordered {
		t.Errorf("first is %d, pinned %v, ordered %v", got.Cars[0].Card, got.Cars[0].Pinned, got.Ordered)
	}
	if err := r.outlook.SetOrder(r.Context(), r.Posy, in); err == nil {
		t.Error("a technician set the order")
	}
	r.Clock = r.Clock.Add(24 * time.Hour)
	if err := r.outlook.SetOrder(r.Context(), r.Desk, in); err == nil {
		t.Error("yesterday's order was set today")
	}
}

func TestALineThatWaitsForTheCustomerWaitsInTheOutlookToo(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 13, 30, cardtest.Op(r.Service))
	r.refresh()
	before := r.of(c.ID)
	more, err := r.Cards.AddLine(t.Context(), r.Desk, jobcard.AddLineInput{CardID: c.ID, NewLine: cardtest.Op(r.Brakes)})
	r.OK(err)
	r.refresh()
	waits := r.of(c.ID)
	asked := false
	for _, x := range waits.Causes {
		asked = asked || strings.HasPrefix(x.Words(), "waiting for the customer's word on ")
	}
	if waits.Chance >= before.Chance || !asked {
		t.Errorf("%.3f before it was asked, %.3f after, late because of %+v", before.Chance, waits.Chance, waits.Causes)
	}
	r.GoAhead(more.LineID)
	r.refresh()
	for _, x := range r.of(c.ID).Causes {
		if strings.HasPrefix(x.Words(), "waiting for the customer") {
			t.Errorf("it may go ahead, and yet: %s", x.Words())
		}
	}
}
