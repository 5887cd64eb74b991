package jobcard

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// The helpers here move a line's work state inside somebody's transaction.
// Whoever calls them has locked the card with LockLine, and looks after the
// clockings on the line.

// Start sets a line in hand, and its card in work. Errors: Conflict when the
// car is not here, or the line is done, deferred, declined or struck out;
// Conflict with NotAgreed when the customer has not agreed to it.
func Start(ctx context.Context, tx *change.Tx, c Card, l Line) error {
	if !c.Stage.Workable() && c.Stage != Ready {
		return apperr.New(apperr.Conflict, "this card is %s: the car is not here to be worked on", c.Stage)
	}
	if l.WorkState != InHand || l.Struck() {
		if err := l.mayBecome(InHand); err != nil {
			return err
		}
	}
	if err := l.passConsent("start it"); err != nil {
		return err
	}
	if l.WorkState == InHand {
		return nil // a second technician joins in
	}
	if c.Stage != InWork {
		if err := setStage(ctx, tx, c, InWork); err != nil {
			return err
		}
	}
	return setWork(ctx, tx, l, InHand, "", "")
}

// Rest sets a line that nobody works on any more from in hand back to open.
func Rest(ctx context.Context, tx *change.Tx, l Line) error {
	if l.WorkState != InHand {
		return nil
	}
	return setWork(ctx, tx, l, Open, "", "")
}

// Tick sets a line done; its parts that are here count as fitted. Error:
// Conflict with NotAgreed while the customer has not agreed to it, and with
// Closed while one of its parts was not found to fit.
func Tick(ctx context.Context, tx *change.Tx, c Card, l Line) error {
	if !c.Stage.Workable() {
		return apperr.New(apperr.Conflict, "this card is %s: nothing on it can be ticked", c.Stage)
	}
	if err := l.mayBecome(Done); err != nil {
		return err
	}
	if err := l.passConsent("tick it"); err != nil {
		return err
	}
	if err := PassGate(ctx, tx, l, "tick it"); err != nil {
		return err
	}
	if err := setWork(ctx, tx, l, Done, "", ""); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `update part set supply = 'fitted', version = version + 1
		where line_id = $1 and supply = 'arrived' and struck_at is null`, l.ID); err != nil {
		return fmt.Errorf("set parts fitted: %w", err)
	}
	if c.Stage == OnSite {
		return setStage(ctx, tx, c, InWork)
	}
	return nil
}

// PutOff defers a line, with the reason and who decided.
func PutOff(ctx context.Context, tx *change.Tx, c Card, l Line, reason, decidedBy string) error {
	if err := c.editable(); err != nil {
		return err
	}
	if err := l.mayBecome(Deferred); err != nil {
		return err
	}
	return setWork(ctx, tx, l, Deferred, reason, decidedBy)
}

// Wait sets a line waiting on parts, saying which or why.
func Wait(ctx context.Context, tx *change.Tx, c Card, l Line, reason string) error {
	if err := c.editable(); err != nil {
		return err
	}
	if err := l.mayBecome(Waiting); err != nil {
		return err
	}
	return setWork(ctx, tx, l, Waiting, reason, "")
}

// OpenAgain opens a line that was done, deferred or waiting. A second check
// of it no longer counts.
func OpenAgain(ctx context.Context, tx *change.Tx, c Card, l Line, reason string) error {
	if err := c.editable(); err != nil {
		return err
	}
	if err := l.mayBecome(Open); err != nil {
		return err
	}
	if c.Stage == Ready {
		if err := setStage(ctx, tx, c, InWork); err != nil {
			return err
		}
	}
	if _, err := tx.Exec(ctx, `update second_check set undone_at = $2 where line_id = $1 and undone_at is null`, l.ID, tx.At); err != nil {
		return fmt.Errorf("undo the check: %w", err)
	}
	if l.WorkState == Done && l.Stripped() { // it was put together since
		if err := setStripped(ctx, tx, l, false); err != nil {
			return err
		}
	}
	if err := setWork(ctx, tx, l, Open, "", ""); err != nil {
		return err
	}
	tx.Record("line opened again", int64(c.ID), l.Title, map[string]any{"line": l.ID, "was": l.WorkState, "reason": reason})
	return nil
}

func setWork(ctx context.Context, tx *change.Tx, l Line, to WorkState, reason, decidedBy string) error {
	_, err := tx.Exec(ctx, `
		update line set work_state = $2, state_reason = $3, decided_by = $4, version = version + 1,
			done_at = case when $2 = 'done' then $5::timestamptz end,
			done_by = case when $2 = 'done' then nullif($6::bigint, 0) end
		where id = $1`, l.ID, to, reason, decidedBy, tx.At, tx.Who.StaffID)
	if err != nil {
		return fmt.Errorf("set the line %s: %w", to, err)
	}
	detail := map[string]any{"line": l.ID, "was": l.WorkState}
	if reason != "" {
		detail["reason"] = reason
	}
	if decidedBy != "" {
		detail["decided by"] = decidedBy
	}
	tx.Record("line "+string(to), int64(l.CardID), l.Title, detail)
	return nil
}

// CheckInput is a second person's check of a line that is done.
type CheckInput struct {
	LineID LineID
	// TorqueNm is the torque the wheel fastenings were checked at, in newton
	// metres; needed where a wheel was off.
	TorqueNm float64
	Note     string
}

// SecondCheck records that a second person, who had no hand in the line, has
// checked it.
func (s *Service) SecondCheck(ctx context.Context, who actor.Actor, in CheckInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Note = f.Prose("note", in.Note, MaxNote)
	if in.TorqueNm != 0 && !(in.TorqueNm >= 1 && in.TorqueNm <= 2000) {
		f.Add("torque_nm", "a torque lies between 1 and 2000 Nm")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "second check", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		var hadAHand, checked bool
		err = tx.QueryRow(ctx, `select exists (select from clocking where line_id = $1 and staff_id = $2 and not voided),
			exists (select from second_check where line_id = $1 and undone_at is null)`, l.ID, who.StaffID).Scan(&hadAHand, &checked)
		if err != nil {
			return Changed{}, fmt.Errorf("look who worked on it: %w", err)
		}
		switch {
		case l.WorkState != Done || l.Struck():
			return Changed{}, apperr.New(apperr.Conflict, "this line is not done yet: there is nothing to check")
		case !l.Safety && !l.WheelsOff:
			return Changed{}, apperr.New(apperr.Conflict, "this line needs no second check")
		case checked:
			return Changed{}, apperr.New(apperr.Conflict, "this line has been checked already")
		case hadAHand || l.DoneBy == who.StaffID:
			return Changed{}, apperr.New(apperr.Forbidden, "you worked on this line: somebody else must check it")
		case l.WheelsOff && in.TorqueNm == 0:
			return Changed{}, apperr.Field("torque_nm", "a wheel was off: give the torque you checked, in Nm")
		}
		if _, err := tx.Exec(ctx, `insert into second_check (line_id, by_staff, torque_nm, note, at)
			values ($1, $2, nullif($3::float8, 0)::numeric(6, 1), $4, $5)`, l.ID, who.StaffID, in.TorqueNm, in.Note, tx.At); err != nil {
			return Changed{}, fmt.Errorf("record the check: %w", err)
		}
		tx.Record("line checked", int64(c.ID), l.Title, map[string]any{"line": l.ID, "torque Nm": in.TorqueNm, "note": in.Note})
		return Changed{CardID: c.ID, LineID: l.ID}, nil
	})
}
