package diary_test

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/diary"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// rig is the garage with a diary, and technicians who work from 08:30 to
// 17:00 with half an hour's break.
type rig struct {
	*cardtest.Garage
	*testing.T
	diary  *diary.Service
	clocks *clocking.Service
	roster *roster.Service
}

func open(t *testing.T) *rig {
	t.Helper()
	g := cardtest.Open(t)
	r := &rig{Garage: g, T: t, diary: diary.New(g.DB), clocks: clocking.New(g.DB), roster: roster.New(g.DB)}
	_, version, err := roster.Shifts(t.Context(), g.DB.Pool)
	g.OK(err)
	shift := &workday.Shift{Start: 8*60 + 30, End: 17 * 60, Break: 30 * time.Minute}
	in := roster.ShiftsInput{Version: version}
	for _, who := range []actor.Actor{g.Posy, g.Bram} {
		w := roster.Week{StaffID: who.StaffID}
		for i := range 7 {
			w.Days[i] = shift
		}
		in.Weeks = append(in.Weeks, w)
	}
	g.OK(r.roster.SaveShifts(t.Context(), g.Owner, in))
	return r
}

// at sets the clock by the garage's own, on the rig's day.
func (r *rig) at(clock workday.Clock) { r.Clock = workday.At(r.Garage.Day, clock, zone) }

var zone = func() *time.Location {
	loc, err := workday.Zone("Europe/London")
	if err != nil {
		panic(err)
	}
	return loc
}()

func (r *rig) day(who actor.Actor, d workday.Day) diary.Day {
	r.Helper()
	got, err := r.diary.Day(r.Context(), who, d)
	r.OK(err)
	if len(got.Days) != 1 {
		r.Fatalf("%d days in the diary of one", len(got.Days))
	}
	return got.Days[0]
}

func (r *rig) today() diary.Day { r.Helper(); return r.day(r.Desk, workday.Day{}) }

// booked books the car for a day without bringing it.
func (r *rig) booked(d workday.Day, comes, promise workday.Clock, lines ...jobcard.NewLine) *jobcard.Sheet {
	r.Helper()
	v := jobcard.Visit{BookedFor: d}
	if comes != 0 {
		v.ArrivesAt = workday.At(d, comes, zone)
	}
	if promise != 0 {
		v.PromisedAt = workday.At(d, promise, zone)
	}
	done, err := r.Cards.Book(r.Context(), r.Desk, jobcard.Booking{VehicleID: r.Car, Lines: lines, Visit: v})
	r.OK(err)
	return r.Sheet(done.CardID)
}

func (r *rig) stage(id jobcard.CardID, s jobcard.Stage) {
	r.Helper()
	_, err := r.Cards.SetStage(r.Context(), r.Desk, jobcard.StageInput{CardID: id, Stage: s, Reason: "test"})
	r.OK(err)
}

func (r *rig) part(s *jobcard.Sheet, line int, terms jobcard.PartTerms) {
	r.Helper()
	terms.LineID, terms.Qty = s.Lines[line].ID, 1000
	_, err := r.Cards.AddPart(r.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
}

// work has somebody clocked on to a line from one time to another.
func (r *rig) work(who actor.Actor, l jobcard.Line, from, to workday.Clock) {
	r.Helper()
	r.at(from)
	_, err := r.clocks.ClockOn(r.Context(), who, clocking.OnInput{LineID: l.ID, Read: l.Cautions})
	r.OK(err)
	if to != 0 {
		r.at(to)
		_, err = r.clocks.ClockOff(r.Context(), who, clocking.OffInput{})
		r.OK(err)
	}
}

func (r *rig) tick(who actor.Actor, l jobcard.Line) {
	r.Helper()
	r.Fits(l.CardID) // or the gate stays closed
	_, err := r.clocks.Tick(r.Context(), who, clocking.LineInput{LineID: l.ID})
	r.OK(err)
}

// find gives a card's booking on a day, from whichever list.
func (r *rig) find(d diary.Day, id jobcard.CardID) diary.Booking {
	r.Helper()
	for _, list := range [][]diary.Booking{d.Bookings, d.Over, d.Missed} {
		for _, b := range list {
			if b.Card == id {
				return b
			}
		}
	}
	r.Fatalf("card %d is not in the diary of %s", id, d.Day)
	return diary.Booking{}
}

func clock(h, m int) workday.Clock { return workday.Clock(h*60 + m) }
