package vehicle

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Keeper is one person's time with a car.
type Keeper struct {
	CustomerID customer.ID
	Name       string
	From       workday.Day
	// Until is the first day it was somebody else's; zero while it goes on.
	Until workday.Day
}

// KeeperOn tells who keeps a car on a day; NotFound when nobody is known to.
func KeeperOn(ctx context.Context, q pg.Querier, id ID, day workday.Day) (customer.ID, error) {
	var c customer.ID
	err := q.QueryRow(ctx, `select customer_id from keeper where vehicle_id = $1 and kept @> $2::date`, id, day.UTC()).Scan(&c)
	return c, pg.Explain(err, "keeper", nil)
}

// SetKeeper makes a customer the keeper of a car from a day on: the earlier
// keeper's time ends with the day before. A keeper known to follow later
// stays so. Errors have their messages at customer and day.
func SetKeeper(ctx context.Context, tx *change.Tx, id ID, who customer.ID, day workday.Day) error {
	if day.IsZero() {
		return apperr.Field("day", "please give the day of the change")
	}
	// The car's row orders changes of its keeper.
	if err := lock(ctx, tx, id); err != nil {
		return err
	}
	now, err := keptOn(ctx, tx, id, day)
	if err != nil {
		return err
	}
	switch {
	case now.customer == who:
		return nil
	case now.customer != 0 && now.from.Equal(day.UTC()):
		_, err = tx.Exec(ctx, `update keeper set customer_id = $3 where vehicle_id = $1 and lower(kept) = $2`, id, day.UTC(), who)
	case now.customer != 0:
		_, err = tx.Exec(ctx, `update keeper set kept = daterange(lower(kept), $2) where vehicle_id = $1 and kept @> $2::date`, id, day.UTC())
		if err == nil {
			err = insertKeeper(ctx, tx, id, who, day, now.until)
		}
	default:
		err = insertKeeper(ctx, tx, id, who, day, now.until)
	}
	if err != nil {
		return pg.Explain(err, "keeper", map[string]*apperr.Error{
			"keeper_customer_fk": apperr.Field("customer", "this customer is not on file any more"),
		})
	}
	tx.Record("keeper changed", 0, subject(id), map[string]any{"vehicle": id, "customer": who, "was": now.customer, "from": day.String()})
	return nil
}

func insertKeeper(ctx context.Context, tx *change.Tx, id ID, who customer.ID, from workday.Day, until *time.Time) error {
	_, err := tx.Exec(ctx, `insert into keeper (vehicle_id, customer_id, kept) values ($1, $2, daterange($3, $4))`, id, who, from.UTC(), until)
	return err
}

// span is the time of the keeper on a day; without a customer, only until is
// set: the day from which somebody is known again.
type span struct {
	customer customer.ID
	from     time.Time
	until    *time.Time
}

func keptOn(ctx context.Context, q pg.Querier, id ID, day workday.Day) (span, error) {
	var s span
	err := q.QueryRow(ctx, `select customer_id, lower(kept), upper(kept) from keeper where vehicle_id = $1 and kept @> $2::date`,
		id, day.UTC()).Scan(&s.customer, &s.from, &s.until)
	if errors.Is(err, pgx.ErrNoRows) {
		err = q.QueryRow(ctx, `select min(lower(kept)) from keeper where vehicle_id = $1 and lower(kept) > $2`, id, day.UTC()).Scan(&s.until)
	}
	if err != nil {
		return span{}, fmt.Errorf("keeper: %w", err)
	}
	return s, nil
}

const keepersMax = 100

// queueKeepers lists who kept a car, the latest first.
func queueKeepers(b *pgx.Batch, id ID, into *[]Keeper) {
	b.Queue(`
		select k.customer_id, c.name, lower(k.kept), upper(k.kept) from keeper k join customer c on c.id = k.customer_id
		where k.vehicle_id = $1 order by lower(k.kept) desc limit $2`, id, keepersMax).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, scanKeeper)
		return err
	})
}

func scanKeeper(row pgx.CollectableRow) (Keeper, error) {
	var k Keeper
	var from time.Time
	var until *time.Time
	err := row.Scan(&k.CustomerID, &k.Name, &from, &until)
	k.From = workday.FromDate(from)
	if until != nil {
		k.Until = workday.FromDate(*until)
	}
	return k, err
}
