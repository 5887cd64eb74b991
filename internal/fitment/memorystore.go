package fitment

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// beforeMax bounds how many earlier parts are looked at.
const beforeMax = 400

// beforeSQL reads what became of parts p before: those that were fitted, and
// those that were found not to fit. The facts are those that the last verdict
// rested on, or else what is known of that car.
const beforeSQL = `
	select p.number, p.name, p.id, p.card_id, c.vehicle_id, trim(v.make || ' ' || v.model), p.verdict <> 'does not fit',
		coalesce(k.facts, (select jsonb_object_agg(f.key, f.value) from (
			select distinct on (f.key) f.key, f.value from vehicle_fact f where f.vehicle_id = v.id
			order by f.key, array_position(array['car', 'plate', 'logbook', 'supplier', 'assumed'], f.source)) f), '{}'),
		p.verdict_note, coalesce(k.at, c.created_at)
	from part p join card c on c.id = p.card_id join vehicle v on v.id = c.vehicle_id
	left join lateral (select k.facts, k.at from fit_check k where k.part_id = p.id order by k.id desc limit 1) k on true
	where p.struck_at is null and p.number <> '' and (p.supply = 'fitted' or p.verdict = 'does not fit') and `

func scanBefore(r pgx.CollectableRow) (Before, error) {
	var b Before
	err := r.Scan(&b.Number, &b.Name, &b.PartID, &b.CardID, &b.VehicleID, &b.Model, &b.Fitted, &b.Facts, &b.Note, &b.At)
	return b, err
}

// byNumbers reads what became of numbers before, on other cards than one.
func byNumbers(ctx context.Context, q pg.Querier, keys []string, but jobcard.CardID) ([]Before, error) {
	rows, err := q.Query(ctx, beforeSQL+`number_key(p.number) = any($1) and p.card_id <> $2 order by p.id desc limit $3`, keys, but, beforeMax)
	if err != nil {
		return nil, fmt.Errorf("read what became of a number: %w", err)
	}
	return pgx.CollectRows(rows, scanBefore)
}

// byName reads what became of parts of much the same name on cars of one
// model, on other cards than one.
func byName(ctx context.Context, q pg.Querier, name string, v vehicle.Vehicle, but jobcard.CardID) ([]Before, error) {
	rows, err := q.Query(ctx, beforeSQL+`lower(v.make) = lower($1) and lower(v.model) = lower($2) and p.card_id <> $3
		and (lower(p.name) = lower($4) or similarity(lower(p.name), lower($4)) >= 0.5) order by p.id desc limit $5`,
		v.Make, v.Model, but, name, beforeMax)
	if err != nil {
		return nil, fmt.Errorf("read what fitted cars like this: %w", err)
	}
	return pgx.CollectRows(rows, scanBefore)
}

// MemoryQuery asks what is remembered: of a number, for a car.
type MemoryQuery struct {
	Number    string
	VehicleID vehicle.ID
	// But is a card that is left out, 0 for none.
	But jobcard.CardID
}

// Memory is what is remembered of a number and its kin.
type Memory struct {
	Kin   Kin
	Hints []Hint
}

// Memory gives what became of a number, and of those it belongs with, set
// against one car. Errors: Invalid at number, NotFound for the car.
func (s *Service) Memory(ctx context.Context, who actor.Actor, in MemoryQuery) (Memory, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Memory{}, err
	}
	f := apperr.Fields{}
	in.Number = f.Line("number", in.Number, NumberMax)
	if NumberKey(in.Number) == "" {
		f.Add("number", "please give the part number")
	}
	if err := f.Err(); err != nil {
		return Memory{}, err
	}
	v, err := vehicle.Get(ctx, s.db.Pool, in.VehicleID)
	if err != nil {
		return Memory{}, err
	}
	known, err := vehicle.Facts(ctx, s.db.Pool, v.ID)
	if err != nil {
		return Memory{}, err
	}
	return memoryOf(ctx, s.db.Pool, in.Number, v, bestOf(known), in.But)
}

func memoryOf(ctx context.Context, q pg.Querier, number string, v vehicle.Vehicle, known map[string]string, but jobcard.CardID, keys ...string) (Memory, error) {
	kin, err := KinOf(ctx, q, number)
	if err != nil {
		return Memory{}, err
	}
	m := Memory{Kin: kin}
	before, err := byNumbers(ctx, q, kin.All(), but)
	if err != nil {
		return Memory{}, err
	}
	m.Hints = Remember(before, v.Name(), known, keys...)
	for i, h := range m.Hints {
		m.Hints[i].Relation = kin.relation(NumberKey(number), NumberKey(h.Number))
	}
	return m, nil
}

// relation says how a key of the kin belongs with the number asked about.
func (k Kin) relation(asked, other string) string {
	switch {
	case asked == other:
		return ""
	case slices.Contains(k.Newer, other):
		return "replaced it"
	case slices.Contains(k.Older, other):
		return "it replaced"
	}
	return "the same part"
}

// bestOf gives the values to go by.
func bestOf(known []vehicle.Known) map[string]string {
	out := make(map[string]string, len(known))
	for _, k := range known {
		out[k.Key.Key] = k.Best.Value
	}
	return out
}

// Suggest gives the numbers that parts of much the same name had on cars of the
// same model, with what became of them, for a part of a card.
func (s *Service) Suggest(ctx context.Context, who actor.Actor, id jobcard.PartID) ([]Hint, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	var name string
	var card jobcard.CardID
	var car vehicle.ID
	err := s.db.Pool.QueryRow(ctx, `select p.name, c.id, c.vehicle_id from part p join card c on c.id = p.card_id where p.id = $1`, id).
		Scan(&name, &card, &car)
	if err != nil {
		return nil, noPart(err)
	}
	v, err := vehicle.Get(ctx, s.db.Pool, car)
	if err != nil {
		return nil, err
	}
	known, err := vehicle.Facts(ctx, s.db.Pool, car)
	if err != nil {
		return nil, err
	}
	before, err := byName(ctx, s.db.Pool, name, v, card)
	if err != nil {
		return nil, err
	}
	hints := Remember(before, v.Name(), bestOf(known))
	return hints[:min(len(hints), suggestMax)], nil
}

// suggestMax is how many numbers are offered.
const suggestMax = 5
