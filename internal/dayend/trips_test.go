package dayend_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"rampside/internal/dayend"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/pg"
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

// All that Service.Day reads.
func TestADayIsReadInTwoRoundTrips(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service))
	r.Agree(s.ID)
	r.work(r.Posy, s.Lines[0], 9, 0, 30)
	q := &counting{Querier: r.DB.Pool}
	snap, d, err := dayend.ReadWhole(t.Context(), q, workday.Day{}, r.Clock)
	r.OK(err)
	if q.trips != 2 || d != r.Garage.Day || len(snap.Cards) != 1 || len(snap.Work) != 1 || len(snap.Attended) != 1 {
		t.Errorf("%d round trips for %s: %d cards, %d clockings, %d in", q.trips, d, len(snap.Cards), len(snap.Work), len(snap.Attended))
	}
}
