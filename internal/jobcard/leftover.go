package jobcard

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// LeftOver is a line that an earlier visit left undone: deferred or declined,
// and not taken up since.
type LeftOver struct {
	ID       LineID
	CardID   CardID
	Title    string
	Reason   string
	Decided  string
	Declined bool
	At       time.Time
	Severity Severity // the worst finding that proposed it, "" when none
}

// LeftOvers gives the lines that earlier visits of a car left undone, the
// newest first.
func (s *Service) LeftOvers(ctx context.Context, who actor.Actor, id vehicle.ID) ([]LeftOver, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	return pg.All[LeftOver](ctx, s.db.Pool, "left-over lines", `
		select l.id, l.card_id, l.title, l.state_reason as reason, l.decided_by as decided, l.consent = 'declined' as declined,
			coalesce(c.ready_at, c.collected_at, c.created_at) as at,
			coalesce((select f.severity from finding f where f.proposed_line_id = l.id
				order by array_position(array['dangerous', 'major', 'minor', 'advisory'], f.severity) limit 1), '') as severity
		from line l join card c on c.id = l.card_id
		where c.vehicle_id = $1 and c.stage in ('ready', 'collected') and `+isLeftOver+`
		order by at desc, l.position limit 50`, id)
}

const isLeftOver = `l.struck_at is null and (l.work_state = 'deferred' or l.consent = 'declined' and l.work_state <> 'done')
	and not exists (select from line n where n.carried_from = l.id and n.struck_at is null)`

// takeBack writes a left-over line of the same car on a new card.
func takeBack(ctx context.Context, tx *change.Tx, card CardID, vid vehicle.ID, old LineID, position int) (LineID, error) {
	var id LineID
	var title string
	err := tx.QueryRow(ctx, `
		insert into line (card_id, position, operation_id, title, must_do, labour_type_id, rate_minor, low_minutes, likely_minutes,
			high_minutes, fixed_price_minor, vat_code, std_cost_rate_minor, cautions, safety, wheels_off, inspects, carried_from, note)
		select $1, $2, l.operation_id, l.title, true, l.labour_type_id, t.rate_minor, l.low_minutes, l.likely_minutes,
			l.high_minutes, l.fixed_price_minor, l.vat_code, g.standard_cost_rate_minor, l.cautions, l.safety, l.wheels_off, l.inspects,
			l.id, l.note
		from line l join card c on c.id = l.card_id join labour_type t on t.id = l.labour_type_id cross join garage g
		where l.id = $3 and c.vehicle_id = $4 and c.id <> $1 and `+isLeftOver+`
		returning id, title`, card, position, old, vid).Scan(&id, &title)
	if apperr.Is(pg.Explain(err, "line", nil), apperr.NotFound) {
		return 0, apperr.Field("take_back", "a line left over last time has been taken up already, or belongs to another car")
	}
	if err := pg.Explain(err, "line", lineRules); err != nil {
		return 0, err
	}
	tx.Record("line taken back", int64(card), title, map[string]any{"line": id, "from line": old})
	return id, nil
}
