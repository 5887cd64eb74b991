package fitment

import (
	"context"
	"encoding/json"
	"errors"
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
	for _, s := range subjects {
		if err := settle(ctx, tx, c, s, judge(s, known, clashes), bestOf(facts)); err != nil {
			return err
		}
	}
	return nil
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
	for i := range out {
		if out[i].box, err = otherBox(ctx, q, out[i].part.Number, out[i].box); err != nil {
			return nil, err
		}
	}
	return out, nil
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

// otherBox gives the number read off a box if it is not the part's own, nor
// one of the same part, nor one that replaced it; else empty.
func otherBox(ctx context.Context, q pg.Querier, number, box string) (string, error) {
	if box == "" || NumberKey(box) == NumberKey(number) {
		return "", nil
	}
	kin, err := KinOf(ctx, q, number)
	if err != nil || slices.Contains(kin.Same, NumberKey(box)) || slices.Contains(kin.Newer, NumberKey(box)) {
		return "", err
	}
	return box, nil
}

// settle sets the verdict that a part has from here on.
func settle(ctx context.Context, tx *change.Tx, c jobcard.Card, s subject, j Judged, facts map[string]string) error {
	if s.part.VerdictHow == jobcard.ByHand && s.part.Verdict != jobcard.Unchecked {
		// What somebody said stands, until it is proved wrong.
		if j.Verdict != jobcard.DoesNotFit || s.part.Verdict == jobcard.DoesNotFit {
			return nil
		}
	}
	if !j.Reasoned && s.part.Verdict == jobcard.Unchecked && s.part.VerdictHow == jobcard.ByHand {
		return nil
	}
	in := jobcard.Judgement{Verdict: j.Verdict, How: jobcard.Reasoned, Note: j.Proof.Why, Proof: j.Proof, Facts: facts}
	if j.Proof.Rule != nil {
		in.Rule = j.Proof.Rule.Rule
	}
	same, err := lastIs(ctx, tx, s.part, in)
	if err != nil {
		return err
	}
	if same {
		return jobcard.RestoreVerdict(ctx, tx, s.part)
	}
	return jobcard.PutVerdict(ctx, tx, c, s.part, in)
}

// lastIs tells whether the last verdict on record is this one, on the same
// grounds.
func lastIs(ctx context.Context, q pg.Querier, p jobcard.Part, j jobcard.Judgement) (bool, error) {
	proof, err := json.Marshal(j.Proof)
	if err != nil {
		return false, fmt.Errorf("write the proof: %w", err)
	}
	var same bool
	err = q.QueryRow(ctx, `
		select verdict = $2 and how = $3 and rule = $4 and number_key = number_key($5) and proof = $6::jsonb
		from fit_check where part_id = $1 order by id desc limit 1`, p.ID, j.Verdict, j.How, j.Rule, p.Number, proof).Scan(&same)
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("read the last verdict: %w", err)
	}
	return same, nil
}
