package dayend_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/pg"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// counting counts round trips.
type counting struct {
	pg.Querier
	trips int
}

func (c *counting) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	c.trips++
	return c.Querier.Query(ctx, sql, args...)
}

func (c *counting) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	c.trips++
	return c.Querier.QueryRow(ctx, sql, args...)
}

func (c *counting) SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults {
	c.trips++
	return c.Querier.SendBatch(ctx, b)
}

// The three that Service.Day makes: cards, the work on them, who was in.
func TestADayIsReadInThreeRoundTrips(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service))
	r.work(r.Posy, s.Lines[0], 9, 0, 30)
	q := &counting{Querier: r.DB.Pool}
	snap, d, err := dayend.ReadDay(t.Context(), q, workday.Day{}, r.Clock)
	r.OK(err)
	work, err := clocking.WorkedOnCards(t.Context(), q, snap.Garage, r.Clock, s.ID)
	r.OK(err)
	in, err := roster.Attended(t.Context(), q, d, r.Clock)
	r.OK(err)
	if q.trips != 3 || d != r.Garage.Day || len(snap.Cards) != 1 || len(work) != 1 || len(in) != 1 {
		t.Errorf("%d round trips for %s: %d cards, %d clockings, %d in", q.trips, d, len(snap.Cards), len(work), len(in))
	}
}
