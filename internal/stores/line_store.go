package stores

import (
	"context"
	"fmt"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
)

// DueInput notes when a line of an order comes by now.
type DueInput struct {
	LineID  LineID
	Version int
	DueAt   time.Time
}

// Changed is the result of a change in the stores.
type Changed struct {
	OrderID  OrderID        `json:",omitempty"`
	LineID   LineID         `json:",omitempty"`
	ReturnID ReturnID       `json:",omitempty"`
	ItemID   ItemID         `json:",omitempty"`
	CardID   jobcard.CardID `json:",omitempty"`
	PartID   jobcard.PartID `json:",omitempty"`
	Version  int            `json:",omitempty"`
}

// SetDue notes the supplier's new word. The record of being late keeps the
// first. Errors: Invalid at due_at, a stale Conflict with the Line.
func (s *Service) SetDue(ctx context.Context, who actor.Actor, in DueInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "order due at another time", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		f := apperr.Fields{}
		dueIn(f, "due_at", in.DueAt, tx.At)
		if err := f.Err(); err != nil {
			return Changed{}, err
		}
		l, c, p, err := lockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := l.changeable(in.Version); err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update purchase_line set now_due_at = $2, version = version + 1 where id = $1`, l.ID, in.DueAt.UTC()); err != nil {
			return Changed{}, fmt.Errorf("note when it is due: %w", err)
		}
		if l.PartID != 0 && c.Open() && !p.Struck() {
			if err := jobcard.ExpectPart(ctx, tx, p, in.DueAt); err != nil {
				return Changed{}, err
			}
		}
		tx.Record("order due at another time", int64(l.CardID), l.Name, map[string]any{
			"order": l.OrderID, "line": l.ID, "was": l.Due(), "due": in.DueAt,
		})
		return Changed{OrderID: l.OrderID, LineID: l.ID, CardID: l.CardID, PartID: l.PartID, Version: l.Version + 1}, nil
	})
}

// changeable refuses a change to a line that is stale, or where nothing is to
// come any more.
func (l Line) changeable(version int) error {
	switch {
	case l.Version != version:
		return apperr.Stale("line of the order", l)
	case l.Closed != "":
		return apperr.New(apperr.Conflict, "%s on order %d is %s", l.Name, l.OrderID, l.Closed)
	case !l.Open():
		return apperr.New(apperr.Conflict, "%s on order %d is here already", l.Name, l.OrderID)
	}
	return nil
}

// CloseInput says that what is left of a line does not come.
type CloseInput struct {
	LineID  LineID
	Version int
	// Never says that the supplier never sent it, which counts on their record;
	// else the garage cancelled it.
	Never bool
	Note  string
	// Drop says that the card's part is not coming at all; else it is needed again.
	Drop bool
}

// Close gives up what is left of a line. Errors: Invalid at note, a stale
// Conflict with the Line.
func (s *Service) Close(ctx context.Context, who actor.Actor, in CloseInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Note = f.Line("note", in.Note, MaxShort)
	f.Must("note", in.Note, "a word on why")
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "close a line of an order", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		l, c, p, err := lockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := l.changeable(in.Version); err != nil {
			return Changed{}, err
		}
		closed := "cancelled"
		if in.Never {
			closed = "never came"
		}
		if _, err := tx.Exec(ctx, `update purchase_line set closed = $2, closed_note = $3, closed_at = $4, version = version + 1 where id = $1`,
			l.ID, closed, in.Note, tx.At); err != nil {
			return Changed{}, fmt.Errorf("close the order's line: %w", err)
		}
		if l.PartID != 0 {
			again := jobcard.NeedPart
			if in.Drop {
				again = jobcard.DropPart
			}
			if err := again(ctx, tx, c, p); err != nil {
				return Changed{}, err
			}
		}
		tx.Record("order "+closed, int64(l.CardID), l.Name, map[string]any{"order": l.OrderID, "line": l.ID, "note": in.Note, "came thousandths": l.Came})
		return Changed{OrderID: l.OrderID, LineID: l.ID, CardID: l.CardID, PartID: l.PartID, Version: l.Version + 1}, nil
	})
}
