package fitment

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
)

// BoxInput is a number read off the box, or off the part itself.
type BoxInput struct {
	PartID jobcard.PartID
	Number string
	// Take puts the number on the card where the card has another one.
	Take bool
}

// BoxRead is what came of it.
type BoxRead struct {
	jobcard.Changed
	// Other is set when the number is not the card's, nor known as the same
	// part: the verdict is then that it cannot be told, until it is put right.
	Other bool
	// Taken is set when the card had no number, or Take was asked, and has this
	// one now.
	Taken bool
}

// ReadBox notes the number that somebody read off the box of a part, and
// judges the part anew. Messages are at number.
func (s *Service) ReadBox(ctx context.Context, who actor.Actor, in BoxInput) (BoxRead, error) {
	if err := who.Need(actor.Work); err != nil {
		return BoxRead{}, err
	}
	f := apperr.Fields{}
	in.Number = f.Line("number", in.Number, NumberMax)
	if NumberKey(in.Number) == "" {
		f.Add("number", "please give the number on the box")
	}
	if err := f.Err(); err != nil {
		return BoxRead{}, err
	}
	return change.Do(ctx, s.db, who, "read the box", in, func(ctx context.Context, tx *change.Tx) (BoxRead, error) {
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if err != nil {
			return BoxRead{}, err
		}
		if err := changeable(c, p); err != nil {
			return BoxRead{}, err
		}
		if !p.Counts() {
			return BoxRead{}, apperr.New(apperr.Conflict, "this part is %s: it is not for the car any more", p.Supply)
		}
		out := BoxRead{Changed: jobcard.Changed{CardID: c.ID, LineID: p.LineID, PartID: p.ID, Version: p.Version}}
		if _, err := tx.Exec(ctx, `insert into box_reading (part_id, number, number_key, by_staff, at)
			values ($1, $2, number_key($2), nullif($3::bigint, 0), $4)`, p.ID, in.Number, who.StaffID, tx.At); err != nil {
			return BoxRead{}, fmt.Errorf("note the number on the box: %w", err)
		}
		others, err := otherBoxes(ctx, tx, []boxRead{{p.ID, p.Number, in.Number}})
		if err != nil {
			return BoxRead{}, err
		}
		other := others[p.ID]
		switch {
		case other && (in.Take || NumberKey(p.Number) == ""):
			if err := jobcard.PutNumber(ctx, tx, p, in.Number); err != nil {
				return BoxRead{}, err
			}
			out.Taken, out.Version = true, p.Version+1
		case other:
			out.Other = true
			if p.VerdictHow == jobcard.ByHand && p.Verdict == jobcard.Fits {
				// Whoever said so had another part in mind.
				if err := jobcard.TakeBackVerdict(ctx, tx, p); err != nil {
					return BoxRead{}, err
				}
			}
		}
		tx.Record("box read", int64(c.ID), p.Name, map[string]any{
			"part": p.ID, "box": in.Number, "number": p.Number, "another": out.Other, "taken": out.Taken,
		})
		tx.Touch(change.Card, int64(c.ID))
		return out, nil
	})
}
