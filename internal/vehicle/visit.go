package vehicle

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Visit is one card of a car, as its history lists it.
type Visit struct {
	// Card is the card's number.
	Card      int64
	VehicleID ID
	Mark      string
	Name      string // make and model
	Day       workday.Day
	Stage     string
	Mileage   *int
	Unit      string
	Words     string
	// How many lines the card has that were not struck out, and how many of
	// them were done.
	Lines, Done int
}

const visitsMax = 200

const visitSelect = `
	select c.id, v.id, v.mark_shown, trim(v.make || ' ' || v.model), c.booked_for, c.stage, c.mileage, c.mileage_unit, c.customer_words,
		(select count(*) from line l where l.card_id = c.id and l.struck_at is null),
		(select count(*) from line l where l.card_id = c.id and l.struck_at is null and l.work_state = 'done')
	from card c join vehicle v on v.id = c.vehicle_id `

func queueVisits(b *pgx.Batch, id ID, limit int, into *[]Visit) {
	b.Queue(visitSelect+`where c.vehicle_id = $1 order by c.booked_for desc, c.id desc limit $2`, id, max(0, min(limit, visitsMax))).
		Query(func(rows pgx.Rows) (err error) {
			*into, err = pgx.CollectRows(rows, scanVisit)
			return err
		})
}

// VisitsOf lists the cards made out to a customer, whatever car came, the
// latest first.
func VisitsOf(ctx context.Context, q pg.Querier, who customer.ID, limit int) ([]Visit, error) {
	rows, err := q.Query(ctx, visitSelect+`where c.customer_id = $1 order by c.booked_for desc, c.id desc limit $2`, who, max(0, min(limit, visitsMax)))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanVisit)
}

func scanVisit(row pgx.CollectableRow) (Visit, error) {
	var v Visit
	var day time.Time
	err := row.Scan(&v.Card, &v.VehicleID, &v.Mark, &v.Name, &day, &v.Stage, &v.Mileage, &v.Unit, &v.Words, &v.Lines, &v.Done)
	v.Day = workday.FromDate(day)
	return v, err
}

// Kept is a car that somebody keeps or kept.
type Kept struct {
	Vehicle
	From workday.Day
	// Until is the first day it was somebody else's; zero while it goes on.
	Until workday.Day
}

// KeptBy lists the cars of a customer, those they keep now first.
func KeptBy(ctx context.Context, q pg.Querier, who customer.ID) ([]Kept, error) {
	rows, err := q.Query(ctx, `
		select v.id, coalesce(v.mark, ''), v.mark_shown, coalesce(v.vin, ''), v.make, v.model, v.colour, v.created_at, v.version,
			lower(k.kept), upper(k.kept)
		from keeper k join vehicle v on v.id = k.vehicle_id
		where k.customer_id = $1 order by upper_inf(k.kept) desc, lower(k.kept) desc limit $2`, who, keepersMax)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (Kept, error) {
		var k Kept
		var from time.Time
		var until *time.Time
		err := row.Scan(&k.ID, &k.Mark, &k.MarkShown, &k.VIN, &k.Make, &k.Model, &k.Colour, &k.CreatedAt, &k.Version, &from, &until)
		k.From = workday.FromDate(from)
		if until != nil {
			k.Until = workday.FromDate(*until)
		}
		return k, err
	})
}

// Dealings are a customer's cars and visits.
type Dealings struct {
	Cars   []Kept
	Visits []Visit
}

// Dealings reads the cars and the visits of a customer, for those who may see
// people.
func (s *Service) Dealings(ctx context.Context, who actor.Actor, id customer.ID) (d Dealings, err error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return d, err
	}
	if d.Cars, err = KeptBy(ctx, s.db.Pool, id); err != nil {
		return d, err
	}
	d.Visits, err = VisitsOf(ctx, s.db.Pool, id, visitsMax)
	return d, err
}
