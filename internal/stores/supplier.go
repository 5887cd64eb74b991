package stores

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/lateness"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// recordDays is how far back the record of being late looks: more than a year,
// so that every season is in it, and no further, since suppliers change.
const recordDays = 400

// recordMax bounds the deliveries that a reading of the records takes in.
const recordMax = 20_000

// Lateness gives each supplier's own record of being late, from what they said
// first against when it was here, in the garage's open hours. It is what a due
// time is worth, for whoever plans on one.
//
// What was cancelled counts for nothing. What never came, by the order or by
// the card, counts as that. What is still to come is not in it: it is late by
// nobody knows how much.
func Lateness(ctx context.Context, q pg.Querier, set garage.Settings, now time.Time) (map[garage.SupplierID]lateness.Record, error) {
	rows, err := q.Query(ctx, `
		select u.supplier_id, o.due_at, coalesce(o.arrived_at, p.arrived_at), o.closed = 'never came' or p.supply = 'not coming'
		from purchase u join purchase_line o on o.purchase_id = u.id left join part p on p.id = o.part_id
		where u.ordered_at > $1 and o.closed is distinct from 'cancelled'
			and (o.arrived_at is not null or o.closed = 'never came' or p.supply in ('arrived', 'fitted', 'going back', 'credited', 'not coming'))
		order by u.ordered_at desc, o.id desc limit $2`, now.AddDate(0, 0, -recordDays), recordMax)
	if err != nil {
		return nil, fmt.Errorf("how late suppliers are: %w", err)
	}
	of := map[garage.SupplierID][]lateness.Delivery{}
	for rows.Next() {
		var id garage.SupplierID
		var due time.Time
		var came *time.Time
		var never *bool
		if err := rows.Scan(&id, &due, &came, &never); err != nil {
			rows.Close()
			return nil, fmt.Errorf("how late suppliers are: %w", err)
		}
		switch {
		case never != nil && *never:
			of[id] = append(of[id], lateness.Delivery{Never: true})
		case came != nil:
			of[id] = append(of[id], lateness.Delivery{Late: openBetween(set, due, *came)})
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("how late suppliers are: %w", err)
	}
	out := map[garage.SupplierID]lateness.Record{}
	for id, deliveries := range of {
		out[id] = lateness.Make(openDay(set), deliveries)
	}
	return out, nil
}

func (s *Service) lateness(ctx context.Context, set garage.Settings) (map[garage.SupplierID]lateness.Record, error) {
	return Lateness(ctx, s.db.Pool, set, s.db.Now())
}

// Account is how things stand with one supplier.
type Account struct {
	Supplier garage.Supplier
	Late     lateness.Record
	// Overdue is how many lines are past their time and not here.
	Overdue, ToCome int
	// Owed is the money still to come for what has left; Held what will be owed
	// once it has; ToSend how many things that is, Old those of them that are
	// exchange units.
	Owed, Held  money.Minor
	ToSend, Old int
	// Short is what came less than was expected, over a year, of what is settled.
	Short money.Minor
}

// Accounts is how things stand with every supplier.
type Accounts struct {
	Now    time.Time
	Garage garage.Settings
	All    []Account
	Costs  bool
}

// Owed is what all suppliers owe.
func (a Accounts) Owed() (sum money.Minor) {
	for _, x := range a.All {
		sum += x.Owed
	}
	return sum
}

// Accounts reads how late each supplier is, and what they owe.
func (s *Service) Accounts(ctx context.Context, who actor.Actor) (Accounts, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Accounts{}, err
	}
	now := s.db.Now()
	out := Accounts{Now: now, Costs: who.May(actor.SeeMargins)}
	sums := map[garage.SupplierID]Account{}
	var b pgx.Batch
	garage.LoadLater(&b, &out.Garage)
	b.Queue(`
		with back as (
			select r.supplier_id, r.kind, r.sent_at is not null as sent, r.settled_at, r.expected_minor,
				coalesce((select sum(k.amount_minor) from part_credit k where k.return_id = r.id), 0) as received
			from part_return r where r.settled_at is null or r.settled_at > $1)
		select supplier_id,
			coalesce(sum(greatest(0, expected_minor - received)) filter (where sent and settled_at is null), 0)::bigint,
			coalesce(sum(expected_minor) filter (where not sent and settled_at is null), 0)::bigint,
			count(*) filter (where not sent and settled_at is null),
			count(*) filter (where not sent and settled_at is null and kind = 'exchange unit'),
			coalesce(sum(greatest(0, expected_minor - received)) filter (where settled_at is not null), 0)::bigint
		from back group by supplier_id limit 1000`, now.AddDate(-1, 0, 0)).Query(each(func(rows pgx.Rows) error {
		var id garage.SupplierID
		var a Account
		err := rows.Scan(&id, &a.Owed, &a.Held, &a.ToSend, &a.Old, &a.Short)
		sums[id] = a
		return err
	}))
	b.Queue(`select u.supplier_id, count(*), count(*) filter (where coalesce(o.now_due_at, o.due_at) < $1)
		from purchase_line o join purchase u on u.id = o.purchase_id left join part p on p.id = o.part_id
		where `+isOpen+` group by u.supplier_id limit 1000`, now).Query(each(func(rows pgx.Rows) error {
		var id garage.SupplierID
		var coming, overdue int
		if err := rows.Scan(&id, &coming, &overdue); err != nil {
			return err
		}
		a := sums[id]
		a.ToCome, a.Overdue = coming, overdue
		sums[id] = a
		return nil
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Accounts{}, fmt.Errorf("how things stand with suppliers: %w", err)
	}
	late, err := s.lateness(ctx, out.Garage)
	if err != nil {
		return Accounts{}, err
	}
	all, err := garage.Suppliers(ctx, s.db.Pool)
	if err != nil {
		return Accounts{}, err
	}
	for _, x := range all {
		a, known := sums[x.ID]
		a.Supplier, a.Late = x, late[x.ID]
		if !x.Active && !known && a.Late.N == 0 {
			continue
		}
		if !out.Costs {
			a.Owed, a.Held, a.Short = 0, 0, 0
		}
		out.All = append(out.All, a)
	}
	return out, nil
}

// each calls f for every row of a batch's query.
func each(f func(pgx.Rows) error) func(pgx.Rows) error {
	return func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			if err := f(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	}
}

// Suppliers lists the suppliers that forms offer, retired ones last.
func (s *Service) Suppliers(ctx context.Context, who actor.Actor) ([]garage.Supplier, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	return garage.Suppliers(ctx, s.db.Pool)
}
