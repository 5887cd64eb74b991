package jobcard

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// OrderInput says that After must be done before LineID is started, or takes
// that back.
type OrderInput struct {
	LineID LineID
	After  LineID
	Remove bool
}

// SetOrder puts one line after another, or frees it. A circle is refused.
func (s *Service) SetOrder(ctx context.Context, who actor.Actor, in OrderInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "order lines", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		if !in.Remove {
			return Changed{CardID: c.ID, LineID: l.ID}, putOrder(ctx, tx, c.ID, l.ID, in.After)
		}
		tag, err := tx.Exec(ctx, `delete from line_order where line_id = $1 and after_id = $2`, l.ID, in.After)
		if err != nil {
			return Changed{}, fmt.Errorf("free a line: %w", err)
		}
		if tag.RowsAffected() == 0 {
			return Changed{}, apperr.NoSuch("order between these lines")
		}
		tx.Record("line order freed", int64(c.ID), l.Title, map[string]any{"line": l.ID, "after": in.After})
		return Changed{CardID: c.ID, LineID: l.ID}, nil
	})
}

// putOrder writes that a line comes after another one of the locked card.
func putOrder(ctx context.Context, tx *change.Tx, card CardID, line, after LineID) error {
	if err := onCard(ctx, tx, card, after); err != nil {
		return apperr.Field("after", "this line is not on the card")
	}
	// The card is locked, so nothing can close a circle meanwhile.
	var circle bool
	err := tx.QueryRow(ctx, `
		with recursive before (id) as (
			select $1::bigint
			union
			select o.after_id from line_order o join before b on o.line_id = b.id)
		select exists (select from before where id = $2)`, after, line).Scan(&circle)
	if err != nil {
		return fmt.Errorf("look for a circle: %w", err)
	}
	if circle {
		return apperr.Field("after", "these lines would wait for one another")
	}
	var count int
	if err := tx.QueryRow(ctx, `select count(*) from line_order where card_id = $1`, card).Scan(&count); err != nil {
		return fmt.Errorf("count orders: %w", err)
	}
	if count >= maxOrders {
		return apperr.Field("after", "a card holds at most %d such rules", maxOrders)
	}
	_, err = tx.Exec(ctx, `insert into line_order (card_id, line_id, after_id) values ($1, $2, $3)
		on conflict on constraint line_order_pk do nothing`, card, line, after)
	if err := pg.Explain(err, "line order", nil); err != nil {
		return err
	}
	tx.Record("line ordered", int64(card), "", map[string]any{"line": line, "after": after})
	return nil
}

// MoveInput moves a line to a place in the list, 1 being the top.
type MoveInput struct {
	LineID   LineID
	Position int
}

// MoveLine moves a line up or down the list; the others close up.
func (s *Service) MoveLine(ctx context.Context, who actor.Actor, in MoveInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	if in.Position < 1 || in.Position > MaxLines {
		return Changed{}, apperr.Field("position", "a place in the list lies between 1 and %d", MaxLines)
	}
	return change.Do(ctx, s.db, who, "move line", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		// Between its new neighbours: half a place before, or after, then count anew.
		_, err = tx.Exec(ctx, `
			update line set position = n.place from (
				select id, row_number() over (order by case when id = $2 then $3 * 2 + case when position < $3 then 1 else -1 end
					else position * 2 end, id) as place
				from line where card_id = $1) n
			where line.id = n.id and line.position <> n.place`, c.ID, l.ID, in.Position)
		if err != nil {
			return Changed{}, fmt.Errorf("move line: %w", err)
		}
		tx.Record("line moved", int64(c.ID), l.Title, map[string]any{"line": l.ID, "place": in.Position, "place was": l.Position})
		return Changed{CardID: c.ID, LineID: l.ID}, nil
	})
}
