package vehicle

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/customer"
	"rampside/internal/fact"
	"rampside/internal/pg"
)

// Record is everything about one car, for its page.
type Record struct {
	Vehicle
	Notes []string
	Hints []Hint
	Facts []Known
	// Unknown are the facts that nobody has noted, the easiest to read first.
	Unknown  []fact.Key
	Cautions []caution.Key
	// Keeper is who keeps it now, nil when nobody is known to. Those who may
	// not see people's telephones and addresses get the name alone.
	Keeper  *customer.Customer
	Keepers []Keeper
	Visits  []Visit
}

// Record reads everything about one car in one round trip. Errors: NotFound,
// Forbidden.
func (s *Service) Record(ctx context.Context, who actor.Actor, id ID) (*Record, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	r, err := readRecord(ctx, s.db.Pool, id)
	if err != nil {
		return nil, err
	}
	r.Hints = Hints(r.Vehicle, s.db.Now().Year())
	if r.Keeper != nil && !who.May(actor.ReadPeople) {
		r.Keeper = &customer.Customer{ID: r.Keeper.ID, Name: r.Keeper.Name}
	}
	return r, nil
}

func readRecord(ctx context.Context, q pg.Querier, id ID) (*Record, error) {
	r := &Record{}
	var b pgx.Batch
	b.Queue(`select `+columns+` from vehicle where id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		r.Vehicle, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Vehicle])
		return pg.Explain(err, "vehicle", nil)
	})
	b.Queue(factSelect+`where f.vehicle_id = $1 order by f.id limit $2`, id, factsMax).Query(func(rows pgx.Rows) error {
		all, err := pgx.CollectRows(rows, pgx.RowToStructByName[Fact])
		r.Facts = Weigh(all)
		return err
	})
	b.Queue(`
		select c.id, c.name, c.phone, c.email, c.address, c.note, c.created_at, c.version
		from keeper k join customer c on c.id = k.customer_id where k.vehicle_id = $1 and upper_inf(k.kept)`, id).
		Query(func(rows pgx.Rows) error {
			all, err := pgx.CollectRows(rows, pgx.RowToAddrOfStructByName[customer.Customer])
			if len(all) > 0 {
				r.Keeper = all[0]
			}
			return err
		})
	queueKeepers(&b, id, &r.Keepers)
	queueVisits(&b, id, visitsMax, &r.Visits)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		if apperr.KindOf(err) == apperr.Internal {
			return nil, fmt.Errorf("read vehicle %d: %w", id, err)
		}
		return nil, err
	}
	r.Cautions = Cautions(r.Facts)
	r.Notes = r.Vehicle.Notes()
	r.Unknown = Unknown(r.Facts, r.VIN)
	return r, nil
}

// LastMileage is the latest mileage on a card, and the day it was read; false
// when none was.
func (r *Record) LastMileage() (Visit, bool) {
	for _, v := range r.Visits {
		if v.Mileage != nil {
			return v, true
		}
	}
	return Visit{}, false
}

// LastVisit is the latest card that was not cancelled; false when there is
// none.
func (r *Record) LastVisit() (Visit, bool) {
	for _, v := range r.Visits {
		if v.Stage != "cancelled" {
			return v, true
		}
	}
	return Visit{}, false
}
