package jobcard

import (
	"context"
	"fmt"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// The helpers here move a card's part along inside the stores' transaction:
// part.supply is the one truth of where a card's part is. Whoever calls them
// has locked the card with LockPart, and the part is as it was read there.

// LockPart locks the card that a part is on, and reads both.
func LockPart(ctx context.Context, tx *change.Tx, id PartID) (Card, Part, error) {
	return lockPart(ctx, tx, id)
}

// Open tells whether anything on the card can still be changed.
func (c Card) Open() bool { return c.editable() == nil }

// Ordering is what an order says of a card's part.
type Ordering struct {
	SupplierID garage.SupplierID
	DueAt      time.Time
	// Cost each, net; nil leaves what the card has.
	Cost *money.Minor
}

// OrderPart sets a needed part ordered. A dearer one may ask the customer
// again. Errors: Conflict when it is not needed, or the card is finished.
func OrderPart(ctx context.Context, tx *change.Tx, c Card, p Part, o Ordering) error {
	if err := p.changeable(c, p.Version); err != nil {
		return err
	}
	switch {
	case p.Source == FromCustomer:
		return apperr.New(apperr.Conflict, "%s is the customer's own: it is brought, not ordered", p.Name)
	case p.Supply != Needed:
		return apperr.New(apperr.Conflict, "%s is %s already", p.Name, p.Supply)
	}
	cost := p.Cost
	if o.Cost != nil {
		cost = *o.Cost
	}
	_, err := tx.Exec(ctx, `update part set supply = 'ordered', supplier_id = $2, due_at = $3, cost_minor = $4, version = version + 1 where id = $1`,
		p.ID, o.SupplierID, orNull(o.DueAt), cost)
	if err := pg.Explain(err, "part", partRules); err != nil {
		return err
	}
	tx.Record("part ordered", int64(c.ID), p.Name, map[string]any{
		"part": p.ID, "was": p.Supply, "due": orNull(o.DueAt), "supplier": o.SupplierID, "cost": cost, "cost was": p.Cost,
	})
	if cost == p.Cost {
		return nil
	}
	if err := payable(ctx, tx, c.ID, "cost"); err != nil {
		return err
	}
	return askAgain(ctx, tx, c.ID)
}

// ExpectPart notes when an ordered part comes by now.
func ExpectPart(ctx context.Context, tx *change.Tx, p Part, due time.Time) error {
	if _, err := tx.Exec(ctx, `update part set due_at = $2, version = version + 1 where id = $1`, p.ID, orNull(due)); err != nil {
		return fmt.Errorf("set when the part is due: %w", err)
	}
	tx.Record("part due at another time", int64(p.CardID), p.Name, map[string]any{"part": p.ID, "was": orNull(p.DueAt), "due": orNull(due)})
	return nil
}

// PartCame sets a part arrived. Its line goes on when nothing is outstanding
// any more. It does nothing on a card that is finished, for a part that was
// struck out, or one that is here already, and tells whether it did.
func PartCame(ctx context.Context, tx *change.Tx, c Card, p Part) (bool, error) {
	if !c.Open() || !p.Outstanding() {
		return false, nil
	}
	if err := putSupply(ctx, tx, p, Arrived); err != nil {
		return false, err
	}
	if err := noteArrival(ctx, tx, p.ID); err != nil {
		return false, err
	}
	return true, openIfComplete(ctx, tx, c, p.LineID)
}

// TakePart is PartCame for a part that comes off the garage's own shelf at a
// cost each. What the customer agreed to pay for it stays as it was: only what
// it costs the garage has changed.
func TakePart(ctx context.Context, tx *change.Tx, c Card, p Part, cost money.Minor) error {
	if err := p.changeable(c, p.Version); err != nil {
		return err
	}
	if p.Source == FromCustomer || !p.Outstanding() {
		return apperr.New(apperr.Conflict, "%s is %s already", p.Name, p.Supply)
	}
	unit := p.Unit()
	_, err := tx.Exec(ctx, `
		update part set cost_minor = $2, version = part.version + 1,
			price_minor = case when l.consent = 'agreed' then $3 else part.price_minor end,
			markup_bp = case when l.consent = 'agreed' then null else part.markup_bp end
		from part q left join line l on l.id = q.line_id where part.id = $1 and q.id = part.id`, p.ID, cost, unit)
	if err != nil {
		return fmt.Errorf("set what the part cost: %w", err)
	}
	if _, err := PartCame(ctx, tx, c, p); err != nil {
		return err
	}
	if err := payable(ctx, tx, c.ID, "item"); err != nil {
		return err
	}
	return askAgain(ctx, tx, c.ID)
}

// NeedPart sets a part needed again: its order came to nothing, or it went
// back on the shelf.
func NeedPart(ctx context.Context, tx *change.Tx, c Card, p Part) error {
	if !c.Open() || p.Struck() || p.Supply == Needed {
		return nil
	}
	if _, err := tx.Exec(ctx, `update part set due_at = null where id = $1`, p.ID); err != nil {
		return fmt.Errorf("the part is due no more: %w", err)
	}
	return putSupply(ctx, tx, p, Needed)
}

// DropPart says that a part is not coming.
func DropPart(ctx context.Context, tx *change.Tx, c Card, p Part) error {
	if !c.Open() || p.Struck() {
		return nil
	}
	return putSupply(ctx, tx, p, NotComing)
}

// SendBack sets a part going back; where it is needed again, the same is put
// on the card anew, and its id given. Without its number where that was the
// mistake. Errors: Conflict when the card is finished or the part struck out.
func SendBack(ctx context.Context, tx *change.Tx, c Card, p Part, again, wrongNumber bool) (PartID, error) {
	if err := p.changeable(c, p.Version); err != nil {
		return 0, err
	}
	if p.Supply == GoingBack || p.Supply == Credited {
		return 0, apperr.New(apperr.Conflict, "%s is %s already", p.Name, p.Supply)
	}
	if _, err := tx.Exec(ctx, `update part set supply = 'going back', version = version + 1 where id = $1`, p.ID); err != nil {
		return 0, fmt.Errorf("send the part back: %w", err)
	}
	detail := map[string]any{"part": p.ID, "number": p.Number, "was": p.Supply}
	var id PartID
	if again {
		err := tx.QueryRow(ctx, `
			insert into part (card_id, line_id, name, number, supplier_id, qty_milli, cost_minor, price_minor, markup_bp, vat_code,
				quoted_qty_milli, quoted_cost_minor, source)
			select card_id, line_id, name, case when $2 then '' else number end, supplier_id, qty_milli, cost_minor, price_minor, markup_bp,
				vat_code, quoted_qty_milli, quoted_cost_minor, source from part where id = $1 returning id`, p.ID, wrongNumber).Scan(&id)
		if err != nil {
			return 0, fmt.Errorf("need the part again: %w", err)
		}
		detail["needed again as"] = id
	}
	tx.Record("part going back", int64(c.ID), p.Name, detail)
	tx.Touch(change.Card, int64(c.ID))
	return id, nil
}

// CreditPart says that the money for a part that went back has come. It may
// come long after the card was finished, and changes no price on it.
func CreditPart(ctx context.Context, tx *change.Tx, p Part) error {
	if p.Supply != GoingBack {
		return nil
	}
	return putSupply(ctx, tx, p, Credited)
}

func putSupply(ctx context.Context, tx *change.Tx, p Part, to Supply) error {
	if _, err := tx.Exec(ctx, `update part set supply = $2, version = version + 1 where id = $1`, p.ID, to); err != nil {
		return fmt.Errorf("set supply: %w", err)
	}
	tx.Record("part "+string(to), int64(p.CardID), p.Name, map[string]any{"part": p.ID, "was": p.Supply})
	return nil
}

// noteArrival keeps when a part came, for the record of whoever sent it.
func noteArrival(ctx context.Context, tx *change.Tx, id PartID) error {
	if _, err := tx.Exec(ctx, `update part set arrived_at = $2 where id = $1`, id, tx.At); err != nil {
		return fmt.Errorf("note when the part came: %w", err)
	}
	return nil
}
