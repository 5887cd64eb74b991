package jobcard

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// Service is what the desk, the pages and the API do with cards.
type Service struct {
	db *change.DB
}

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// Changed is the result of a change to a card or to something on it.
type Changed struct {
	CardID CardID
	LineID LineID `json:",omitempty"`
	PartID PartID `json:",omitempty"`
	// ExtraID is the discount or surcharge, the menu or the fee.
	ExtraID int64 `json:",omitempty"`
	Version int   `json:",omitempty"`
}

// Sheet reads a whole card, without what the actor may not see. Others may
// have read what they need in the same round trip. Errors: NotFound, Forbidden.
func (s *Service) Sheet(ctx context.Context, who actor.Actor, id CardID, also ...func(*pgx.Batch)) (*Sheet, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	sh, err := readSheet(ctx, s.db.Pool, id, s.db.Now(), also...)
	if err != nil {
		return nil, err
	}
	if !who.May(actor.SeeMargins) {
		sh.withoutMoney()
	}
	if !who.May(actor.ReadPeople) {
		sh.withoutPeople()
	}
	return sh, nil
}

// Lock takes the card's row for this transaction. Whoever changes anything on
// a card calls it first, so that two changes to one card never interleave.
func Lock(ctx context.Context, tx *change.Tx, id CardID) (Card, error) {
	rows, err := tx.Query(ctx, `select `+cardColumns+` from card c where c.id = $1 for update`, id)
	if err != nil {
		return Card{}, err
	}
	c, err := pgx.CollectExactlyOneRow(rows, scanCard)
	return c, pg.Explain(err, "card", nil)
}

// LockLine locks the card that a line is on, and reads both.
func LockLine(ctx context.Context, tx *change.Tx, id LineID) (Card, Line, error) {
	var cardID CardID
	err := tx.QueryRow(ctx, `select card_id from line where id = $1`, id).Scan(&cardID)
	if err != nil {
		return Card{}, Line{}, pg.Explain(err, "line", nil)
	}
	c, err := Lock(ctx, tx, cardID)
	if err != nil {
		return c, Line{}, err
	}
	l, err := lineByID(ctx, tx, id)
	return c, l, err
}

func lockPart(ctx context.Context, tx *change.Tx, id PartID) (Card, Part, error) {
	var cardID CardID
	err := tx.QueryRow(ctx, `select card_id from part where id = $1`, id).Scan(&cardID)
	if err != nil {
		return Card{}, Part{}, pg.Explain(err, "part", nil)
	}
	c, err := Lock(ctx, tx, cardID)
	if err != nil {
		return c, Part{}, err
	}
	p, err := partByID(ctx, tx, id)
	return c, p, err
}

func lineByID(ctx context.Context, q pg.Querier, id LineID) (Line, error) {
	rows, err := q.Query(ctx, `select `+lineColumns+lineFrom+`where l.id = $1`, id)
	if err != nil {
		return Line{}, err
	}
	l, err := pgx.CollectExactlyOneRow(rows, scanLine)
	return l, pg.Explain(err, "line", nil)
}

func partByID(ctx context.Context, q pg.Querier, id PartID) (Part, error) {
	rows, err := q.Query(ctx, `select `+partColumns+partFrom+`where p.id = $1`, id)
	if err != nil {
		return Part{}, err
	}
	p, err := pgx.CollectExactlyOneRow(rows, scanPart)
	return p, pg.Explain(err, "part", nil)
}

// payable refuses a change after which the card cannot be priced: a sum that
// is more than money can hold. The message is at a field.
func payable(ctx context.Context, tx *change.Tx, id CardID, field string) error {
	p, err := LoadPriced(ctx, tx, id)
	if err != nil {
		return err
	}
	if _, err = p.Quote(); errors.Is(err, money.ErrTooLarge) {
		return apperr.Field(field, "with this the card %s", money.ErrTooLarge.Error()[len("that "):])
	}
	return err
}

// editable refuses changes to a card that is finished.
func (c Card) editable() error {
	if c.Stage == Collected || c.Stage == Cancelled {
		return apperr.New(apperr.Conflict, "this card is %s: nothing on it can be changed any more", c.Stage)
	}
	return nil
}
