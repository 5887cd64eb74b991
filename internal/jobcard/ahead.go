package jobcard

import (
	"context"
	"errors"
	"fmt"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// The customer's yes stands before the work: a line that is not agreed is
// neither started nor ticked, unless the desk or the owner says why it may be.

// NotAgreed is a line that somebody was stopped at since the customer has not
// agreed to it.
type NotAgreed struct {
	CardID CardID
	LineID LineID
	Title  string
	// Refused is what was refused, as in "start it".
	Refused string
	// Again says that it was agreed to at less than it costs by now.
	Again bool
}

func (n NotAgreed) err() error {
	why := "the customer has not said yes to it"
	if n.Again {
		why = "it costs more by now than the customer agreed to"
	}
	e := apperr.New(apperr.Conflict, "“%s”: you cannot %s yet, since %s. The desk asks them and notes the answer on the card, or says why it goes ahead without.",
		n.Title, n.Refused, why)
	e.Current = n
	return e
}

// NotAgreedOf gives the line that an error tells of, if it tells of one.
func NotAgreedOf(err error) (NotAgreed, bool) {
	var e *apperr.Error
	if !errors.As(err, &e) {
		return NotAgreed{}, false
	}
	n, ok := e.Current.(NotAgreed)
	return n, ok
}

// MayBeWorkedOn tells whether the customer's yes, or somebody's reason to go
// ahead without, lets the line be worked on.
func (l Line) MayBeWorkedOn() bool {
	return l.Consent == Agreed || l.Consent == Asked && l.AheadWhy != ""
}

// passConsent refuses to do something with a line that is not agreed. refused
// says what, as in "start it".
func (l Line) passConsent(refused string) error {
	if l.MayBeWorkedOn() {
		return nil
	}
	return NotAgreed{CardID: l.CardID, LineID: l.ID, Title: l.Title, Refused: refused, Again: l.AgreedNet != nil}.err()
}

// AheadInput lets a line be worked on that is not agreed, or takes that back.
type AheadInput struct {
	LineID LineID
	Reason string
	Back   bool
}

// GoAhead lets a line be worked on though the customer has not agreed to it,
// with the reason, until they answer; or, with Back, takes that back. The work
// stands at day's end as work nobody agreed to. Messages are at reason.
func (s *Service) GoAhead(ctx context.Context, who actor.Actor, in AheadInput) (Changed, error) {
	if err := who.Need(actor.RecordConsent); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	if !in.Back {
		f.Must("reason", in.Reason, "the reason")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "go ahead", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		switch err := c.editable(); {
		case err != nil:
			return Changed{}, err
		case l.Struck():
			return Changed{}, apperr.New(apperr.Conflict, "this line has been struck out")
		case l.Consent == Agreed:
			return Changed{}, apperr.New(apperr.Conflict, "the customer agreed to this line: it needs no reason")
		case l.Consent == Declined:
			return Changed{}, apperr.New(apperr.Conflict, "the customer declined this line: record a yes before it is worked on")
		case in.Back && l.AheadWhy == "":
			return Changed{}, apperr.New(apperr.Conflict, "nobody said that this line may go ahead")
		}
		kind, by, at := "go ahead, not agreed", tx.Who.StaffID, tx.At
		if in.Back {
			kind, by, at, in.Reason = "go ahead taken back", 0, time.Time{}, ""
		}
		if _, err := tx.Exec(ctx, `update line set ahead_reason = $2, ahead_by = nullif($3::bigint, 0), ahead_at = $4, version = version + 1
			where id = $1`, l.ID, in.Reason, by, orNull(at)); err != nil {
			return Changed{}, fmt.Errorf("go ahead: %w", err)
		}
		tx.Record(kind, int64(c.ID), l.Title, map[string]any{"line": l.ID, "reason": in.Reason})
		return Changed{CardID: c.ID, LineID: l.ID, Version: l.Version + 1}, nil
	})
}
