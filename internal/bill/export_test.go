package bill

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/change"
)

// Insert writes a bill of a sum that no card needs to have, for tests of what
// the tables keep.
func Insert(ctx context.Context, db *change.DB, who actor.Actor, d Document) (ID, error) {
	return change.Do(ctx, db, who, "insert", d.Issued, func(ctx context.Context, tx *change.Tx) (ID, error) {
		err := insert(ctx, tx, &d, Bills)
		return d.ID, err
	})
}
