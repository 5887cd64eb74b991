package jobcard

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// The gate stands before the old parts come off: while a part of a line is
// unchecked, does not fit or cannot be told, and nobody entitled has let it
// through, the line is worked on up to strip-down and no further.

// WaiverID names one waiver of a check of fit.
type WaiverID int64

// Hold is a part that keeps the gate of its line closed.
type Hold struct {
	PartID  PartID
	Name    string
	Number  string
	Verdict Verdict
}

// Words says what is the matter: Thermostat housing TH-1404 does not fit.
func (h Hold) Words() string {
	name := h.Name
	if h.Number != "" {
		name += " " + h.Number
	}
	switch h.Verdict {
	case DoesNotFit:
		return name + " does not fit"
	case CannotTell:
		return "whether " + name + " fits cannot be told"
	}
	return name + " is unchecked"
}

// Next says what to do about it.
func (h Hold) Next() string {
	switch h.Verdict {
	case DoesNotFit:
		return "send it back, or put right what is wrong about the part or the car"
	case CannotTell:
		return "look at the car for what is missing"
	}
	return "check it at the bench"
}

// hold is the part as a hold.
func (p Part) hold() Hold { return Hold{p.ID, p.Name, p.Number, p.Verdict} }

// Closed is a gate that stopped somebody.
type Closed struct {
	CardID CardID
	LineID LineID
	Title  string
	// Refused is what was refused, as in "tick it".
	Refused string
	Holds   []Hold
}

func (c Closed) err() error {
	words := make([]string, len(c.Holds))
	for i, h := range c.Holds {
		words[i] = h.Words() + ": " + h.Next()
	}
	e := apperr.New(apperr.Conflict, "“%s”: you cannot %s yet. %s. Or the desk or the owner lets it through, with the reason.",
		c.Title, c.Refused, upperFirst(strings.Join(words, "; ")))
	e.Current = c
	return e
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// ClosedOf gives the gate that an error tells of, if it tells of one.
func ClosedOf(err error) (Closed, bool) {
	var e *apperr.Error
	if !errors.As(err, &e) {
		return Closed{}, false
	}
	c, ok := e.Current.(Closed)
	return c, ok
}

// Holds gives the parts that keep the gate of a line closed; none when it is
// open.
func Holds(ctx context.Context, q pg.Querier, id LineID) ([]Hold, error) {
	return pg.All[Hold](ctx, q, "parts to be checked", `
		select p.id as part_id, p.name, p.number, p.verdict from part p where p.line_id = $1 and `+HeldSQL+` order by p.id limit 200`, id)
}

// PassGate refuses to do something with a line whose gate is closed. refused
// says what, as in "tick it".
func PassGate(ctx context.Context, tx *change.Tx, l Line, refused string) error {
	holds, err := Holds(ctx, tx, l.ID)
	if err != nil || len(holds) == 0 {
		return err
	}
	return Closed{CardID: l.CardID, LineID: l.ID, Title: l.Title, Refused: refused, Holds: holds}.err()
}

// HoldsOf gives the parts of the sheet that keep the gate of a line closed.
func (s *Sheet) HoldsOf(id LineID) []Hold {
	var out []Hold
	for _, p := range s.PartsOf(id) {
		if p.Held {
			out = append(out, p.hold())
		}
	}
	return out
}

// StripInput says of a line that its old parts come off, or that they are on
// after all.
type StripInput struct {
	LineID LineID
	Back   bool
}

// Strip records that the old parts of a line come off, which the gate must be
// open for; or, with Back, that they are on again. Errors: Conflict, with
// Closed when the gate is.
func (s *Service) Strip(ctx context.Context, who actor.Actor, in StripInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "old parts off", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := l.mayStrip(c, in.Back); err != nil {
			return Changed{}, err
		}
		if !in.Back {
			if err := PassGate(ctx, tx, l, "take the old parts off"); err != nil {
				return Changed{}, err
			}
		}
		if err := setStripped(ctx, tx, l, !in.Back); err != nil {
			return Changed{}, err
		}
		return Changed{CardID: c.ID, LineID: l.ID, Version: l.Version + 1}, nil
	})
}

func (l Line) mayStrip(c Card, back bool) error {
	switch {
	case !c.Stage.Workable():
		return apperr.New(apperr.Conflict, "this card is %s: the car is not being worked on", c.Stage)
	case l.Struck():
		return apperr.New(apperr.Conflict, "this line has been struck out")
	case l.WorkState == Done || l.Consent == Declined:
		return apperr.New(apperr.Conflict, "this line is settled: open it again first")
	case l.Stripped() && !back:
		return apperr.New(apperr.Conflict, "the old parts are off already")
	case !l.Stripped() && back:
		return apperr.New(apperr.Conflict, "the old parts are on")
	}
	return nil
}

func setStripped(ctx context.Context, tx *change.Tx, l Line, off bool) error {
	_, err := tx.Exec(ctx, `update line set stripped_at = case when $2 then $3::timestamptz end, version = version + 1 where id = $1`,
		l.ID, off, tx.At)
	if err != nil {
		return fmt.Errorf("set old parts off: %w", err)
	}
	kind := "old parts off"
	if !off {
		kind = "old parts on again"
	}
	tx.Record(kind, int64(l.CardID), l.Title, map[string]any{"line": l.ID})
	return nil
}
