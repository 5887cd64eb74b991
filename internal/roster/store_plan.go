package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// planDays is the longest stretch that one plan covers.
const planDays = 400

// ReadPlan reads the hours planned from one day to another, both included, in
// one round trip. More than 400 days are Invalid.
func ReadPlan(ctx context.Context, q pg.Querier, from, to workday.Day) (Plan, error) {
	var p Plan
	var b pgx.Batch
	if err := PlanLater(&b, from, to, &p); err != nil {
		return p, err
	}
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return p, fmt.Errorf("plan: %w", err)
	}
	return p, nil
}

// PlanLater puts reading a plan into a batch; into is filled when the batch
// has run. More than 400 days are Invalid.
func PlanLater(b *pgx.Batch, from, to workday.Day, into *Plan) error {
	if from.IsZero() || to.Before(from) || from.DaysUntil(to) >= planDays {
		return apperr.New(apperr.Invalid, "at most %d days at once", planDays)
	}
	*into = Plan{From: from, To: to, away: map[absentOn]bool{}}
	garage.LoadLater(b, &into.Garage)
	b.Queue(weeksSQL, string(actor.Technician)).Query(func(rows pgx.Rows) (err error) {
		into.Technicians, err = scanWeeks(rows)
		return err
	})
	b.Queue(`select staff_id, day from absence where day between $1 and $2`, from.UTC(), to.UTC()).Query(func(rows pgx.Rows) error {
		var id actor.StaffID
		var day time.Time
		_, err := pgx.ForEachRow(rows, []any{&id, &day}, func() error {
			into.away[absentOn{id, workday.FromDate(day)}] = true
			return nil
		})
		return err
	})
	return nil
}

// Available is the technicians' hours there are on each day from one to
// another, both included: shifts less breaks, on days the garage works, of
// those who are not away.
func Available(ctx context.Context, q pg.Querier, from, to workday.Day) (map[workday.Day]time.Duration, error) {
	p, err := ReadPlan(ctx, q, from, to)
	if err != nil {
		return nil, err
	}
	return p.ByDay(), nil
}
