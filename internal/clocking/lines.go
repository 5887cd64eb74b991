package clocking

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
)

// Moved is the result of a change to a line that ended the work on it.
type Moved struct {
	CardID jobcard.CardID
	LineID jobcard.LineID
	// Off are those who were clocked off by it.
	Off []actor.StaffID `json:",omitempty"`
}

// LineInput names a line.
type LineInput struct {
	LineID jobcard.LineID
}

// Tick sets a line done, and clocks off everybody who is on it.
func (s *Service) Tick(ctx context.Context, who actor.Actor, in LineInput) (Moved, error) {
	return s.move(ctx, who, "tick line", in.LineID, in, jobcard.Tick)
}

// DeferInput puts a line off to another visit.
type DeferInput struct {
	LineID jobcard.LineID
	Reason string
	// DecidedBy says who decided; the actor when empty.
	DecidedBy string
}

// Defer puts a line off, with the reason and who decided, and clocks off
// everybody who is on it. Messages are at reason and decided_by.
func (s *Service) Defer(ctx context.Context, who actor.Actor, in DeferInput) (Moved, error) {
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, jobcard.MaxShort)
	f.Must("reason", in.Reason, "the reason")
	if in.DecidedBy = f.Line("decided_by", in.DecidedBy, jobcard.MaxShort); in.DecidedBy == "" {
		in.DecidedBy = who.Name
	}
	if err := may(who, f); err != nil {
		return Moved{}, err
	}
	return s.move(ctx, who, "defer line", in.LineID, in,
		func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) error {
			return jobcard.PutOff(ctx, tx, c, l, in.Reason, in.DecidedBy)
		})
}

// ReasonInput names a line and why something is done with it.
type ReasonInput struct {
	LineID jobcard.LineID
	Reason string
}

func (in *ReasonInput) clean(who actor.Actor) error {
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, jobcard.MaxShort)
	f.Must("reason", in.Reason, "the reason")
	return may(who, f)
}

// Wait sets a line waiting on parts, and clocks off everybody who is on it.
// Messages are at reason.
func (s *Service) Wait(ctx context.Context, who actor.Actor, in ReasonInput) (Moved, error) {
	if err := in.clean(who); err != nil {
		return Moved{}, err
	}
	return s.move(ctx, who, "wait for parts", in.LineID, in,
		func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) error {
			return jobcard.Wait(ctx, tx, c, l, in.Reason)
		})
}

// Reopen opens a line that was done, deferred or waiting. A second check of it
// no longer counts. Messages are at reason.
func (s *Service) Reopen(ctx context.Context, who actor.Actor, in ReasonInput) (Moved, error) {
	if err := in.clean(who); err != nil {
		return Moved{}, err
	}
	return change.Do(ctx, s.db, who, "open line again", in, func(ctx context.Context, tx *change.Tx) (Moved, error) {
		c, l, err := jobcard.LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Moved{}, err
		}
		if l.WorkState == jobcard.InHand {
			return Moved{}, apperr.New(apperr.Conflict, "this line is in hand: it needs no opening")
		}
		return Moved{CardID: c.ID, LineID: l.ID}, jobcard.OpenAgain(ctx, tx, c, l, in.Reason)
	})
}

// move ends all work on a line and then moves it on.
func (s *Service) move(ctx context.Context, who actor.Actor, action string, id jobcard.LineID, in any,
	to func(context.Context, *change.Tx, jobcard.Card, jobcard.Line) error,
) (Moved, error) {
	if err := who.Need(actor.Work); err != nil {
		return Moved{}, err
	}
	return change.Do(ctx, s.db, who, action, in, func(ctx context.Context, tx *change.Tx) (Moved, error) {
		c, l, err := jobcard.LockLine(ctx, tx, id)
		if err != nil {
			return Moved{}, err
		}
		off, err := endAll(ctx, tx, id)
		if err != nil {
			return Moved{}, err
		}
		return Moved{CardID: c.ID, LineID: l.ID, Off: off}, to(ctx, tx, c, l)
	})
}

// may is the right to work, asked before what was typed is told about.
func may(who actor.Actor, f apperr.Fields) error {
	if err := who.Need(actor.Work); err != nil {
		return err
	}
	return f.Err()
}

// Snagged is the result of a snag.
type Snagged struct {
	Moved
	// LedTo is the line of the work that was found, to be asked; 0 when none.
	LedTo jobcard.LineID `json:",omitempty"`
}

// Snag reports what got in the way of a line and takes the next step; work on
// the line ends when it cannot go on. Messages are those of
// jobcard.SnagInput.Clean, and at part.
func (s *Service) Snag(ctx context.Context, who actor.Actor, in jobcard.SnagInput) (Snagged, error) {
	if err := who.Need(actor.Work); err != nil {
		return Snagged{}, err
	}
	if in.Found != nil {
		found := *in.Found // cleaned below, and the caller's is the caller's
		in.Found = &found
	}
	if err := in.Clean(); err != nil {
		return Snagged{}, err
	}
	return change.Do(ctx, s.db, who, "report snag", in, func(ctx context.Context, tx *change.Tx) (Snagged, error) {
		c, l, err := jobcard.LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Snagged{}, err
		}
		out := Snagged{Moved: Moved{CardID: c.ID, LineID: l.ID}}
		if in.Stops() {
			if out.Off, err = endAll(ctx, tx, l.ID); err != nil {
				return Snagged{}, err
			}
		}
		out.LedTo, err = jobcard.ReportSnag(ctx, tx, c, l, in)
		return out, err
	})
}
