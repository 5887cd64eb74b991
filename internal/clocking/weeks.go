package clocking

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/roster"
)

// weeks are the planned shifts of the staff, by person.
type weeks map[actor.StaffID]roster.Week

func readWeeks(ctx context.Context, q pg.Querier) (weeks, error) {
	all, _, err := roster.Shifts(ctx, q)
	if err != nil {
		return nil, err
	}
	w := make(weeks, len(all))
	for _, sw := range all {
		w[sw.StaffID] = sw.Week
	}
	return w, nil
}

// likelyEnd is LikelyEnd with the shift that somebody had on that day.
func (w weeks) likelyEnd(set garage.Settings, id actor.StaffID, from, now time.Time) time.Time {
	return LikelyEnd(set, w[id].On(set.Today(from)), from, now)
}
