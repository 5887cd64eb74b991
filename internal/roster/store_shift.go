package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Shifts reads the planned weeks of all active staff, and the version that an
// edit of them is made from.
func Shifts(ctx context.Context, q pg.Querier) ([]StaffWeek, int64, error) {
	rows, err := q.Query(ctx, weeksSQL, "")
	if err != nil {
		return nil, 0, fmt.Errorf("shifts: %w", err)
	}
	weeks, err := scanWeeks(rows)
	return weeks, versionOf(weeks), err
}

func shiftsLater(b *pgx.Batch, into *[]StaffWeek) {
	b.Queue(weeksSQL, "").Query(func(rows pgx.Rows) (err error) {
		*into, err = scanWeeks(rows)
		return err
	})
}

// weeksSQL reads one row for each shift, or one without a shift for somebody
// who has none.
const weeksSQL = `
	select s.id, s.name, s.role, coalesce(p.weekday, 0), coalesce(extract(epoch from p.starts)::int / 60, 0),
		coalesce(extract(epoch from p.ends)::int / 60, 0), coalesce(p.break_minutes, 0)
	from (select * from staff where active and ($1 = '' or role = $1) order by name limit 200) s
	left join shift_pattern p on p.staff_id = s.id
	order by s.name, s.id, p.weekday`

func scanWeeks(rows pgx.Rows) ([]StaffWeek, error) {
	var out []StaffWeek
	var w StaffWeek
	var weekday, starts, ends, pause int
	_, err := pgx.ForEachRow(rows, []any{&w.StaffID, &w.Name, &w.Role, &weekday, &starts, &ends, &pause}, func() error {
		if len(out) == 0 || out[len(out)-1].StaffID != w.StaffID {
			out = append(out, w)
		}
		if weekday > 0 {
			out[len(out)-1].Days[weekday-1] = &workday.Shift{
				Start: workday.Clock(starts), End: workday.Clock(ends), Break: time.Duration(pause) * time.Minute,
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("shifts: %w", err)
	}
	return out, nil
}

// writeShifts replaces the weeks given that differ from what stands.
func writeShifts(ctx context.Context, tx *change.Tx, in ShiftsInput) error {
	// Whoever edits shifts waits here for whoever else does.
	if _, err := tx.Exec(ctx, `select pg_advisory_xact_lock($1)`, int64(shiftsLock)); err != nil {
		return fmt.Errorf("lock the shifts: %w", err)
	}
	now, version, err := Shifts(ctx, tx)
	if err != nil {
		return err
	}
	if version != in.Version {
		return apperr.Stale("table of shifts", Roster{now, version})
	}
	old := map[actor.StaffID]StaffWeek{}
	for _, w := range now {
		old[w.StaffID] = w
	}
	for _, w := range in.Weeks {
		was, ok := old[w.StaffID]
		if !ok {
			return apperr.New(apperr.Invalid, "one of these people does not work here any more: open the page again")
		}
		if err := writeWeek(ctx, tx, was, w); err != nil {
			return err
		}
	}
	return nil
}

// shiftsLock is an advisory lock; the number has no meaning.
const shiftsLock = 7_263_517_003

func writeWeek(ctx context.Context, tx *change.Tx, was StaffWeek, w Week) error {
	changed := map[string]any{}
	var b pgx.Batch
	for i, is := range w.Days {
		before := was.Days[i]
		if shiftWords(before) == shiftWords(is) {
			continue
		}
		changed[Weekday(i).String()] = map[string]any{"was": shiftWords(before), "is": shiftWords(is)}
		if is == nil {
			b.Queue(`delete from shift_pattern where staff_id = $1 and weekday = $2`, w.StaffID, i+1)
			continue
		}
		b.Queue(`
			insert into shift_pattern (staff_id, weekday, starts, ends, break_minutes)
			values ($1, $2, time '00:00' + make_interval(mins => $3), time '00:00' + make_interval(mins => $4), $5)
			on conflict on constraint shift_pattern_pk do update
			set starts = excluded.starts, ends = excluded.ends, break_minutes = excluded.break_minutes`,
			w.StaffID, i+1, int(is.Start), int(is.End), int(is.Break/time.Minute))
	}
	if b.Len() == 0 {
		return nil
	}
	if err := tx.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("shifts: %w", err)
	}
	tx.Record("shifts changed", 0, was.Name, changed)
	return nil
}

func shiftWords(s *workday.Shift) string {
	if s == nil {
		return "off"
	}
	return fmt.Sprintf("%s to %s, breaks %d min", s.Start, s.End, int(s.Break/time.Minute))
}

func staffName(ctx context.Context, q pg.Querier, id actor.StaffID) (name string, err error) {
	err = q.QueryRow(ctx, `select name from staff where id = $1 and active`, id).Scan(&name)
	return name, pg.Explain(err, "person on the staff", nil)
}
