package change

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/pg"
)

// Read reads the record for whoever manages the garage; Forbidden to others.
func (db *DB) Read(ctx context.Context, who actor.Actor, f Filter) ([]Event, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return Events(ctx, db.Pool, f)
}

// Verdict is what verifying the record found.
type Verdict struct {
	// Events is how many hold, from the first on.
	Events int
	// BrokenAt is the id of the first that does not, 0 when all do.
	BrokenAt int64
	// Head is the newest event and Seal its digest: noted down, they show later
	// whether anything was cut off at the end.
	Head int64
	Seal []byte
}

// Holds tells whether nothing in the record was changed.
func (v Verdict) Holds() bool { return v.BrokenAt == 0 }

// Verify is the function of that name for whoever manages the garage.
func (db *DB) Verify(ctx context.Context, who actor.Actor) (v Verdict, err error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return v, err
	}
	return verdict(ctx, db.Pool)
}

func verdict(ctx context.Context, q pg.Querier) (v Verdict, err error) {
	if v.Head, v.Seal, err = Head(ctx, q); err != nil {
		return v, err
	}
	v.Events, v.BrokenAt, err = Verify(ctx, q)
	return v, err
}
