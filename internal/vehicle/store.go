package vehicle

import (
	"context"
	"fmt"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const columns = `id, coalesce(mark, '') as mark, mark_shown, coalesce(vin, '') as vin, make, model, colour, created_at, version`

// Get reads one car; NotFound when there is no such one.
func Get(ctx context.Context, q pg.Querier, id ID) (Vehicle, error) {
	return pg.One[Vehicle](ctx, q, "vehicle", `select `+columns+` from vehicle where id = $1`, id)
}

// Twins finds the cars on file that have the mark or the VIN of what was
// given, so that a page can lead to them. At most two.
func Twins(ctx context.Context, q pg.Querier, in Input) ([]Vehicle, error) {
	in.Make = "-" // not what is asked about
	c, err := in.clean()
	if err != nil {
		return nil, nil //nolint:nilerr // what is not a number has no twin
	}
	return pg.All[Vehicle](ctx, q, "vehicle", `select `+columns+` from vehicle
		where mark = nullif($1, '') or vin = nullif($2, '') order by id limit 2`, c.mark, c.vin)
}

// Insert puts a car on file as part of a larger change. Besides the errors of
// Input.Clean there is one at mark or vin that names the car which has it
// already.
func Insert(ctx context.Context, tx *change.Tx, in Input) (ID, error) {
	c, err := in.clean()
	if err != nil {
		return 0, err
	}
	if err := refuseTwin(ctx, tx, 0, c); err != nil {
		return 0, err
	}
	var id ID
	err = tx.QueryRow(ctx, `
		insert into vehicle (mark, mark_shown, mark_key, vin, make, model, colour, created_at)
		values (nullif($1, ''), $2, $3, nullif($4, ''), $5, $6, $7, $8) returning id`,
		c.mark, c.shown, c.key, c.vin, c.make, c.model, c.colour, tx.At).Scan(&id)
	if err != nil {
		return 0, pg.Explain(err, "vehicle", rules)
	}
	tx.Record("vehicle added", 0, subject(id), map[string]any{"vehicle": id, "mark": c.shown, "vin": c.vin, "make": c.make, "model": c.model})
	return id, nil
}

// rules are for two bookings of one new car at the same moment; as a rule
// refuseTwin has the better words.
var rules = map[string]*apperr.Error{
	"vehicle_mark_once": apperr.Field("mark", "a car with this mark has just been put on file"),
	"vehicle_vin_once":  apperr.Field("vin", "a car with this VIN has just been put on file"),
}

// refuseTwin refuses a mark or a VIN that another car has, naming it.
func refuseTwin(ctx context.Context, tx *change.Tx, self ID, c cleaned) error {
	twins, err := pg.All[Vehicle](ctx, tx, "vehicle", `select `+columns+` from vehicle
		where (mark = nullif($1, '') or vin = nullif($2, '')) and id <> $3 order by id limit 2`, c.mark, c.vin, self)
	if err != nil {
		return err
	}
	f := apperr.Fields{}
	for _, t := range twins {
		if c.mark != "" && t.Mark == c.mark {
			f.Add("mark", "%s is on file already: %s", t.MarkShown, t.Name())
		}
		if c.vin != "" && t.VIN == c.vin {
			f.Add("vin", "this VIN is on file already: %s, %s", t.Called(), t.Name())
		}
	}
	return f.Err()
}

func lock(ctx context.Context, tx *change.Tx, id ID) error {
	return pg.Explain(tx.QueryRow(ctx, `select id from vehicle where id = $1 for update`, id).Scan(new(ID)), "vehicle", nil)
}

// LockFacts locks what rests on the facts of a car and then the car, as
// whoever is about to change one of them does first: the cards that are not
// finished, in the order of their numbers. Whoever judges parts locks in the
// same order.
func LockFacts(ctx context.Context, tx *change.Tx, id ID) error {
	_, err := tx.Exec(ctx, `select from card where vehicle_id = $1 and stage not in ('collected', 'cancelled') order by id for update`, id)
	if err != nil {
		return fmt.Errorf("lock the car's cards: %w", err)
	}
	return lock(ctx, tx, id)
}

// update writes an edit over the version it was made from.
func update(ctx context.Context, tx *change.Tx, id ID, version int, c cleaned) error {
	before, err := pg.One[Vehicle](ctx, tx, "vehicle", `select `+columns+` from vehicle where id = $1 for update`, id)
	if err != nil {
		return err
	}
	if before.Version != version {
		return apperr.Stale("vehicle", before)
	}
	if err := refuseTwin(ctx, tx, id, c); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `
		update vehicle set mark = nullif($2, ''), mark_shown = $3, mark_key = $4, vin = nullif($5, ''), make = $6, model = $7,
			colour = $8, version = version + 1
		where id = $1`, id, c.mark, c.shown, c.key, c.vin, c.make, c.model, c.colour)
	if err != nil {
		return pg.Explain(err, "vehicle", rules)
	}
	if c.vin != before.VIN {
		tx.Touch(change.Car, int64(id))
	}
	tx.Record("vehicle changed", 0, subject(id), map[string]any{
		"vehicle": id,
		"was":     map[string]string{"mark": before.MarkShown, "vin": before.VIN, "make": before.Make, "model": before.Model, "colour": before.Colour},
		"is":      map[string]string{"mark": c.shown, "vin": c.vin, "make": c.make, "model": c.model, "colour": c.colour},
	})
	return nil
}

func subject(id ID) string { return fmt.Sprintf("vehicle %d", id) }
