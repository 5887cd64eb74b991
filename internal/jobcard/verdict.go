package jobcard

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/vehicle"
)

// VerdictInput records by hand whether a part fits this car.
type VerdictInput struct {
	PartID  PartID
	Version int
	// Verdict is what somebody found; Unchecked takes back what was said.
	Verdict Verdict
	Note    string
}

// AnyCar is the note on a part for which fitting is no question, such as
// grease.
const AnyCar = "fits any car"

// SetVerdict records who found that a part fits, does not, or cannot be told,
// and by what. A hand decides what reasoning leaves open; it does not overrule
// a proof that the part does not fit: then a fact or a condition is wrong and
// is put right, or somebody entitled lets the part through.
func (s *Service) SetVerdict(ctx context.Context, who actor.Actor, in VerdictInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Note = f.Prose("note", in.Note, MaxNote)
	switch in.Verdict {
	case DoesNotFit:
		f.Must("note", in.Note, "a note of why it does not fit")
	case Fits:
		f.Must("note", in.Note, "a note of how you can tell that it fits")
	}
	if !slices.Contains(Verdicts, in.Verdict) {
		f.Add("verdict", "a part fits, does not fit, or cannot be told")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "set verdict", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := lockPart(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, err
		}
		if err := p.changeable(c, in.Version); err != nil {
			return Changed{}, err
		}
		if p.Verdict == DoesNotFit && p.VerdictHow == Reasoned && (in.Verdict == Fits || in.Verdict == CannotTell) {
			return Changed{}, apperr.Field("verdict",
				"its conditions and the facts of the car say that it does not fit: put right which of them is wrong, or ask the desk to let it through")
		}
		if err := PutVerdict(ctx, tx, c, p, Judgement{Verdict: in.Verdict, How: ByHand, Note: in.Note}); err != nil {
			return Changed{}, err
		}
		tx.Touch(change.Card, int64(c.ID))
		return Changed{CardID: c.ID, LineID: p.LineID, PartID: p.ID, Version: p.Version + 1}, nil
	})
}

// Judgement is a verdict with what it rests on.
type Judgement struct {
	Verdict Verdict
	How     How
	Note    string
	// Rule and Proof are those of a reasoned verdict: the conditions in their
	// notation, and how it came about, which has a JSON form.
	Rule  string
	Proof any
	// Facts are what was known of the car by key; nil has them read.
	Facts map[string]string
}

// PutVerdict sets the verdict on a part of a locked card, and keeps on record
// that it was given and on what it rested. One given by hand makes a new
// version of the part; a reasoned one does not, since nobody wrote on the part.
func PutVerdict(ctx context.Context, tx *change.Tx, c Card, p Part, j Judgement) error {
	if j.Facts == nil {
		known, err := vehicle.Facts(ctx, tx, c.VehicleID)
		if err != nil {
			return err
		}
		j.Facts = map[string]string{}
		for _, k := range known {
			j.Facts[k.Key.Key] = k.Best.Value
		}
	}
	if j.Proof == nil {
		j.Proof = map[string]string{}
	}
	_, err := tx.Exec(ctx, `update part set verdict = $2, verdict_how = $3, verdict_note = $4, verdict_at = $5,
		verdict_by = nullif($6::bigint, 0), version = version + case when $3 = 'by hand' then 1 else 0 end where id = $1`,
		p.ID, j.Verdict, j.How, j.Note, tx.At, tx.Who.StaffID)
	if err != nil {
		return fmt.Errorf("set verdict: %w", err)
	}
	_, err = tx.Exec(ctx, `
		insert into fit_check (part_id, card_id, vehicle_id, number_key, verdict, how, rule, facts, proof, note, by_staff, at)
		values ($1, $2, $3, number_key($4), $5, $6, $7, $8, $9, $10, nullif($11::bigint, 0), $12)`,
		p.ID, c.ID, c.VehicleID, p.Number, j.Verdict, j.How, j.Rule, j.Facts, j.Proof, j.Note, tx.Who.StaffID, tx.At)
	if err != nil {
		return fmt.Errorf("keep the verdict: %w", err)
	}
	tx.Record("part "+string(j.Verdict), int64(p.CardID), p.Name, map[string]any{
		"part": p.ID, "number": p.Number, "note": j.Note, "how": j.How, "was": p.Verdict,
	})
	return nil
}

// RestoreVerdict sets a reasoned verdict again that fell back and, judged
// anew, came out as it was on the same grounds: there is nothing to record.
func RestoreVerdict(ctx context.Context, tx *change.Tx, p Part) error {
	_, err := tx.Exec(ctx, `
		update part set verdict = k.verdict, verdict_how = k.how, verdict_note = k.note, verdict_at = k.at, verdict_by = k.by_staff
		from (select * from fit_check where part_id = $1 order by id desc limit 1) k where part.id = $1`, p.ID)
	if err != nil {
		return fmt.Errorf("restore the verdict: %w", err)
	}
	return nil
}

// TakeBackVerdict sets a part of a locked card unchecked, to be judged anew.
func TakeBackVerdict(ctx context.Context, tx *change.Tx, p Part) error {
	_, err := tx.Exec(ctx, `update part set verdict = 'unchecked', verdict_how = 'reasoned', verdict_by = null, verdict_at = null,
		verdict_note = '', version = version + 1 where id = $1`, p.ID)
	if err != nil {
		return fmt.Errorf("take the verdict back: %w", err)
	}
	return nil
}

// PutNumber sets the number of a part of a locked card. Another number is
// another part: what was said of the fit is void.
func PutNumber(ctx context.Context, tx *change.Tx, p Part, number string) error {
	_, err := tx.Exec(ctx, `update part set number = $2, verdict = 'unchecked', verdict_by = null, verdict_at = null, verdict_note = '',
		version = version + 1 where id = $1`, p.ID, number)
	if err != nil {
		return fmt.Errorf("set the number: %w", err)
	}
	tx.Record("part changed", int64(p.CardID), p.Name, map[string]any{"part": p.ID, "number": number, "number was": p.Number})
	return nil
}
