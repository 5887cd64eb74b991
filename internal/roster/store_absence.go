package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Absences lists the days away from a day on, soonest first, at most limit.
func Absences(ctx context.Context, q pg.Querier, from workday.Day, limit int) (out []Absence, err error) {
	var b pgx.Batch
	absencesLater(&b, from, limit, &out)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("absences: %w", err)
	}
	return out, nil
}

func absencesLater(b *pgx.Batch, from workday.Day, limit int, into *[]Absence) {
	b.Queue(`
		select a.staff_id, s.name, a.day, a.reason from absence a join staff s on s.id = a.staff_id
		where a.day >= $1 order by a.day, s.name limit $2`, from.UTC(), max(0, limit)).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (a Absence, err error) {
			var day time.Time
			err = row.Scan(&a.StaffID, &a.Name, &day, &a.Reason)
			a.Day = workday.FromDate(day)
			return a, err
		})
		return err
	})
}

// writeAbsence notes every day of the absence; a day noted before gets the new
// reason.
func writeAbsence(ctx context.Context, tx *change.Tx, in AbsenceInput) error {
	name, err := staffName(ctx, tx, in.StaffID)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `
		insert into absence (staff_id, day, reason)
		select $1::bigint, d::date, $4::text from generate_series($2::date, $3::date, interval '1 day') d
		on conflict on constraint absence_pk do update set reason = excluded.reason`,
		in.StaffID, in.From.UTC(), in.To.UTC(), in.Reason)
	if err != nil {
		return fmt.Errorf("absence: %w", err)
	}
	// Why somebody is away is theirs: it stays out of a record that only grows.
	tx.Record("absence noted", 0, name, map[string]any{"from": in.From, "to": in.To})
	return nil
}

func removeAbsence(ctx context.Context, tx *change.Tx, in AbsenceInput) error {
	name, err := staffName(ctx, tx, in.StaffID)
	if err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `delete from absence where staff_id = $1 and day between $2 and $3`, in.StaffID, in.From.UTC(), in.To.UTC())
	if err != nil {
		return fmt.Errorf("absence: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return apperr.NoSuch("absence")
	}
	tx.Record("absence taken back", 0, name, map[string]any{"from": in.From, "to": in.To, "days": tag.RowsAffected()})
	return nil
}
