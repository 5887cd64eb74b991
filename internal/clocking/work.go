package clocking

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Work is one clocking as time that costs money. Voided ones are none.
type Work struct {
	ID       ID
	StaffID  actor.StaffID
	Name     string
	LineID   jobcard.LineID
	CardID   jobcard.CardID
	Span     workday.Span
	CostRate money.Minor // an hour, as it was when the clocking began
	// Open says that it goes on; Forgotten that it is thought to have ended,
	// Span then going to when it most likely did.
	Open, Forgotten bool
}

// Worked reads the work of one garage's day: every clocking as far as it falls
// on the day, by person and start.
func Worked(ctx context.Context, q pg.Querier, set garage.Settings, day workday.Day, now time.Time) ([]Work, error) {
	bounds := workday.BoundsSpan(day, set.Location())
	all, err := readWork(ctx, q, set, now, `k.during && tstzrange($2, $3)`, bounds.From, bounds.To)
	if err != nil {
		return nil, err
	}
	out := all[:0]
	for _, w := range all {
		if w.Span = w.Span.Overlap(bounds); !w.Span.Empty() {
			out = append(out, w)
		}
	}
	return out, nil
}

// WorkedOnCards reads all the work that was ever put into some cards, by
// person and start.
func WorkedOnCards(ctx context.Context, q pg.Querier, set garage.Settings, now time.Time, ids ...jobcard.CardID) ([]Work, error) {
	return readWork(ctx, q, set, now, `l.card_id = any($2)`, ids)
}

// WorkedOnCardsLater puts reading what WorkedOnCards gives into a batch; the
// function gives it when the batch has run.
func WorkedOnCardsLater(b *pgx.Batch, set garage.Settings, now time.Time, ids ...jobcard.CardID) func(context.Context, pg.Querier) ([]Work, error) {
	var out []Work
	b.Queue(workSelect(`l.card_id = any($2)`), workMax, ids).Query(func(rows pgx.Rows) (err error) {
		out, err = pgx.CollectRows(rows, scanWork)
		return err
	})
	return func(ctx context.Context, q pg.Querier) ([]Work, error) { return endLikely(ctx, q, set, now, out) }
}

// readWork reads work where a condition on clocking k and its line l holds.
// The condition is always a constant of this package.
func readWork(ctx context.Context, q pg.Querier, set garage.Settings, now time.Time, where string, args ...any) ([]Work, error) {
	rows, err := q.Query(ctx, workSelect(where), append([]any{workMax}, args...)...)
	if err != nil {
		return nil, fmt.Errorf("work: %w", err)
	}
	out, err := pgx.CollectRows(rows, scanWork)
	if err != nil {
		return nil, fmt.Errorf("work: %w", err)
	}
	return endLikely(ctx, q, set, now, out)
}

func workSelect(where string) string {
	return `
		select k.id, k.staff_id, s.name, k.line_id, l.card_id, lower(k.during), upper(k.during), k.cost_rate_minor
		from clocking k join line l on l.id = k.line_id join staff s on s.id = k.staff_id
		where not k.voided and ` + where + ` order by s.name, k.staff_id, lower(k.during) limit $1`
}

func scanWork(r pgx.CollectableRow) (w Work, err error) {
	var to *time.Time
	err = r.Scan(&w.ID, &w.StaffID, &w.Name, &w.LineID, &w.CardID, &w.Span.From, &to, &w.CostRate)
	w.Span.From, w.Span.To, w.Open = w.Span.From.UTC(), orZero(to), to == nil
	return w, err
}

// endLikely ends the work that goes on now, and what was forgotten when it
// most likely ended.
func endLikely(ctx context.Context, q pg.Querier, set garage.Settings, now time.Time, out []Work) ([]Work, error) {
	late := false
	for i, w := range out {
		if w.Open {
			out[i].Span.To, out[i].Forgotten = now, Forgot(set, w.Span.From, now)
			late = late || out[i].Forgotten
		}
	}
	if !late {
		return out, nil
	}
	weeks, err := readWeeks(ctx, q)
	if err != nil {
		return nil, err
	}
	for i, w := range out {
		if w.Forgotten {
			out[i].Span.To = weeks.likelyEnd(set, w.StaffID, w.Span.From, now)
		}
	}
	return out, nil
}

// workMax bounds what is read at once: a few months of one garage.
const workMax = 20_000
