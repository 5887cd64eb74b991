package fitment

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// Follow judges anew, in the transaction of a change, the parts of the cards
// and cars that it touched. It is the change.DB's Follow.
func Follow(ctx context.Context, tx *change.Tx, touched []change.Touched) error {
	var cards []jobcard.CardID
	for _, t := range touched {
		switch t.Thing {
		case change.Card:
			cards = append(cards, jobcard.CardID(t.ID))
		case change.Car:
			more, err := liveCards(ctx, tx, vehicle.ID(t.ID))
			if err != nil {
				return err
			}
			cards = append(cards, more...)
		}
	}
	slices.Sort(cards)
	for _, id := range slices.Compact(cards) {
		if err := judgeCard(ctx, tx, id); err != nil {
			return err
		}
	}
	return nil
}

// liveCards are the cards of a car that are not finished.
func liveCards(ctx context.Context, q pg.Querier, id vehicle.ID) ([]jobcard.CardID, error) {
	rows, err := q.Query(ctx, `select id from card where vehicle_id = $1 and stage not in ('collected', 'cancelled') order by id limit 100`, id)
	if err != nil {
		return nil, fmt.Errorf("look for the car's cards: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[jobcard.CardID])
}

// judgeCard locks a card and brings the verdicts of its parts up to date.
func judgeCard(ctx context.Context, tx *change.Tx, id jobcard.CardID) error {
	c, err := jobcard.Lock(ctx, tx, id)
	if err != nil {
		return err
	}
	if c.Stage == jobcard.Collected || c.Stage == jobcard.Cancelled {
		return nil
	}
	if err := takeOver(ctx, tx, id); err != nil {
		return err
	}
	subjects, err := subjectsOf(ctx, tx, id)
	if err != nil || len(subjects) == 0 {
		return err
	}
	// From here to the commit nothing new can become known of the car.
	var vin string
	if err := tx.QueryRow(ctx, `select coalesce(vin, '') from vehicle where id = $1 for share`, c.VehicleID).Scan(&vin); err != nil {
		return pg.Explain(err, "vehicle", nil)
	}
	facts, err := vehicle.Facts(ctx, tx, c.VehicleID)
	if err != nil {
		return err
	}
	known := KnownOf(facts, vin)
	clashes := clashesOf(subjects, known)
	return settle(ctx, tx, c, judgements(subjects, known, clashes, bestOf(facts)))
}

// subjectsOf reads the parts of a card that are meant for the car and have, or
// had, something to reason by.
func subjectsOf(ctx context.Context, q pg.Querier, id jobcard.CardID) ([]subject, error) {
	rows, err := q.Query(ctx, `
		select p.id, p.card_id, coalesce(p.line_id, 0), p.name, p.number, p.supply, p.verdict, p.verdict_how, p.version,
			coalesce((select b.number from box_reading b where b.part_id = p.id order by b.id desc limit 1), ''),
			f.part_id is not null
		from part p left join part_fit f on f.part_id = p.id
		where p.card_id = $1 and p.struck_at is null and p.supply not in ('going back', 'credited', 'not coming')
			and (f.part_id is not null or p.verdict_how = 'reasoned' or exists (select from box_reading b where b.part_id = p.id))
		order by p.id limit 500`, id)
	if err != nil {
		return nil, fmt.Errorf("read the parts to judge: %w", err)
	}
	var out []subject
	var withPut []int
	var box string
	var put bool
	var p jobcard.Part
	_, err = pgx.ForEachRow(rows, []any{&p.ID, &p.CardID, &p.LineID, &p.Name, &p.Number, &p.Supply, &p.Verdict, &p.VerdictHow, &p.Version, &box, &put}, func() error {
		if put {
			withPut = append(withPut, len(out))
		}
		out = append(out, subject{part: p, box: box})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the parts to judge: %w", err)
	}
	if len(withPut) > 0 {
		if err := readPuts(ctx, q, id, out); err != nil {
			return nil, err
		}
	}
	return out, onlyOtherBoxes(ctx, q, out)
}

func readPuts(ctx context.Context, q pg.Querier, id jobcard.CardID, into []subject) error {
	rows, err := q.Query(ctx, `select `+putColumns+` from part_fit f join part p on p.id = f.part_id where p.card_id = $1 limit 500`, id)
	if err != nil {
		return fmt.Errorf("read conditions: %w", err)
	}
	puts, err := pgx.CollectRows(rows, scanPut)
	if err != nil {
		return fmt.Errorf("read conditions: %w", err)
	}
	for i := range into {
		if k := slices.IndexFunc(puts, func(p *Put) bool { return p.PartID == into[i].part.ID }); k >= 0 {
			into[i].put = puts[k]
		}
	}
	return nil
}
