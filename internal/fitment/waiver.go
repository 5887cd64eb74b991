package fitment

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
)

// WaiveInput lets a part through that nobody found to fit, with the reason.
type WaiveInput struct {
	PartID jobcard.PartID
	// Verdict is the one that is let through, as whoever waives saw it: another
	// one meanwhile is a Conflict.
	Verdict jobcard.Verdict
	Reason  string
}

// Waived is the result of a waiver.
type Waived struct {
	jobcard.Changed
	WaiverID jobcard.WaiverID
}

// Waive lets a part through the gate, for those with the right. It covers the
// part under the number it has now, and as long as nothing worse comes out: a
// part let through unchecked is stopped again when it proves not to fit.
// Messages are at reason.
func (s *Service) Waive(ctx context.Context, who actor.Actor, in WaiveInput) (Waived, error) {
	if err := who.Need(actor.WaiveFit); err != nil {
		return Waived{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, jobcard.MaxShort)
	f.Must("reason", in.Reason, "the reason; it stays on the card")
	if err := f.Err(); err != nil {
		return Waived{}, err
	}
	return change.Do(ctx, s.db, who, "waive the check of fit", in, func(ctx context.Context, tx *change.Tx) (Waived, error) {
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if err != nil {
			return Waived{}, err
		}
		switch {
		case c.Stage == jobcard.Collected || c.Stage == jobcard.Cancelled:
			return Waived{}, apperr.New(apperr.Conflict, "this card is %s: nothing on it can be changed any more", c.Stage)
		case p.LineID == 0:
			return Waived{}, apperr.New(apperr.Conflict, "this part is for the card as a whole: no line waits for it")
		case p.Waiver != 0:
			return Waived{}, apperr.New(apperr.Conflict, "this part has been let through already")
		case !p.Held:
			return Waived{}, apperr.New(apperr.Conflict, "this part holds up nothing: there is nothing to let through")
		case p.Verdict != in.Verdict:
			return Waived{}, apperr.New(apperr.Conflict, "the verdict on %s is “%s” by now, not “%s”: look at it again first", p.Name, p.Verdict, in.Verdict)
		}
		out := Waived{Changed: jobcard.Changed{CardID: c.ID, LineID: p.LineID, PartID: p.ID, Version: p.Version}}
		err = tx.QueryRow(ctx, `
			insert into fit_waiver (card_id, line_id, part_id, number_key, verdict, reason, by_staff, at)
			values ($1, $2, $3, number_key($4), $5, $6, nullif($7::bigint, 0), $8) returning id`,
			c.ID, p.LineID, p.ID, p.Number, p.Verdict, in.Reason, who.StaffID, tx.At).Scan(&out.WaiverID)
		if err != nil {
			return Waived{}, fmt.Errorf("waive: %w", err)
		}
		tx.Record("part let through", int64(c.ID), p.Name, map[string]any{
			"part": p.ID, "number": p.Number, "line": p.LineID, "verdict": p.Verdict, "reason": in.Reason,
		})
		return out, nil
	})
}
