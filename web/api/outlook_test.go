package api

import (
	"fmt"
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// looking goes through the outlook: what is said of today, the order of the
// day, a promise for another car, and what was learned.
func (s *site) looking() {
	t := s.t
	t.Helper()
	_, version, err := roster.Shifts(t.Context(), s.DB.Pool)
	s.OK(err)
	week := roster.Week{StaffID: s.Posy.StaffID}
	for i := range 5 {
		week.Days[i] = &workday.Shift{Start: 8 * 60, End: 18 * 60}
	}
	s.OK(s.api.Roster.SaveShifts(t.Context(), s.Owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{week}}))
	one := s.Book(cardtest.Op(s.Service))
	two := s.Book(cardtest.Op(s.Check))
	_, err = s.api.Outlook.Refresh(t.Context())
	s.OK(err)
	o := as[DayOutlook](s.get("posy", "/outlook"), 200)
	find := func(id jobcard.CardID) int {
		for i, c := range o.Cars {
			if c.CardID == id {
				return i
			}
		}
		t.Fatalf("card %d is not among %d cars", id, len(o.Cars))
		return -1
	}
	if c := o.Cars[find(one.ID)]; c.Chance < 0 || c.Chance > 1 || c.Words == "" || c.Promise.IsZero() || c.Half.IsZero() {
		t.Errorf("the car is said to be %+v", c)
	}
	order := func(who string, want int, cards ...jobcard.CardID) {
		if a := s.put(who, "/outlook/order", obj{"day": o.Day, "card_ids": cards}); a.Status != want {
			t.Errorf("%s sets the order: %d, want %d: %s", who, a.Status, want, a.Raw)
		}
	}
	order("posy", 403, two.ID)
	order("desk", 422, two.ID, two.ID)
	order("desk", 204, two.ID, one.ID)
	_, err = s.api.Outlook.Refresh(t.Context())
	s.OK(err)
	if o = as[DayOutlook](s.get("desk", "/outlook"), 200); !o.OwnOrdered || find(two.ID) != 0 || find(one.ID) != 1 {
		t.Errorf("cards %d and %d are taken as %d and %d", two.ID, one.ID, find(two.ID), find(one.ID))
	}
	p := as[SafePromises](s.get("desk", fmt.Sprintf("/outlook/promises?operations=%d,%d", s.Service, s.Check)), 200)
	if len(p.Days) == 0 || p.Level != 0.9 {
		t.Errorf("%d days could promise, at %v", len(p.Days), p.Level)
	}
	if l := as[LearnedHours](s.get("owner", "/outlook/learned"), 200); l.At.IsZero() {
		t.Error("nothing was learned")
	}
	op := as[Operation](s.get("owner", fmt.Sprintf("/operations/%d", s.Service)), 200)
	done := as[Operation](s.put("owner", fmt.Sprintf("/operations/%d/learned-hours", s.Service), obj{"operation_version": op.Version, "minutes": 120}), 200)
	if done.Version != op.Version+1 {
		t.Errorf("version %d after %d", done.Version, op.Version)
	}
	if a := s.put("owner", fmt.Sprintf("/operations/%d/learned-hours", s.Service), obj{"operation_version": op.Version, "minutes": 120}); a.Status != 409 {
		t.Errorf("a stale edit: %d %s", a.Status, a.Raw)
	}
	if r := as[Ramps](s.put("owner", "/outlook/ramps", obj{"ramps": 3}), 200); r.Ramps != 3 {
		t.Errorf("%d ramps", r.Ramps)
	}
	if r := as[Ramps](s.get("posy", "/outlook/ramps"), 200); r.Ramps != 3 {
		t.Errorf("%d ramps are read", r.Ramps)
	}
	if k := as[KeptForecasts](s.get("owner", "/outlook/kept"), 200); k.Cars != 0 || k.Level != 0.9 {
		t.Errorf("%d cars are settled, level %v", k.Cars, k.Level)
	}
}

func TestTheOutlookIsThereForPrograms(t *testing.T) {
	s := newSite(t)
	s.looking()
}
