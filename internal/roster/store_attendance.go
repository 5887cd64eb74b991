package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

const attendanceSelect = `
	select a.id, a.staff_id, s.name, s.role, lower(a.during), upper(a.during), a.break_minutes, a.corrected
	from attendance a join staff s on s.id = a.staff_id `

func scanAttendance(row pgx.Row) (a Attendance, err error) {
	var to *time.Time
	var pause int
	err = row.Scan(&a.ID, &a.StaffID, &a.Name, &a.Role, &a.From, &to, &pause, &a.Corrected)
	if to != nil {
		a.To = *to
	}
	a.Break = time.Duration(pause) * time.Minute
	return a, err
}

func collectAttendance(rows pgx.Rows) ([]Attendance, error) {
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Attendance, error) { return scanAttendance(row) })
	if err != nil {
		return nil, fmt.Errorf("attendance: %w", err)
	}
	return out, nil
}

// ByID reads one attendance.
func ByID(ctx context.Context, q pg.Querier, id AttendanceID) (Attendance, error) {
	a, err := scanAttendance(q.QueryRow(ctx, attendanceSelect+`where a.id = $1`, id))
	return a, pg.Explain(err, "attendance", nil)
}

// Open lists who is in, by name.
func Open(ctx context.Context, q pg.Querier) ([]Attendance, error) {
	rows, err := q.Query(ctx, attendanceSelect+`where upper_inf(a.during) order by s.name limit $1`, staffMax)
	if err != nil {
		return nil, fmt.Errorf("attendance: %w", err)
	}
	return collectAttendance(rows)
}

// Between lists the attendances that touch the days from one to another, both
// included, the latest first, at most limit.
func Between(ctx context.Context, q pg.Querier, set garage.Settings, from, to workday.Day, limit int) (out []Attendance, err error) {
	var b pgx.Batch
	betweenLater(&b, set, from, to, limit, &out)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("attendance: %w", err)
	}
	return out, nil
}

func betweenLater(b *pgx.Batch, set garage.Settings, from, to workday.Day, limit int, into *[]Attendance) {
	start, _ := workday.Bounds(from, set.Location())
	_, end := workday.Bounds(to, set.Location())
	b.Queue(attendanceSelect+`
		where a.during && tstzrange($1, $2) order by lower(a.during) desc, s.name limit $3`, start, end, max(0, limit)).Query(func(rows pgx.Rows) (err error) {
		*into, err = collectAttendance(rows)
		return err
	})
}

// lock holds one of the staff's attendance to the end of the transaction:
// whoever changes it waits here. It gives their name.
func lock(ctx context.Context, tx *change.Tx, id actor.StaffID) (name string, err error) {
	err = tx.QueryRow(ctx, `select name from staff where id = $1 for no key update`, id).Scan(&name)
	return name, pg.Explain(err, "person on the staff", nil)
}

// EnsurePresent opens an attendance for somebody who has none open, and gives
// the open one. One left open on an earlier day is ended first where it most
// likely did, which is put on record. opened says that they arrived by this.
func EnsurePresent(ctx context.Context, tx *change.Tx, id actor.StaffID) (a Attendance, opened bool, err error) {
	name, err := lock(ctx, tx, id)
	if err != nil {
		return a, false, err
	}
	open, err := openOf(ctx, tx, id)
	if err != nil {
		return a, false, err
	}
	if open != nil {
		set, err := garage.Load(ctx, tx)
		if err != nil {
			return a, false, err
		}
		if !set.Today(open.From).Before(set.Today(tx.At)) {
			return *open, false, nil
		}
		if err := endForgotten(ctx, tx, set, *open); err != nil {
			return a, false, err
		}
	}
	// Never before the last one ended, should the clock have been set back.
	err = tx.QueryRow(ctx, `
		insert into attendance (staff_id, during)
		select $1::bigint, tstzrange(greatest($2::timestamptz, (select max(upper(during)) from attendance where staff_id = $1::bigint)), null)
		returning id, lower(during)`, id, tx.At).Scan(&a.ID, &a.From)
	if err != nil {
		return a, false, fmt.Errorf("open an attendance: %w", err)
	}
	a.StaffID, a.Name = id, name
	tx.Record("came in", 0, name, nil)
	return a, true, nil
}

func openOf(ctx context.Context, q pg.Querier, id actor.StaffID) (*Attendance, error) {
	rows, err := q.Query(ctx, attendanceSelect+`where a.staff_id = $1 and upper_inf(a.during)`, id)
	if err != nil {
		return nil, fmt.Errorf("open attendance: %w", err)
	}
	all, err := collectAttendance(rows)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return &all[0], nil
}

// endForgotten ends an attendance of an earlier day where it most likely did.
func endForgotten(ctx context.Context, tx *change.Tx, set garage.Settings, a Attendance) error {
	f, err := factsOf(ctx, tx, set, a)
	if err != nil {
		return err
	}
	end := likelyEnd(a, shiftEnd(set, f.shift, set.Today(a.From)), f.clocked, tx.At)
	was := a
	a.To, a.Corrected = end, true
	if a.Break, err = settleBreaks(ctx, tx, set, f.shift, a); err != nil {
		return err
	}
	if err := setTimes(ctx, tx, a.ID, a.From, a.To, a.Break, true); err != nil {
		return err
	}
	tx.Record("attendance ended afterwards", 0, a.Name, map[string]any{
		"attendance": a.ID, "was": timesOf(was), "is": timesOf(a),
		"reason": "nobody had signed them out; ended where the shift did",
	})
	return nil
}

func setTimes(ctx context.Context, tx *change.Tx, id AttendanceID, from, to time.Time, pause time.Duration, corrected bool) error {
	_, err := tx.Exec(ctx, `
		update attendance set during = tstzrange($2, $3), break_minutes = $4, corrected = $5 where id = $1`,
		id, from, to, int(pause/time.Minute), corrected)
	return pg.Explain(err, "attendance", overlaps)
}

var overlaps = map[string]*apperr.Error{
	"attendance_one_at_a_time": apperr.Field("from", "they were in at that time already, by another entry"),
}

// nightMax is how long after coming in, on the day before, somebody may still
// simply be leaving.
const nightMax = 16 * time.Hour

// Leave ends somebody's open attendance now; NotFound when they are not in.
// Their clocking must have ended.
func Leave(ctx context.Context, tx *change.Tx, id actor.StaffID) (Attendance, error) {
	name, err := lock(ctx, tx, id)
	if err != nil {
		return Attendance{}, err
	}
	a, err := openOf(ctx, tx, id)
	if err != nil {
		return Attendance{}, err
	}
	if a == nil {
		return Attendance{}, apperr.New(apperr.Conflict, "%s is not signed in to work", name)
	}
	set, err := garage.Load(ctx, tx)
	if err != nil {
		return Attendance{}, err
	}
	if set.Today(a.From).Before(set.Today(tx.At)) && tx.At.Sub(a.From) > nightMax {
		return Attendance{}, apperr.New(apperr.Conflict,
			"%s was not signed out on %s: put that day right first", name, set.Today(a.From).Short())
	}
	if err := notClockedOn(ctx, tx, id); err != nil {
		return Attendance{}, err
	}
	f, err := factsOf(ctx, tx, set, *a)
	if err != nil {
		return Attendance{}, err
	}
	a.To = tx.At
	if !a.To.After(a.From) { // within the same microsecond
		a.To = a.From.Add(time.Microsecond)
	}
	if a.Break, err = settleBreaks(ctx, tx, set, f.shift, *a); err != nil {
		return Attendance{}, err
	}
	if err := setTimes(ctx, tx, a.ID, a.From, a.To, a.Break, false); err != nil {
		return Attendance{}, err
	}
	tx.Record("went home", 0, name, map[string]any{"attendance": a.ID, "break": minutesWords(a.Break)})
	return *a, nil
}

func notClockedOn(ctx context.Context, q pg.Querier, id actor.StaffID) error {
	var on bool
	err := q.QueryRow(ctx, `
		select exists (select 1 from clocking where staff_id = $1 and upper_inf(during) and not voided)`, id).Scan(&on)
	if err != nil {
		return fmt.Errorf("open clocking: %w", err)
	}
	if on {
		return apperr.New(apperr.Conflict, "still clocked on to a line: clock off it first")
	}
	return nil
}
