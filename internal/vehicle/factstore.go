package vehicle

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const factsMax = 500

const factSelect = `
	select f.key, f.value, f.source, f.noted_at, coalesce(s.name, '') as noted_by
	from vehicle_fact f left join staff s on s.id = f.noted_by `

// Facts gives what is known of a car by key: the value to go by, all values,
// and whether they contradict one another.
func Facts(ctx context.Context, q pg.Querier, id ID) ([]Known, error) {
	all, err := pg.All[Fact](ctx, q, "facts", factSelect+`where f.vehicle_id = $1 order by f.id limit $2`, id, factsMax)
	return Weigh(all), err
}

// PutFact notes a fact as part of a larger change, over what the same source
// said before. Errors are those of FactInput.Clean, and NotFound for a car
// that is not there.
func PutFact(ctx context.Context, tx *change.Tx, id ID, in FactInput) error {
	in, err := in.Clean()
	if err != nil {
		return err
	}
	if in.Key == chassisNumber {
		if err := needsNumber(ctx, tx, id); err != nil {
			return err
		}
	}
	was, err := factOf(ctx, tx, id, in.Key, in.Source)
	if err != nil {
		return err
	}
	if was.Value == in.Value {
		return nil
	}
	_, err = tx.Exec(ctx, `
		insert into vehicle_fact (vehicle_id, key, value, source, noted_at, noted_by) values ($1, $2, $3, $4, $5, nullif($6::bigint, 0))
		on conflict on constraint vehicle_fact_one_per_source do update
		set value = excluded.value, noted_at = excluded.noted_at, noted_by = excluded.noted_by`,
		id, in.Key, in.Value, in.Source, tx.At, tx.Who.StaffID)
	if err != nil {
		return pg.Explain(err, "fact", map[string]*apperr.Error{"vehicle_fact_vehicle_fk": apperr.NoSuch("vehicle")})
	}
	tx.Touch(change.Car, int64(id))
	tx.Record("fact noted", 0, subject(id), map[string]any{
		"vehicle": id, "key": in.Key, "value": in.Value, "source": in.Source, "was": was.Value,
	})
	return nil
}

// needsNumber refuses a chassis number for a car whose VIN is on file: that is
// its chassis number, and cannot be two.
func needsNumber(ctx context.Context, q pg.Querier, id ID) error {
	var number string
	err := q.QueryRow(ctx, `select coalesce(vin, '') from vehicle where id = $1`, id).Scan(&number)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return apperr.NoSuch("vehicle")
	case err != nil:
		return pg.Explain(err, "vehicle", nil)
	case number != "":
		return apperr.Field("key", "this car's chassis number is its VIN, %s: change it there", number)
	}
	return nil
}

// factOf reads what one source says; the zero Fact when it says nothing.
func factOf(ctx context.Context, q pg.Querier, id ID, key string, source Source) (Fact, error) {
	f, err := pg.One[Fact](ctx, q, "fact", factSelect+`where f.vehicle_id = $1 and f.key = $2 and f.source = $3`, id, key, source)
	if errors.Is(err, pgx.ErrNoRows) || apperr.Is(err, apperr.NotFound) {
		return Fact{}, nil
	}
	return f, err
}

func removeFact(ctx context.Context, tx *change.Tx, id ID, was Fact) error {
	_, err := tx.Exec(ctx, `delete from vehicle_fact where vehicle_id = $1 and key = $2 and source = $3`, id, was.Key, was.Source)
	if err != nil {
		return pg.Explain(err, "fact", nil)
	}
	tx.Touch(change.Car, int64(id))
	tx.Record("fact removed", 0, subject(id), map[string]any{"vehicle": id, "key": was.Key, "value": was.Value, "source": was.Source})
	return nil
}
