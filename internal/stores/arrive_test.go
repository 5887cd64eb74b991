package stores_test

import (
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/stores"
)

func TestAnArrivalShowsOnTheCardAndTheWaitingLineGoesOn(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Brakes))
	discs := r.part(s, 0, jobcard.PartTerms{Name: "Disc", Number: "D-77 b", Qty: 2000, Cost: 34_00})
	pads := r.part(s, 0, jobcard.PartTerms{Name: "Pad set", Number: "P/1", Cost: 26_50})
	r.Agree(s.ID)
	o := r.order(r.Clock.Add(time.Hour), partLine(discs), partLine(pads))
	_, err := r.clocks.Wait(t.Context(), r.Posy, clocking.ReasonInput{LineID: s.Lines[0].ID, Reason: "discs and pads"})
	r.OK(err)

	r.Clock = r.Clock.Add(30 * time.Minute)
	first, err := r.stores.Arrive(t.Context(), r.Posy, stores.ArriveInput{Lines: []stores.CameLine{{LineID: o.Lines[0].ID, Version: 1, Qty: 1000}}})
	r.OK(err)
	if l := r.read(o.ID).Lines[0]; first.Lines[0].Whole || l.Left() != 1000 || r.partOf(s, discs).Supply != jobcard.Ordered {
		t.Errorf("half of it: %+v, %+v", first, l)
	}
	stuck, err := r.stores.Stuck(t.Context(), r.Posy)
	r.OK(err)
	if len(stuck.Lines) != 1 || len(stuck.Lines[0].Parts) != 2 || stuck.Lines[0].Parts[0].Came != 1000 || stuck.Lines[0].Parts[0].OrderID != o.ID {
		t.Errorf("stuck: %+v", stuck.Lines)
	}
	// By the number off the box, however it is spelt there.
	found, err := r.stores.Arrivals(t.Context(), r.Posy, "d77B")
	r.OK(err)
	if len(found.Found) != 1 || found.Found[0].ID != o.Lines[0].ID || found.Found[0].Cost != 0 || found.Orders[0].Lines[0].Cost != 0 {
		t.Errorf("found %+v", found.Found)
	}
	got := r.came(r.Posy, r.read(o.ID).Lines...)
	if len(got.Lines) != 2 || !got.Lines[0].Whole || got.Lines[0].On != "Front brake pads" || got.Lines[0].Aside != "" {
		t.Errorf("booked in %+v", got)
	}
	s = r.Sheet(s.ID)
	if d, p := s.Parts[0], s.Parts[1]; d.Supply != jobcard.Arrived || p.Supply != jobcard.Arrived || s.Lines[0].WorkState != jobcard.Open {
		t.Errorf("the parts are %s and %s, the line %s", d.Supply, p.Supply, s.Lines[0].WorkState)
	}
	a, err := r.stores.Arrivals(t.Context(), r.Owner, "")
	r.OK(err)
	if len(a.Orders) != 0 || len(a.Recent) != 3 || a.Recent[0].Name != "Pad set" || a.Recent[2].By != "Posy Thackeray" {
		t.Errorf("still to come %+v, lately %+v", a.Orders, a.Recent)
	}
}

func TestANumberThatReplacedAnotherFindsWhatWasOrdered(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	r.order(r.Clock.Add(time.Hour), partLine(r.part(s, 0, jobcard.PartTerms{Name: "Filter", Number: "OLD-1"})))
	_, err := r.DB.Pool.Exec(t.Context(), `insert into part_number_link (number_key, other_key, number, other, kind, at)
		values ('OLD1', 'NEW2', 'OLD-1', 'NEW-2', 'replaced by', now())`)
	r.OK(err)
	a, err := r.stores.Arrivals(t.Context(), r.Posy, "new 2")
	r.OK(err)
	if len(a.Found) != 1 || a.Found[0].Number != "OLD-1" {
		t.Errorf("found %+v", a.Found)
	}
	for _, odd := range []string{"NEW-3", "---", "%", "'; --"} {
		if a, err := r.stores.Arrivals(t.Context(), r.Posy, odd); err != nil || len(a.Found) != 0 {
			t.Errorf("%q found %+v, %v", odd, a.Found, err)
		}
	}
}

// TestOfTwoWhoBookALineInAtOnceOneCounts has two people, and one of them with
// an impatient finger, book in the same half of a line.
func TestOfTwoWhoBookALineInAtOnceOneCounts(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Brakes))
	o := r.order(r.Clock.Add(time.Hour), partLine(r.part(s, 0, jobcard.PartTerms{Name: "Disc", Qty: 4000})))
	in := stores.ArriveInput{Lines: []stores.CameLine{{LineID: o.Lines[0].ID, Version: 1, Qty: 2000}}}
	people := []actor.Actor{r.Posy.WithKey("posy-presses-arrived"), r.Posy.WithKey("posy-presses-arrived"), r.Bram.WithKey("bram-presses-arrived"), r.Desk.WithKey("desk-presses-arrived"), r.Owner}
	errs := make([]error, len(people))
	var all sync.WaitGroup
	for i, who := range people {
		all.Go(func() { _, errs[i] = r.stores.Arrive(t.Context(), who, in) })
	}
	all.Wait()
	done := 0
	for i, err := range errs {
		switch {
		case err == nil:
			done++
		case !apperr.Is(err, apperr.Conflict):
			t.Errorf("%s: %v", people[i].Name, err)
		}
	}
	if l := r.read(o.ID).Lines[0]; l.Came != 2000 || r.count(`select count(*) from arrival`) != 1 {
		t.Errorf("%d of 4000 are here", l.Came)
	}
	// A repeat of the one that counted is told the same again.
	if same := (errs[0] == nil) == (errs[1] == nil); done < 1 || done > 2 || !same {
		t.Errorf("%d were told that theirs counted: %v", done, errs)
	}
}

func TestTooManyIsRefusedAndSoIsWhatIsNoLine(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Brakes))
	o := r.order(r.Clock.Add(time.Hour), partLine(r.part(s, 0, jobcard.PartTerms{Name: "Disc", Qty: 2000})))
	line := o.Lines[0].ID
	arrive := func(lines ...stores.CameLine) error {
		_, err := r.stores.Arrive(t.Context(), r.Posy, stores.ArriveInput{Lines: lines})
		return err
	}
	r.wrong(arrive(), apperr.Invalid, "lines")
	r.wrong(arrive(stores.CameLine{LineID: line, Version: 1, Qty: 3000}), apperr.Invalid, "lines.0.qty")
	r.wrong(arrive(stores.CameLine{LineID: line, Version: 1}, stores.CameLine{LineID: line, Version: 1, Qty: 1000}), apperr.Invalid, "lines.0.qty", "lines.1.line")
	r.wrong(arrive(stores.CameLine{LineID: 99_999, Version: 1, Qty: 1000}), apperr.NotFound)
	_, err := r.stores.Arrive(t.Context(), actor.Actor{}, stores.ArriveInput{})
	r.wrong(err, apperr.Unsigned)
	if r.count(`select count(*) from arrival`) != 0 {
		t.Error("something was booked in")
	}
}

func TestTheWrongPartGoesBackAndTheRightOneIsStillToCome(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Thermostat housing", Number: "TH-1604", Cost: 52_40})
	l := r.order(r.Clock.Add(time.Hour), partLine(id)).Lines[0]
	tomorrow := r.Clock.Add(25 * time.Hour)
	_, err := r.stores.Wrong(t.Context(), r.Posy, stores.WrongInput{LineID: l.ID, Version: 1, Kind: "odd"})
	r.wrong(err, apperr.Invalid, "kind", "why", "qty")
	secret := money.Minor(1)
	got, err := r.stores.Wrong(t.Context(), r.Posy, stores.WrongInput{
		LineID: l.ID, Version: 1, Qty: 1000, Kind: stores.WrongPart, Number: "TH-1404", Why: "three bolts, not four", DueAt: tomorrow, Expected: &secret,
	})
	r.OK(err)
	if p := r.partOf(s, id); p.Supply != jobcard.Ordered || p.DueAt != tomorrow {
		t.Errorf("on the card it is %s, due %v", p.Supply, p.DueAt)
	}
	back := r.returns()
	if len(back.Open) != 1 || back.Open[0].ID != got.ReturnID || back.Open[0].Number != "TH-1404" || back.Open[0].CardID != s.ID ||
		back.Open[0].Expected != 52_40 || back.Open[0].Owed() != 0 || len(back.ToWrite) != 0 {
		t.Errorf("going back: %+v", back)
	}
	r.Clock = tomorrow
	r.came(r.Desk, r.read(l.OrderID).Lines...)
	if p := r.partOf(s, id); p.Supply != jobcard.Arrived {
		t.Errorf("the right one is %s", p.Supply)
	}
}

func TestWhatComesForNobodyIsPutAside(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	struck, gone := r.part(s, 0, jobcard.PartTerms{Name: "Plug"}), r.part(s, -1, jobcard.PartTerms{Name: "Lead"})
	o := r.order(r.Clock.Add(time.Hour), partLine(struck), partLine(gone))
	_, err := r.Cards.StrikePart(t.Context(), r.Desk, jobcard.StrikeInput{PartID: struck, Version: r.partOf(s, struck).Version, Reason: "the old one is good"})
	r.OK(err)
	_, err = r.Cards.SetStage(t.Context(), r.Desk, jobcard.StageInput{CardID: s.ID, Stage: jobcard.Cancelled, Reason: "sold the car"})
	r.OK(err)
	got := r.came(r.Posy, r.read(o.ID).Lines...)
	if got.Lines[0].Aside != "the part was struck out: the old one is good" || got.Lines[1].Aside != "card 1002 is cancelled" || got.Lines[0].On != "" {
		t.Errorf("booked in %+v", got)
	}
	back := r.returns()
	if len(back.ToWrite) != 2 || back.ToWrite[0].Aside == "" {
		t.Fatalf("to be written up: %+v", back.ToWrite)
	}
	for _, g := range back.ToWrite {
		_, err := r.stores.WriteUp(t.Context(), r.Desk, stores.WriteUpInput{SupplierID: r.Supplier, PartID: g.PartID, Kind: stores.NotNeeded, Why: g.Aside})
		r.OK(err)
	}
	if back := r.returns(); len(back.ToWrite) != 0 || len(back.Open) != 2 {
		t.Errorf("going back: %+v", back)
	}
}
