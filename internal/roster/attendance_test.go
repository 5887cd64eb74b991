package roster_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// The break lies in the middle of the shift: 13:00 from 08:30 to 17:30.
func TestTheBreakIsTakenOffWhoIsInOnBothSidesOfTheMiddleOfTheShift(t *testing.T) {
	for name, c := range map[string]struct {
		spells     []string // arrivals and leavings by turns
		in, paused time.Duration
	}{
		"the whole day":               {[]string{"08:30", "17:30"}, 9 * time.Hour, time.Hour},
		"the morning":                 {[]string{"08:30", "13:00"}, 4*time.Hour + 30*time.Minute, 0},
		"the afternoon":               {[]string{"13:00", "17:30"}, 4*time.Hour + 30*time.Minute, 0},
		"over the middle":             {[]string{"12:00", "14:30"}, 150 * time.Minute, time.Hour},
		"signed out for all of it":    {[]string{"08:30", "12:30", "13:30", "17:30"}, 8 * time.Hour, 0},
		"signed out for some of it":   {[]string{"08:30", "12:30", "12:50", "17:30"}, 9*time.Hour - 20*time.Minute, 40 * time.Minute},
		"out for longer":              {[]string{"08:30", "11:00", "14:00", "17:30"}, 6 * time.Hour, 0},
		"out twice":                   {[]string{"08:30", "10:00", "10:15", "15:00", "15:15", "17:30"}, 8*time.Hour + 30*time.Minute, 30 * time.Minute},
		"out after it":                {[]string{"08:30", "14:00", "15:00", "17:30"}, 8 * time.Hour, 0},
		"too short for all the break": {[]string{"12:59", "13:10"}, 11 * time.Minute, 10 * time.Minute},
		"before and after hours":      {[]string{"06:00", "20:00"}, 14 * time.Hour, time.Hour},
	} {
		t.Run(name, func(t *testing.T) {
			h := open(t)
			h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
			for i, s := range c.spells {
				if i%2 == 0 {
					h.arrive(t, h.posy, at(monday, s))
				} else {
					h.leave(t, h.posy, at(monday, s))
				}
			}
			got := h.attended(t, h.posy, monday)
			if got.In != c.in || got.Break != c.paused || got.Attended != c.in-c.paused || got.Open {
				t.Errorf("in %v, break %v, attended %v; want %v and %v", got.In, got.Break, got.Attended, c.in, c.paused)
			}
		})
	}
}

func TestWhoIsBackFromTheBreakTheySignedOutForIsNotChargedItTwice(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.leave(t, h.posy, at(monday, "14:00"))
	if got := h.attended(t, h.posy, monday); got.Attended != 4*time.Hour+30*time.Minute {
		t.Errorf("gone home at two: %+v", got)
	}
	h.arrive(t, h.posy, at(monday, "15:00"))
	h.now = at(monday, "16:00")
	if got := h.attended(t, h.posy, monday); got.Attended != 6*time.Hour+30*time.Minute {
		t.Errorf("back at three: %+v", got)
	}
}

func TestWithoutAShiftThatDayThereIsNoBreak(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.leave(t, h.posy, at(monday, "17:30"))
	if got := h.attended(t, h.posy, monday); got.Attended != 9*time.Hour {
		t.Errorf("%v", got.Attended)
	}
}

func TestALaterPlanDoesNotChangeTheBreakThatWas(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.leave(t, h.posy, at(monday, "17:30"))
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", 0))})
	if got := h.attended(t, h.posy, monday); got.Attended != 8*time.Hour {
		t.Errorf("%v", got.Attended)
	}
}

func TestWhoIsInCountsUpToNow(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
	h.arrive(t, h.posy, at(monday, "08:30"))
	for now, want := range map[string]time.Duration{"08:30": 0, "12:30": 4 * time.Hour, "15:30": 6 * time.Hour} {
		h.now = at(monday, now)
		if got := h.attended(t, h.posy, monday); got.Attended != want || want > 0 && !got.Open {
			t.Errorf("at %s: %+v, want %v", now, got, want)
		}
	}
	in, err := roster.Open(t.Context(), h.db.Pool)
	if h.ok(t, err); len(in) != 1 || in[0].Name != "Posy Thackeray" || !in[0].Open() {
		t.Errorf("%+v", in)
	}
}

// On 29 March the clocks skip from 01:00 to 02:00, on 25 October 01:00 to
// 02:00 comes twice: the garage's days last 23 and 25 hours.
func TestADayIsTheGaragesDayWhenTheClocksChange(t *testing.T) {
	for d, want := range map[workday.Day]time.Duration{forward: 23 * time.Hour, back: 25 * time.Hour, monday: 24 * time.Hour} {
		h := open(t)
		loc, _ := workday.Zone(garageZone)
		start, end := workday.Bounds(d, loc)
		h.arrive(t, h.posy, start.Add(-2*time.Hour))
		h.leave(t, h.posy, start.Add(3*time.Hour)) // over the change
		h.arrive(t, h.posy, start.Add(3*time.Hour))
		h.now = end.Add(time.Hour)
		_, err := h.Correct(t.Context(), h.owner, correction(t, h, h.posy, start.Add(3*time.Hour), end.Add(time.Hour), 0))
		h.ok(t, err)
		if got := h.attended(t, h.posy, d); got.In != want || len(got.Spells) != 2 {
			t.Errorf("%s: %v, want %v", d, got.In, want)
		}
		if got := h.attended(t, h.posy, d.AddDays(-1)); got.In != 2*time.Hour {
			t.Errorf("the day before %s: %v", d, got.In)
		}
		if got := h.attended(t, h.posy, d.AddDays(1)); got.In != time.Hour {
			t.Errorf("the day after %s: %v", d, got.In)
		}
	}
}

// correction is one of somebody's open attendance.
func correction(t *testing.T, h *house, who actor.Actor, from, to time.Time, pause time.Duration) roster.CorrectionInput {
	t.Helper()
	in, err := roster.Open(t.Context(), h.db.Pool)
	h.ok(t, err)
	for _, a := range in {
		if a.StaffID == who.StaffID {
			return roster.CorrectionInput{ID: a.ID, Version: a.Version(), From: from, To: to, Break: pause, Reason: "forgot"}
		}
	}
	t.Fatal("not in")
	return roster.CorrectionInput{}
}

func TestArrivingTwiceIsArrivingOnce(t *testing.T) {
	h := open(t)
	first := h.arrive(t, h.posy, at(monday, "08:30"))
	var wg sync.WaitGroup
	for range 10 {
		wg.Go(func() {
			a, err := h.Arrive(context.Background(), h.bram)
			if err != nil || a.ID == 0 || a.ID == first.ID {
				t.Errorf("%+v, %v", a, err)
			}
		})
	}
	wg.Wait()
	if again := h.arrive(t, h.posy, at(monday, "09:00")); again.ID != first.ID || !again.From.Equal(first.From) {
		t.Errorf("%+v, then %+v", first, again)
	}
	var rows, events int
	h.scan(t, &rows, `select count(*) from attendance`)
	h.scan(t, &events, `select count(*) from event where kind = 'came in'`)
	if rows != 2 || events != 2 {
		t.Errorf("%d rows, %d events", rows, events)
	}
}

func TestComingAndGoingAtTheSameMomentKeepsTheBooksInOrder(t *testing.T) {
	h := open(t)
	for range 3 {
		h.arrive(t, h.posy, at(monday, "08:30"))
		h.leave(t, h.posy, at(monday, "08:30"))
	}
	// The clock is set back.
	h.arrive(t, h.posy, at(monday, "07:30"))
	h.leave(t, h.posy, at(monday, "07:30"))
	if got := h.attended(t, h.posy, monday); got.In > time.Second {
		t.Errorf("%v", got.In)
	}
}

func TestWhoIsNotInOrStillClockedOnCannotLeave(t *testing.T) {
	h := open(t)
	_, err := h.Leave(t.Context(), h.posy)
	kind(t, err, apperr.Conflict)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.clocked(t, h.posy, at(monday, "08:40"), time.Time{})
	h.now = at(monday, "17:30")
	_, err = h.Leave(t.Context(), h.posy)
	kind(t, err, apperr.Conflict)
}

func TestTheConsoleHasNoShift(t *testing.T) {
	h := open(t)
	_, err := h.Arrive(t.Context(), actor.Command("somebody"))
	kind(t, err, apperr.Forbidden)
	_, err = h.Leave(t.Context(), actor.Actor{})
	kind(t, err, apperr.Unsigned)
}

func TestClockingOnMakesSomebodyPresentInTheSameTransaction(t *testing.T) {
	h := open(t)
	h.now = at(monday, "08:40")
	opened, err := change.Do(t.Context(), h.db, h.posy, "clock on", nil, func(ctx context.Context, tx *change.Tx) (bool, error) {
		_, opened, err := roster.EnsurePresent(ctx, tx, h.posy.StaffID)
		return opened, err
	})
	if h.ok(t, err); !opened {
		t.Error("was not opened")
	}
	opened, err = change.Do(t.Context(), h.db, h.posy, "clock on", nil, func(ctx context.Context, tx *change.Tx) (bool, error) {
		_, opened, err := roster.EnsurePresent(ctx, tx, h.posy.StaffID)
		return opened, err
	})
	if h.ok(t, err); opened {
		t.Error("was opened twice")
	}
	_, err = change.Do(t.Context(), h.db, h.posy, "clock on", nil, func(ctx context.Context, tx *change.Tx) (bool, error) {
		_, opened, err := roster.EnsurePresent(ctx, tx, 999)
		return opened, err
	})
	kind(t, err, apperr.NotFound)
}
