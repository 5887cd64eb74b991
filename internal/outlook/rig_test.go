package outlook_test

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/outlook"
	"rampside/internal/roster"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// rig is the garage with an outlook, and two technicians who work from 08:30
// to 17:30 with half an hour's break.
type rig struct {
	*cardtest.Garage
	*testing.T
	outlook *outlook.Service
	clocks  *clocking.Service
	roster  *roster.Service
	cars    int
}

func open(t *testing.T) *rig {
	t.Helper()
	r := withoutHours(t)
	_, version, err := roster.Shifts(t.Context(), r.DB.Pool)
	r.OK(err)
	in := roster.ShiftsInput{Version: version}
	for _, who := range []actor.Actor{r.Posy, r.Bram} {
		w := roster.Week{StaffID: who.StaffID}
		for i := range 5 {
			w.Days[i] = &workday.Shift{Start: 8*60 + 30, End: 17*60 + 30, Break: 30 * time.Minute}
		}
		in.Weeks = append(in.Weeks, w)
	}
	r.OK(r.roster.SaveShifts(t.Context(), r.Owner, in))
	return r
}

func withoutHours(t *testing.T) *rig {
	t.Helper()
	g := cardtest.Open(t)
	return &rig{Garage: g, T: t, outlook: outlook.New(g.DB), clocks: clocking.New(g.DB), roster: roster.New(g.DB)}
}

var zone = func() *time.Location {
	loc, err := workday.Zone("Europe/London")
	if err != nil {
		panic(err)
	}
	return loc
}()

var marks = []string{"BD51 AAA", "BD51 AAB", "BD51 AAC", "BD51 AAD", "BD51 AAE", "BD51 AAF", "BD51 AAG", "BD51 AAH", "BD51 AAJ", "BD51 AAK"}

// car takes another car in for a day, promised by a time; hour 0 promises
// nothing.
func (r *rig) car(d workday.Day, here bool, hour, minute int, lines ...jobcard.NewLine) *jobcard.Sheet {
	r.Helper()
	v := jobcard.Visit{BookedFor: d, ArrivesAt: workday.At(d, 8*60+30, zone)}
	if hour != 0 {
		v.PromisedAt = workday.At(d, workday.Clock(hour*60+minute), zone)
	}
	done, err := r.Cards.Book(r.Context(), r.Desk, jobcard.Booking{
		NewVehicle: &vehicle.Input{Mark: marks[r.cars], Make: "Halden", Model: "Pike"}, CustomerID: r.Keeper, Here: here, Lines: lines, Visit: v,
	})
	r.OK(err)
	r.cars++
	r.Agree(done.CardID)
	return r.Sheet(done.CardID)
}

func (r *rig) refresh() bool {
	r.Helper()
	worked, err := r.outlook.Refresh(r.Context())
	r.OK(err)
	return worked
}

func (r *rig) today() outlook.Read {
	r.Helper()
	got, err := r.outlook.Today(r.Context(), r.Owner)
	r.OK(err)
	return got
}

func (r *rig) of(id jobcard.CardID) outlook.Car {
	r.Helper()
	c, ok := r.today().Of(id)
	if !ok {
		r.Fatalf("card %d is not in the outlook", id)
	}
	return c
}

func (r *rig) part(s *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	r.Helper()
	terms.LineID, terms.Qty = s.Lines[line].ID, 1000
	done, err := r.Cards.AddPart(r.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
	return done.PartID
}

func (r *rig) on(who actor.Actor, l jobcard.Line) {
	r.Helper()
	_, err := r.clocks.ClockOn(r.Context(), who, clocking.OnInput{LineID: l.ID, Read: l.Cautions})
	r.OK(err)
}

func (r *rig) tick(who actor.Actor, l jobcard.Line) {
	r.Helper()
	r.Fits(l.CardID) // or the gate stays closed
	_, err := r.clocks.Tick(r.Context(), who, clocking.LineInput{LineID: l.ID})
	r.OK(err)
}

func (r *rig) stage(id jobcard.CardID, to jobcard.Stage) {
	r.Helper()
	_, err := r.Cards.SetStage(r.Context(), r.Desk, jobcard.StageInput{CardID: id, Stage: to, Reason: "test"})
	r.OK(err)
}

type garageOperation = garage.OperationID

// start is what the rig's clock begins with.
var start = time.Date(2026, 10, 5, 8, 0, 0, 0, time.UTC)

func (r *rig) operation() garage.Operation {
	r.Helper()
	o, err := garage.OperationByID(r.Context(), r.DB.Pool, r.Service)
	r.OK(err)
	return o
}
