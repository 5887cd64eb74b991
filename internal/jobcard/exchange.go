package jobcard

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
)

// ExchangeInput says what a part is surcharged until the old unit is here, and
// how many old ones came.
type ExchangeInput struct {
	PartID  PartID
	Version int
	// Surcharge each, net; nil for none.
	Surcharge *money.Minor
	// Back is how many old units came, in thousandths.
	Back int64
}

// SetExchange sets the surcharge on an exchange unit, and gives it back as far
// as old units came. A stale version gives a Conflict with the Part as it
// stands. Messages are at surcharge and back.
func (s *Service) SetExchange(ctx context.Context, who actor.Actor, in ExchangeInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	if in.Surcharge != nil && (*in.Surcharge < 0 || *in.Surcharge > maxPrice) {
		f.Add("surcharge", "a surcharge lies between 0 and %s", money.FormatPlain(maxPrice))
	}
	if in.Surcharge == nil && in.Back != 0 {
		f.Add("back", "there is no surcharge to give back")
	}
	if in.Back < 0 {
		f.Add("back", "say how many old units came")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "set exchange surcharge", in, cardOf("part", `select card_id from part where id = $1`, in.PartID), func(ctx context.Context, tx *change.Tx, c Card, _ Extras) (Changed, error) {
		p, err := partByID(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, err
		}
		switch err := p.changeable(c, in.Version); {
		case err != nil:
			return Changed{}, err
		case p.Source == FromCustomer:
			return Changed{}, apperr.Field("surcharge", "the customer's own part has no exchange surcharge")
		case in.Back > p.Qty:
			return Changed{}, apperr.Field("back", "that is more than the %s on the card", money.FormatQuantity(p.Qty))
		}
		if _, err := tx.Exec(ctx, `update part set exchange_minor = $2, exchange_back_milli = $3, version = version + 1 where id = $1`,
			p.ID, in.Surcharge, in.Back); err != nil {
			return Changed{}, fmt.Errorf("set exchange surcharge: %w", err)
		}
		tx.Record("exchange surcharge", int64(c.ID), p.Name, map[string]any{
			"part": p.ID, "each": in.Surcharge, "each was": p.Exchange, "back thousandths": in.Back, "back was": p.ExchangeBack,
		})
		return Changed{LineID: p.LineID, PartID: p.ID, Version: p.Version + 1}, nil
	})
}
