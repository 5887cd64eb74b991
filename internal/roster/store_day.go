package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// dayFacts are what one attendance is judged by: the shift planned on the day
// it began, and when the last clocking ended that began during it.
type dayFacts struct {
	shift   *workday.Shift
	clocked time.Time
}

func (f *dayFacts) later(b *pgx.Batch, set garage.Settings, a Attendance) {
	b.Queue(`
		select extract(epoch from starts)::int / 60, extract(epoch from ends)::int / 60, break_minutes
		from shift_pattern where staff_id = $1 and weekday = $2`,
		a.StaffID, place(set.Today(a.From).Weekday())+1).Query(func(rows pgx.Rows) error {
		var starts, ends, pause int
		_, err := pgx.ForEachRow(rows, []any{&starts, &ends, &pause}, func() error {
			f.shift = &workday.Shift{Start: workday.Clock(starts), End: workday.Clock(ends), Break: time.Duration(pause) * time.Minute}
			return nil
		})
		return err
	})
	b.Queue(`
		select coalesce(max(upper(during)), $2) from clocking
		where staff_id = $1 and not voided and lower(during) >= $2 and not upper_inf(during)
		and lower(during) < $2::timestamptz + interval '1 day'`,
		a.StaffID, a.From).QueryRow(func(row pgx.Row) error { return row.Scan(&f.clocked) })
}

func factsOf(ctx context.Context, q pg.Querier, set garage.Settings, a Attendance) (f dayFacts, err error) {
	var b pgx.Batch
	f.later(&b, set, a)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return f, fmt.Errorf("the day of an attendance: %w", err)
	}
	return f, nil
}

func shiftEnd(set garage.Settings, shift *workday.Shift, d workday.Day) time.Time {
	if shift != nil {
		return workday.At(d, shift.End, set.Location())
	}
	return set.ClosesAt(d)
}

// settleBreaks gives the break to take off a, which has just got its end, and
// sets those of the other attendances of the day anew: what is due for the
// day as a whole is spread over them in order. What somebody put in by hand
// stands, and counts.
func settleBreaks(ctx context.Context, tx *change.Tx, set garage.Settings, shift *workday.Shift, a Attendance) (time.Duration, error) {
	day := set.Today(a.From)
	start, end := workday.Bounds(day, set.Location())
	rows, err := tx.Query(ctx, attendanceSelect+`
		where a.staff_id = $1 and lower(a.during) >= $2 and lower(a.during) < $3 and a.id <> $4 and not upper_inf(a.during)
		order by a.during limit 100`, a.StaffID, start, end, a.ID)
	if err != nil {
		return 0, fmt.Errorf("the day's attendance: %w", err)
	}
	others, err := collectAttendance(rows)
	if err != nil {
		return 0, err
	}
	a.Corrected = false // its break is for us to say
	pauses := spreadBreak(shift, day, set.Location(), append(others, a))
	for i, o := range others {
		if pauses[i] == o.Break {
			continue
		}
		if err := setTimes(ctx, tx, o.ID, o.From, o.To, pauses[i], o.Corrected); err != nil {
			return 0, err
		}
	}
	return pauses[len(others)], nil
}
