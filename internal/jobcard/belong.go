package jobcard

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

// LineOn gives a NotFound error unless the line is one of the card's. A line
// never moves to another card, so this may be asked before a change.
func (s *Service) LineOn(ctx context.Context, who actor.Actor, card CardID, line LineID) error {
	return s.has(ctx, who, "line", `select exists (select from line where id = $1 and card_id = $2)`, line, card)
}

// PartOn is LineOn for a part of a card.
func (s *Service) PartOn(ctx context.Context, who actor.Actor, card CardID, part PartID) error {
	return s.has(ctx, who, "part", `select exists (select from part where id = $1 and card_id = $2)`, part, card)
}

// PartOfLine is LineOn for a part of a line.
func (s *Service) PartOfLine(ctx context.Context, who actor.Actor, line LineID, part PartID) error {
	return s.has(ctx, who, "part on this line", `select exists (select from part where id = $1 and line_id = $2)`, part, line)
}

// AdjustmentOn, MenuOn and FeeOn are LineOn for what a card is priced with.
func (s *Service) AdjustmentOn(ctx context.Context, who actor.Actor, card CardID, id AdjustmentID) error {
	return s.has(ctx, who, "discount or surcharge", `select exists (select from card_adjustment where id = $1 and card_id = $2)`, id, card)
}

// MenuOn is LineOn for a menu.
func (s *Service) MenuOn(ctx context.Context, who actor.Actor, card CardID, id MenuID) error {
	return s.has(ctx, who, "menu", `select exists (select from card_menu where id = $1 and card_id = $2)`, id, card)
}

// FeeOn is LineOn for a fee.
func (s *Service) FeeOn(ctx context.Context, who actor.Actor, card CardID, id FeeID) error {
	return s.has(ctx, who, "fee", `select exists (select from card_fee where id = $1 and card_id = $2)`, id, card)
}

func (s *Service) has(ctx context.Context, who actor.Actor, what, sql string, args ...any) error {
	if err := who.Need(actor.ReadCards); err != nil {
		return err
	}
	var there bool
	if err := s.db.Pool.QueryRow(ctx, sql, args...).Scan(&there); err != nil {
		return fmt.Errorf("look for a %s: %w", what, err)
	}
	if !there {
		return apperr.NoSuch(what)
	}
	return nil
}
