package roster

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// AttendedLater puts reading into a batch how long each of those who were in on
// a day was in, by name, as seen at now; the function gives it when the batch
// has run. An attendance that goes on counts up to now; one left open from an
// earlier day up to when it most likely ended. A break counts on the day its
// attendance began.
func AttendedLater(b *pgx.Batch, set garage.Settings, d workday.Day, now time.Time) func() []DayAttendance {
	var l dayLoad
	l.later(b, d)
	return func() []DayAttendance { return l.attended(set, d, now) }
}

// dayLoad is what the attendance of one day is reckoned from.
type dayLoad struct {
	all     []Attendance
	shifts  map[actor.StaffID]*workday.Shift
	clocked map[actor.StaffID]time.Time
}

func (l *dayLoad) later(b *pgx.Batch, d workday.Day) {
	// Every zone's day lies within this: it is narrowed down once the
	// garage's own zone has come with the same round trip.
	const margin = 26 * time.Hour
	l.shifts, l.clocked = map[actor.StaffID]*workday.Shift{}, map[actor.StaffID]time.Time{}
	b.Queue(attendanceSelect+`where a.during && tstzrange($1, $2) order by s.name, a.staff_id, a.during limit $3`,
		d.UTC().Add(-margin), d.AddDays(1).UTC().Add(margin), 10*staffMax).Query(func(rows pgx.Rows) (err error) {
		l.all, err = collectAttendance(rows)
		return err
	})
	b.Queue(`
		select staff_id, extract(epoch from starts)::int / 60, extract(epoch from ends)::int / 60, break_minutes
		from shift_pattern where weekday = $1`, place(d.Weekday())+1).Query(func(rows pgx.Rows) error {
		var id actor.StaffID
		var starts, ends, pause int
		_, err := pgx.ForEachRow(rows, []any{&id, &starts, &ends, &pause}, func() error {
			l.shifts[id] = &workday.Shift{Start: workday.Clock(starts), End: workday.Clock(ends), Break: time.Duration(pause) * time.Minute}
			return nil
		})
		return err
	})
	b.Queue(`
		select a.staff_id, max(upper(c.during)) from attendance a
		join clocking c on c.staff_id = a.staff_id and not c.voided and not upper_inf(c.during)
			and lower(c.during) >= lower(a.during) and lower(c.during) < lower(a.during) + interval '1 day'
		where upper_inf(a.during) group by a.staff_id`).Query(func(rows pgx.Rows) error {
		var id actor.StaffID
		var at time.Time
		_, err := pgx.ForEachRow(rows, []any{&id, &at}, func() error { l.clocked[id] = at; return nil })
		return err
	})
}

// attended sums up attendances, which are in order for each of the staff.
func (l *dayLoad) attended(set garage.Settings, d workday.Day, now time.Time) []DayAttendance {
	loc := set.Location()
	day := workday.BoundsSpan(d, loc)
	by, fixed := map[actor.StaffID]*DayAttendance{}, map[actor.StaffID]time.Duration{}
	var out []*DayAttendance
	for _, a := range l.all {
		end, forgotten := a.To, false
		if a.Open() {
			end = now
			forgotten = overdue(set, a, now)
			if began := set.Today(a.From); began.Before(set.Today(now)) {
				end = likelyEnd(a, shiftEnd(set, onDay(l.shifts, a, d, began), began), l.clocked[a.StaffID], now)
			}
		}
		spell := workday.Span{From: a.From, To: end}.Overlap(day)
		if spell.Empty() {
			continue
		}
		t := by[a.StaffID]
		if t == nil {
			t = &DayAttendance{StaffID: a.StaffID, Name: a.Name, Role: a.Role}
			by[a.StaffID], out = t, append(out, t)
		}
		t.Spells = append(t.Spells, spell)
		t.In += spell.Elapsed()
		t.Open, t.Forgotten = t.Open || a.Open(), t.Forgotten || forgotten
		if !day.Contains(a.From) {
			continue
		}
		t.Break += a.Break
		if a.Corrected {
			fixed[a.StaffID] += a.Break
		}
		if a.Open() { // the break is not spread before it ends
			t.Break = max(fixed[a.StaffID], dayBreak(l.shifts[a.StaffID], d, loc, t.Spells))
		}
	}
	list := make([]DayAttendance, 0, len(out))
	for _, t := range out {
		t.Break = min(t.Break, t.In)
		t.Attended = t.In - t.Break
		list = append(list, *t)
	}
	slices.SortStableFunc(list, func(a, b DayAttendance) int { return cmp.Compare(a.Name, b.Name) })
	return list
}

// onDay is the shift to judge an attendance's end by; only those of d were
// read, and one that began on another day ends with the garage's.
func onDay(shifts map[actor.StaffID]*workday.Shift, a Attendance, d, began workday.Day) *workday.Shift {
	if began != d {
		return nil
	}
	return shifts[a.StaffID]
}

// overdue tells whether an open attendance has gone on past the closing of
// the garage: on an earlier day, or today when they had come in before.
func overdue(set garage.Settings, a Attendance, now time.Time) bool {
	today := set.Today(now)
	if set.Today(a.From).Before(today) {
		return true
	}
	closes := set.ClosesAt(today)
	return a.From.Before(closes) && now.After(closes)
}

// ForgottenAt lists the attendances still open past the garage's closing, as
// seen at now, with when each most likely ended.
func ForgottenAt(ctx context.Context, q pg.Querier, now time.Time) ([]Forgotten, error) {
	var (
		b    pgx.Batch
		set  garage.Settings
		open []Attendance
	)
	garage.LoadLater(&b, &set)
	openLater(&b, &open)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("forgotten attendance: %w", err)
	}
	return forgotten(ctx, q, set, open, now)
}

func openLater(b *pgx.Batch, into *[]Attendance) {
	b.Queue(attendanceSelect+`where upper_inf(a.during) order by lower(a.during), s.name limit $1`, staffMax).Query(func(rows pgx.Rows) (err error) {
		*into, err = collectAttendance(rows)
		return err
	})
}

// forgotten picks the overdue of the open attendances, and asks when each most
// likely ended.
func forgotten(ctx context.Context, q pg.Querier, set garage.Settings, open []Attendance, now time.Time) ([]Forgotten, error) {
	open = slices.DeleteFunc(open, func(a Attendance) bool { return !overdue(set, a, now) })
	if len(open) == 0 {
		return nil, nil
	}
	var b pgx.Batch
	facts := make([]dayFacts, len(open))
	for i, a := range open {
		facts[i].later(&b, set, a)
	}
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("forgotten attendance: %w", err)
	}
	out := make([]Forgotten, len(open))
	for i, a := range open {
		out[i] = Forgotten{a, likelyEnd(a, shiftEnd(set, facts[i].shift, set.Today(a.From)), facts[i].clocked, now)}
	}
	return out, nil
}
