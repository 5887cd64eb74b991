package clocking

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// ForLine are the cautions of a line, and which of them one person has read.
type ForLine struct {
	CardID jobcard.CardID // that the line is on
	All    []caution.Key
	Read   []caution.Key
}

// Unread are those still to be read.
func (c ForLine) Unread() []caution.Key {
	var out []caution.Key
	for _, k := range c.All {
		if !slices.Contains(c.Read, k) {
			out = append(out, k)
		}
	}
	return out
}

// Cautions gives the cautions of a line and what the actor has read of them.
func (s *Service) Cautions(ctx context.Context, who actor.Actor, id jobcard.LineID) (ForLine, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return ForLine{}, err
	}
	return cautionsFor(ctx, s.db.Pool, id, who.StaffID)
}

// cautionsFor reads the cautions of a line: its own and those that the facts
// of its car call for.
func cautionsFor(ctx context.Context, q pg.Querier, line jobcard.LineID, staff actor.StaffID) (ForLine, error) {
	var card jobcard.CardID
	var own, read []caution.Key
	var keys, values, sources []string
	err := q.QueryRow(ctx, `
		select c.id, l.cautions,
			coalesce((select array_agg(f.key order by f.id) from vehicle_fact f where f.vehicle_id = c.vehicle_id), '{}'),
			coalesce((select array_agg(f.value order by f.id) from vehicle_fact f where f.vehicle_id = c.vehicle_id), '{}'),
			coalesce((select array_agg(f.source order by f.id) from vehicle_fact f where f.vehicle_id = c.vehicle_id), '{}'),
			coalesce((select r.cautions from caution_read r where r.line_id = l.id and r.staff_id = $2), '{}')
		from line l join card c on c.id = l.card_id where l.id = $1`, line, staff).Scan(&card, &own, &keys, &values, &sources, &read)
	if err != nil {
		return ForLine{}, pg.Explain(err, "line", nil)
	}
	facts := make([]vehicle.Fact, len(keys))
	for i := range keys {
		facts[i] = vehicle.Fact{Key: keys[i], Value: values[i], Source: vehicle.Source(sources[i])}
	}
	return ForLine{CardID: card, All: caution.Merge(own, vehicle.Cautions(vehicle.Weigh(facts))), Read: caution.Merge(read)}, nil
}

// validRead checks the cautions that somebody says they have read.
func validRead(keys []caution.Key) error {
	if err := caution.Valid(keys); err != nil {
		return apperr.Field("caution", "%s", err)
	}
	return nil
}

// putRead adds cautions to those that the actor has read on a line.
func putRead(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line, read []caution.Key) error {
	read = caution.Merge(read)
	_, err := tx.Exec(ctx, `
		insert into caution_read (line_id, staff_id, cautions, at) values ($1, $2, $3, $4)
		on conflict on constraint caution_read_pk do update set at = excluded.at,
			cautions = array(select distinct unnest(caution_read.cautions || excluded.cautions))`,
		l.ID, tx.Who.StaffID, read, tx.At)
	if err != nil {
		return fmt.Errorf("record the cautions read: %w", err)
	}
	tx.Record("cautions read", int64(c.ID), l.Title, map[string]any{"line": l.ID, "cautions": read})
	return nil
}
