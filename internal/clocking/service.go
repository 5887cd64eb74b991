package clocking

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
)

// Service is what technicians do with lines, and what becomes of their time.
type Service struct {
	db *change.DB
}

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// OnInput asks to be clocked on to a line.
type OnInput struct {
	LineID jobcard.LineID
	// Read are the cautions that the technician has just read and says so.
	Read []caution.Key
}

// On is the result of clocking on.
type On struct {
	CardID     jobcard.CardID
	LineID     jobcard.LineID
	ClockingID ID
	// Left is the line that was clocked off for it, 0 when there was none.
	Left jobcard.LineID
	// UpToStripDown says that the line may be worked on until the old parts
	// come off and no further, since a part of it was not found to fit.
	UpToStripDown bool `json:",omitempty"`
}

// ClockOn clocks the actor on to a line and off the one before, and marks them
// as in. Errors: Conflict when the line cannot be worked on, or comes after
// one that is not finished; Conflict with Unread when its cautions have not
// been read by this person on this line; Conflict with jobcard.Closed when it
// is stripped down and a part of it was not found to fit.
func (s *Service) ClockOn(ctx context.Context, who actor.Actor, in OnInput) (On, error) {
	if err := person(who); err != nil {
		return On{}, err
	}
	if err := validRead(in.Read); err != nil {
		return On{}, err
	}
	return change.Do(ctx, s.db, who, "clock on", in, func(ctx context.Context, tx *change.Tx) (On, error) {
		h, err := lockHand(ctx, tx, who.StaffID)
		if err != nil {
			return On{}, err
		}
		if h.open.ID != 0 && h.open.LineID == in.LineID {
			return On{CardID: h.open.CardID, LineID: in.LineID, ClockingID: h.open.ID}, nil
		}
		c, l, err := lockFor(ctx, tx, in.LineID, h.open)
		if err != nil {
			return On{}, err
		}
		holds, err := mayStart(ctx, tx, c, l, in.Read)
		if err != nil {
			return On{}, err
		}
		if err := leave(ctx, tx, h.open); err != nil {
			return On{}, err
		}
		id, err := begin(ctx, tx, h, l)
		if err != nil {
			return On{}, err
		}
		return On{CardID: c.ID, LineID: l.ID, ClockingID: id, Left: h.open.LineID, UpToStripDown: len(holds) > 0}, nil
	})
}

// mayStart sets a locked line in hand, if it may be: its turn has come, its
// cautions have been read, and it is not stripped down with a part that nobody
// found to fit. It gives such parts of a line that is not.
func mayStart(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line, read []caution.Key) ([]jobcard.Hold, error) {
	if err := jobcard.Start(ctx, tx, c, l); err != nil {
		return nil, err
	}
	before, err := unfinishedBefore(ctx, tx, l.ID)
	if err != nil {
		return nil, err
	}
	if before != "" {
		return nil, apperr.New(apperr.Conflict, "“%s” comes after “%s”, which is not finished", l.Title, before)
	}
	if l.Stripped() {
		if err := jobcard.PassGate(ctx, tx, l, "go on with it"); err != nil {
			return nil, err
		}
	}
	if len(read) > 0 {
		if err := putRead(ctx, tx, c, l, read); err != nil {
			return nil, err
		}
	}
	cautions, err := cautionsFor(ctx, tx, l.ID, tx.Who.StaffID)
	if err != nil {
		return nil, err
	}
	if unread := cautions.Unread(); len(unread) > 0 {
		return nil, Unread{LineID: l.ID, CardID: c.ID, Title: l.Title, Cautions: unread}.err()
	}
	return jobcard.Holds(ctx, tx, l.ID)
}

// begin writes the clocking itself.
func begin(ctx context.Context, tx *change.Tx, h hand, l jobcard.Line) (ID, error) {
	from := tx.At
	if h.lastEnd.After(from) && h.lastEnd.Sub(from) <= skew {
		from = h.lastEnd
	}
	id, err := insert(ctx, tx, h, l.ID, from)
	if err != nil {
		return 0, err
	}
	tx.Record("clocked on", int64(l.CardID), l.Title, map[string]any{"line": l.ID, "clocking": id})
	_, _, err = roster.EnsurePresent(ctx, tx, h.staff)
	return id, err
}

// OffInput asks to be clocked off.
type OffInput struct{}

// Off is the result of clocking off; all zero when there was nothing to leave.
type Off struct {
	CardID     jobcard.CardID
	LineID     jobcard.LineID
	ClockingID ID
}

// ClockOff clocks the actor off whatever they are on.
func (s *Service) ClockOff(ctx context.Context, who actor.Actor, in OffInput) (Off, error) {
	if err := person(who); err != nil {
		return Off{}, err
	}
	return change.Do(ctx, s.db, who, "clock off", in, func(ctx context.Context, tx *change.Tx) (Off, error) {
		return offNow(ctx, tx, who.StaffID)
	})
}

// GoHome clocks the actor off and signs them out of work. Errors: Conflict
// when they are not in, or an earlier day was left open.
func (s *Service) GoHome(ctx context.Context, who actor.Actor, in OffInput) (Off, error) {
	if err := person(who); err != nil {
		return Off{}, err
	}
	return change.Do(ctx, s.db, who, "go home", in, func(ctx context.Context, tx *change.Tx) (Off, error) {
		off, err := offNow(ctx, tx, who.StaffID)
		if err != nil {
			return off, err
		}
		_, err = roster.Leave(ctx, tx, who.StaffID)
		return off, err
	})
}

func offNow(ctx context.Context, tx *change.Tx, id actor.StaffID) (Off, error) {
	h, err := lockHand(ctx, tx, id)
	if err != nil || h.open.ID == 0 {
		return Off{}, err
	}
	if _, _, err := jobcard.LockLine(ctx, tx, h.open.LineID); err != nil {
		return Off{}, err
	}
	if err := leave(ctx, tx, h.open); err != nil {
		return Off{}, err
	}
	return Off{CardID: h.open.CardID, LineID: h.open.LineID, ClockingID: h.open.ID}, nil
}

// ReadInput says which cautions of a line somebody has read.
type ReadInput struct {
	LineID   jobcard.LineID
	Cautions []caution.Key
}

// ReadCautions records that the actor has read cautions of a line.
func (s *Service) ReadCautions(ctx context.Context, who actor.Actor, in ReadInput) (jobcard.Changed, error) {
	if err := person(who); err != nil {
		return jobcard.Changed{}, err
	}
	if len(in.Cautions) == 0 {
		return jobcard.Changed{}, apperr.Field("caution", "say which cautions you have read")
	}
	if err := validRead(in.Cautions); err != nil {
		return jobcard.Changed{}, err
	}
	return change.Do(ctx, s.db, who, "read cautions", in, func(ctx context.Context, tx *change.Tx) (jobcard.Changed, error) {
		c, l, err := jobcard.LockLine(ctx, tx, in.LineID)
		if err != nil {
			return jobcard.Changed{}, err
		}
		return jobcard.Changed{CardID: c.ID, LineID: l.ID, Version: l.Version}, putRead(ctx, tx, c, l, in.Cautions)
	})
}

// person refuses whoever is nobody on the staff: a command on the console has
// no hands.
func person(who actor.Actor) error {
	if err := who.Need(actor.Work); err != nil {
		return err
	}
	if who.StaffID < 1 {
		return apperr.New(apperr.Forbidden, "only somebody on the staff can be clocked on")
	}
	return nil
}
