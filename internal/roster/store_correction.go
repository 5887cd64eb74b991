package roster

import (
	"context"
	"fmt"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

func correct(ctx context.Context, tx *change.Tx, in CorrectionInput) (Attendance, error) {
	if in.ID == 0 {
		return addAttendance(ctx, tx, in)
	}
	was, err := ByID(ctx, tx, in.ID)
	if err != nil {
		return Attendance{}, err
	}
	if _, err := lock(ctx, tx, was.StaffID); err != nil {
		return Attendance{}, err
	}
	if was, err = ByID(ctx, tx, in.ID); err != nil { // as it stands under the lock
		return Attendance{}, err
	}
	if was.Version() != in.Version {
		return Attendance{}, apperr.Stale("attendance", was)
	}
	if err := coversClockings(ctx, tx, was, in); err != nil {
		return Attendance{}, err
	}
	if err := setTimes(ctx, tx, in.ID, in.From, in.To, in.Break, true); err != nil {
		return Attendance{}, err
	}
	is := was
	is.From, is.To, is.Break, is.Corrected = in.From, in.To, in.Break, true
	tx.Record("attendance corrected", 0, was.Name, map[string]any{
		"attendance": in.ID, "was": timesOf(was), "is": timesOf(is), "reason": in.Reason,
	})
	return is, nil
}

// coversClockings refuses times that leave work clocked during the attendance
// outside it.
func coversClockings(ctx context.Context, q pg.Querier, was Attendance, in CorrectionInput) error {
	until := was.To
	if was.Open() {
		until = in.To.Add(attendanceMax)
	}
	var first, last *time.Time
	err := q.QueryRow(ctx, `
		select min(lower(during)), max(upper(during)) from clocking
		where staff_id = $1 and not voided and not upper_inf(during) and during && tstzrange($2, $3)`,
		was.StaffID, was.From, until).Scan(&first, &last)
	if err != nil {
		return fmt.Errorf("clockings of an attendance: %w", err)
	}
	f := apperr.Fields{}
	if first != nil && first.Before(in.From) {
		f.Add("from", "work was clocked before that: correct the clocking first")
	}
	if last != nil && last.After(in.To) {
		f.Add("to", "work was clocked after that: correct the clocking first")
	}
	return f.Err()
}

func addAttendance(ctx context.Context, tx *change.Tx, in CorrectionInput) (Attendance, error) {
	name, err := lock(ctx, tx, in.StaffID)
	if err != nil {
		return Attendance{}, err
	}
	a := Attendance{StaffID: in.StaffID, Name: name, From: in.From, To: in.To, Break: in.Break, Corrected: true}
	err = tx.QueryRow(ctx, `
		insert into attendance (staff_id, during, break_minutes, corrected) values ($1, tstzrange($2, $3), $4, true)
		returning id`, in.StaffID, in.From, in.To, int(in.Break/time.Minute)).Scan(&a.ID)
	if err != nil {
		return Attendance{}, pg.Explain(err, "attendance", overlaps)
	}
	tx.Record("attendance added", 0, name, map[string]any{"attendance": a.ID, "is": timesOf(a), "reason": in.Reason})
	return a, nil
}

// times is an attendance in the record.
type times struct {
	From  time.Time  `json:"from"`
	To    *time.Time `json:"to,omitempty"`
	Break string     `json:"break,omitempty"`
}

func timesOf(a Attendance) times {
	t := times{From: a.From.UTC(), Break: minutesWords(a.Break)}
	if !a.Open() {
		to := a.To.UTC()
		t.To = &to
	}
	return t
}

func minutesWords(d time.Duration) string { return fmt.Sprintf("%d min", int(d/time.Minute)) }
