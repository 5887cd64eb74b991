package garage

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
)

// Desk is what a car is booked in with: the garage's hours, from which a
// promise is made, and the operations to choose lines from.
type Desk struct {
	Settings
	Operations []Operation
}

// Desk reads the settings and the operations in use, in one round trip. Errors
// are those of Load, and Forbidden.
func (s *Service) Desk(ctx context.Context, who actor.Actor) (d Desk, err error) {
	if err := who.Need(actor.BookIn); err != nil {
		return d, err
	}
	var b pgx.Batch
	LoadLater(&b, &d.Settings)
	b.Queue(operationSelect+`where o.active order by o.name limit $1`, operationsMax).Query(func(rows pgx.Rows) (err error) {
		d.Operations, err = collect(rows, "operations", scanOperation)
		return err
	})
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return d, fmt.Errorf("what booking in needs: %w", err)
	}
	return d, nil
}
