package outlook_test

import (
	"strings"
	"testing"
	"time"

	"rampside/internal/floor"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/outlook"
)

func TestAForecastMeetsWhatBecameOfIt(t *testing.T) {
	r := open(t)
	kept := r.car(r.Garage.Day, true, 15, 0, cardtest.Op(r.Check))
	late := r.car(r.Garage.Day, true, 10, 0, cardtest.Op(r.Check))
	gone := r.car(r.Garage.Day, true, 16, 0, cardtest.Op(r.Check))
	r.refresh()
	for _, c := range []*jobcard.Sheet{kept, late} {
		r.on(r.Posy, c.Lines[0])
		r.Clock = r.Clock.Add(65 * time.Minute)
		r.tick(r.Posy, c.Lines[0])
		r.stage(c.ID, jobcard.Ready)
	}
	r.stage(gone.ID, jobcard.Cancelled)
	r.refresh()
	k, err := r.outlook.Kept(t.Context(), r.Owner)
	r.OK(err)
	if k.N != 0 || k.Open < 2 {
		t.Errorf("%d are settled on the day itself, %d open: a car that is ready may yet come back", k.N, k.Open)
	}
	r.stage(kept.ID, jobcard.Collected)
	r.stage(late.ID, jobcard.Collected)
	r.refresh()
	k, err = r.outlook.Kept(t.Context(), r.Owner)
	r.OK(err)
	if k.N != 2 || k.Open != 0 || !k.Early || k.Rate != 0.5 {
		t.Fatalf("%d settled, %d open, early %v, rate %v", k.N, k.Open, k.Early, k.Rate)
	}
	for _, c := range k.Last20 {
		if c.Kept != (c.Card == kept.ID) {
			t.Errorf("card %d: kept %v, promised %v, finished %v", c.Card, c.Kept, c.Promised, c.Finished)
		}
	}
	if k.Cover[2].N != 2 || k.Brier <= 0 || k.Brier >= 1 {
		t.Errorf("covered %+v, Brier %v", k.Cover, k.Brier)
	}
	if k.Level == 0.9 {
		t.Error("the level of promises did not move with what became of them")
	}
}

func TestHoursAreLearnedAndChangedByAPersonOnly(t *testing.T) {
	r := open(t)
	before := r.operation()
	// Eight services that take twice their estimate, on eight days.
	for range 8 {
		r.Clock = r.Clock.AddDate(0, 0, 1)
		if r.Clock.Weekday() == time.Saturday {
			r.Clock = r.Clock.AddDate(0, 0, 2)
		}
		d := r.Garage.Day.AddDays(int(r.Clock.Sub(start).Hours()) / 24)
		c := r.car(d, true, 16, 0, cardtest.Op(r.Service))
		r.on(r.Posy, c.Lines[0])
		r.Clock = r.Clock.Add(190 * time.Minute)
		r.tick(r.Posy, c.Lines[0])
		r.Clock = r.Clock.Add(-190 * time.Minute)
	}
	r.Clock = r.Clock.AddDate(0, 0, 1)
	r.refresh()
	l, err := r.outlook.Learned(t.Context(), r.Owner)
	r.OK(err)
	var found outlook.OperationLearned
	for _, o := range l.Operations {
		if o.Operation.ID == r.Service {
			found = o
		}
	}
	if found.Lines != 8 || found.Times < 1.4 || found.Suggested <= before.Likely || len(found.From) != 8 {
		t.Fatalf("learned from %d lines: %.2f times, suggested %v, %d behind it", found.Lines, found.Times, found.Suggested, len(found.From))
	}
	if now := r.operation(); now.Likely != before.Likely {
		t.Error("the hours were changed although nobody said so")
	}
	if _, err := r.outlook.Accept(t.Context(), r.Desk, outlook.AcceptInput{OperationID: r.Service, Version: before.Version, Likely: found.Suggested}); err == nil {
		t.Error("the desk changed an operation's hours")
	}
	o, err := r.outlook.Accept(t.Context(), r.Owner, outlook.AcceptInput{OperationID: r.Service, Version: before.Version, Likely: found.Suggested})
	r.OK(err)
	if o.Likely != found.Suggested || o.High <= before.High {
		t.Errorf("the hours are %v to %v", o.Likely, o.High)
	}
	if _, err := r.outlook.Accept(t.Context(), r.Owner, outlook.AcceptInput{OperationID: r.Service, Version: before.Version, Likely: found.Suggested}); err == nil || !strings.Contains(err.Error(), "operation") {
		t.Errorf("a second acceptance of the same suggestion: %v", err)
	}
	// What was learned stays true of the new hours: the old lines are reckoned
	// as if they had been estimated by them.
	r.Clock = r.Clock.AddDate(0, 0, 1)
	r.refresh()
	l, err = r.outlook.Learned(t.Context(), r.Owner)
	r.OK(err)
	for _, o := range l.Operations {
		if o.Operation.ID == r.Service && (o.Times < 0.8 || o.Times > 1.25 || o.Suggested != 0) {
			t.Errorf("after the change it takes %.2f times its hours, and %v is suggested again", o.Times, o.Suggested)
		}
	}
}

func TestTheFloorGoesByTheOrderOfTheDay(t *testing.T) {
	r := open(t)
	a := r.car(r.Garage.Day, true, 11, 0, cardtest.Op(r.Service))
	b := r.car(r.Garage.Day, true, 12, 0, cardtest.Op(r.Service))
	f := floor.New(r.DB)
	next := func() jobcard.CardID {
		p, err := f.Plan(t.Context(), r.Posy)
		r.OK(err)
		return p.Next[0].CardID
	}
	if next() != a.ID {
		t.Fatal("the one promised first is not next")
	}
	r.OK(r.outlook.SetOrder(t.Context(), r.Desk, outlook.OrderInput{Day: r.Garage.Day, Cards: []jobcard.CardID{b.ID, a.ID}}))
	if next() != b.ID {
		t.Error("the floor does not go by the order that was set")
	}
	r.OK(r.outlook.SetOrder(t.Context(), r.Desk, outlook.OrderInput{Day: r.Garage.Day}))
	if next() != a.ID {
		t.Error("the usual order did not come back")
	}
}

func TestASafePromiseIsOneThatIsKeptAndHarmsNobody(t *testing.T) {
	r := open(t)
	r.car(r.Garage.Day, true, 16, 0, cardtest.Op(r.Service), cardtest.Op(r.Brakes))
	r.refresh()
	o, err := r.outlook.Offers(t.Context(), r.Desk, outlook.OfferInput{Operations: []garageOperation{r.Service}})
	r.OK(err)
	if len(o.Days) != 5 {
		t.Fatalf("%d days were looked at", len(o.Days))
	}
	first, ok := o.SafePromise()
	if !ok || first.Day != r.Garage.Day || first.Promise.At.Before(r.Clock.Add(90*time.Minute)) {
		t.Errorf("safe %v: %s, %v", ok, first.Day, first.Promise)
	}
	for _, d := range o.Days {
		if d.Safe && (d.Promise.Beyond || d.Promise.At.After(d.Close) || d.Lost > 0) {
			t.Errorf("%s is said to be safe: %+v", d.Day, d)
		}
	}
}
