package roster_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg/pgtest"
	"rampside/internal/roster"
	"rampside/internal/workday"

	"github.com/jackc/pgx/v5"
)

// house is a garage that works every day from 08:30 to 17:30 in London, with
// an owner and two technicians, and a clock that tests set.
type house struct {
	*roster.Service
	db  *change.DB
	now time.Time

	owner, posy, bram actor.Actor
}

// garageZone is London, whose clocks went forward at 01:00 on 29 March 2026
// and go back at 02:00 on 25 October 2026 (the last Sundays of those months:
// Summer Time Order 2002, and the IANA time zone database).
const garageZone = "Europe/London"

var (
	monday  = workday.Must(2026, time.October, 5)
	forward = workday.Must(2026, time.March, 29)
	back    = workday.Must(2026, time.October, 25)
)

func open(t *testing.T) *house {
	t.Helper()
	h := &house{now: time.Date(2026, 10, 5, 7, 0, 0, 0, time.UTC)}
	h.db = &change.DB{Pool: pgtest.New(t), Now: func() time.Time { return h.now }}
	h.Service = roster.New(h.db)
	for _, p := range []struct {
		name string
		role actor.Role
		who  *actor.Actor
	}{{"Wren Calloway", actor.Owner, &h.owner}, {"Posy Thackeray", actor.Technician, &h.posy}, {"Bram Oakes", actor.Technician, &h.bram}} {
		*p.who = actor.Actor{Name: p.name, Role: p.role, Via: actor.ViaPage, Device: "test"}
		h.scan(t, &p.who.StaffID, `insert into staff (name, role, created_at) values ($1, $2, $3) returning id`, p.name, p.role, h.now)
	}
	week := []time.Weekday{1, 2, 3, 4, 5, 6, 0}
	_, err := garage.New(h.db).SaveSettings(t.Context(), h.owner, garage.Settings{
		Name: "Saltmarsh Lane Garage", ZoneName: garageZone, Currency: "GBP", Opens: clock("08:30"), Closes: clock("17:30"),
		WorkDays: week, VATRounding: money.PerDocument,
	})
	h.ok(t, err)
	return h
}

func clock(s string) workday.Clock {
	c, err := workday.ParseClock(s)
	if err != nil {
		panic(err)
	}
	return c
}

// at is a time of the garage's clock.
func at(d workday.Day, s string) time.Time {
	loc, err := workday.Zone(garageZone)
	if err != nil {
		panic(err)
	}
	return workday.At(d, clock(s), loc)
}

func shift(from, to string, pause time.Duration) *workday.Shift {
	return &workday.Shift{Start: clock(from), End: clock(to), Break: pause}
}

func everyDay(s *workday.Shift) (days [7]*workday.Shift) {
	for i := range days {
		days[i] = s
	}
	return days
}

func (h *house) ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (h *house) scan(t *testing.T, into any, sql string, args ...any) {
	t.Helper()
	h.ok(t, h.db.Pool.QueryRow(t.Context(), sql, args...).Scan(into))
}

func (h *house) plan(t *testing.T, weeks ...roster.Week) {
	t.Helper()
	_, version, err := roster.Shifts(t.Context(), h.db.Pool)
	h.ok(t, err)
	h.ok(t, h.SaveShifts(t.Context(), h.owner, roster.ShiftsInput{Version: version, Weeks: weeks}))
}

// arrive and leave move the clock and sign somebody in or out.
func (h *house) arrive(t *testing.T, who actor.Actor, when time.Time) roster.Attendance {
	t.Helper()
	h.now = when
	a, err := h.Arrive(t.Context(), who)
	h.ok(t, err)
	return a
}

func (h *house) leave(t *testing.T, who actor.Actor, when time.Time) roster.Attendance {
	t.Helper()
	h.now = when
	a, err := h.Leave(t.Context(), who)
	h.ok(t, err)
	return a
}

// attended gives somebody's day.
func (h *house) attended(t *testing.T, who actor.Actor, d workday.Day) roster.DayAttendance {
	t.Helper()
	set, err := garage.Load(t.Context(), h.db.Pool)
	h.ok(t, err)
	var b pgx.Batch
	all := roster.AttendedLater(&b, set, d, h.now)
	h.ok(t, h.db.Pool.SendBatch(t.Context(), &b).Close())
	for _, a := range all() {
		if a.StaffID == who.StaffID {
			return a
		}
	}
	return roster.DayAttendance{}
}

// clocked writes a clocking of somebody on a line of some card; to may be zero.
func (h *house) clocked(t *testing.T, who actor.Actor, from, to time.Time) {
	t.Helper()
	var customer, vehicle, card, labour, line int64
	name := fmt.Sprint(from.UnixMicro())
	h.scan(t, &customer, `insert into customer (name, created_at) values ('Ottoline Reave', $1) returning id`, from)
	h.scan(t, &vehicle, `insert into vehicle (mark, make, created_at) values ($1, 'Corvane', $2) returning id`, name, from)
	h.scan(t, &card, `insert into card (vehicle_id, customer_id, booked_for, created_at) values ($1, $2, $3, $4) returning id`, vehicle, customer, from, from)
	h.scan(t, &labour, `insert into labour_type (name, rate_minor) values ($1, 6000) returning id`, name)
	h.scan(t, &line, `
		insert into line (card_id, position, title, labour_type_id, rate_minor, low_minutes, likely_minutes, high_minutes, std_cost_rate_minor)
		values ($1, 1, 'Clutch', $2, 6000, 60, 60, 60, 1800) returning id`, card, labour)
	var end *time.Time
	if !to.IsZero() {
		end = &to
	}
	_, err := h.db.Pool.Exec(t.Context(), `
		insert into clocking (staff_id, line_id, during, cost_rate_minor) values ($1, $2, tstzrange($3, $4), 0)`, who.StaffID, line, from, end)
	h.ok(t, err)
}

// wants checks that err is Invalid with a message at the field.
func wants(t *testing.T, err error, field string) {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid || e.Fields[field] == "" {
		t.Errorf("%v: no message at %s", err, field)
	}
}

// kind checks the kind of err.
func kind(t *testing.T, err error, want apperr.Kind) {
	t.Helper()
	if !apperr.Is(err, want) {
		t.Errorf("%v: want kind %d", err, want)
	}
}

func garageSettings(t *testing.T, h *house) garage.Settings {
	t.Helper()
	set, err := garage.Load(t.Context(), h.db.Pool)
	h.ok(t, err)
	return set
}
