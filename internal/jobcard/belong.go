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
