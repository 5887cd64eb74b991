package jobcard

import (
	"context"
	"fmt"
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// PartTerms is what is written of a part.
type PartTerms struct {
	LineID     LineID // 0: for the card as a whole
	Name       string
	Number     string
	SupplierID garage.SupplierID
	Qty        int64 // thousandths
	Cost       money.Minor
	// Price each, or MarkUp on the cost; with neither, the garage's usual
	// mark-up is put in.
	Price   *money.Minor
	MarkUp  *money.Rate
	VATCode money.VATCode
	Source  Source
	Supply  Supply
	DueAt   time.Time
}

func (t *PartTerms) clean(f apperr.Fields) {
	t.Name = f.Line("name", t.Name, MaxTitle)
	f.Must("name", t.Name, "the part a name")
	t.Number = f.Line("number", t.Number, 60)
	if t.Qty < 1 || t.Qty > 100_000_000 {
		f.Add("qty", "a quantity lies between 0.001 and 100000")
	}
	if t.Cost < 0 || t.Cost > maxPrice {
		f.Add("cost", "a cost lies between £0.00 and %s", money.Format(maxPrice))
	}
	if t.Price != nil && (*t.Price < 0 || *t.Price > maxPrice) {
		f.Add("price", "a price lies between £0.00 and %s", money.Format(maxPrice))
	}
	if t.MarkUp != nil && (*t.MarkUp < 0 || *t.MarkUp > money.MaxRate) {
		f.Add("mark_up", "a mark-up lies between 0 and 1000 %%")
	}
	if t.Price != nil && t.MarkUp != nil {
		f.Add("price", "give a price or a mark-up, not both")
	}
	if t.VATCode == "" {
		t.VATCode = money.Standard
	}
	if t.Source == "" {
		t.Source = FromGarage
	}
	if t.Supply == "" {
		t.Supply = Needed
	}
	if !t.VATCode.Valid() {
		f.Add("vat_code", "there is no such VAT category")
	}
	if t.Source != FromGarage && t.Source != FromCustomer {
		f.Add("source", "a part comes from the garage or is the customer's own")
	}
	if !slices.Contains(Supplies, t.Supply) {
		f.Add("supply", "there is no such supply state")
	}
}

// AddPartInput adds a part to a card.
type AddPartInput struct {
	CardID CardID
	PartTerms
}

// AddPart adds a part to a line or to the card.
func (s *Service) AddPart(ctx context.Context, who actor.Actor, in AddPartInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "add part", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, err := Lock(ctx, tx, in.CardID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		if err := onCard(ctx, tx, c.ID, in.LineID); err != nil {
			return Changed{}, err
		}
		var count int
		if err := tx.QueryRow(ctx, `select count(*) from part where card_id = $1`, c.ID).Scan(&count); err != nil {
			return Changed{}, fmt.Errorf("count parts: %w", err)
		}
		if count >= MaxParts {
			return Changed{}, apperr.Field("name", "a card has at most %d parts", MaxParts)
		}
		var id PartID
		err = tx.QueryRow(ctx, `
			insert into part (card_id, line_id, name, number, supplier_id, qty_milli, cost_minor, price_minor, markup_bp, vat_code,
				source, supply, due_at)
			select $1, nullif($2::bigint, 0), $3, $4, nullif($5::bigint, 0), $6, $7, $8,
				case when $8::bigint is null then coalesce($9, g.default_markup_bp) end, $10, $11, $12, $13
			from garage g returning id`,
			c.ID, in.LineID, in.Name, in.Number, in.SupplierID, in.Qty, in.Cost, in.Price, in.MarkUp, in.VATCode, in.Source, in.Supply,
			orNull(in.DueAt)).Scan(&id)
		if err := pg.Explain(err, "part", partRules); err != nil {
			return Changed{}, err
		}
		tx.Touch(change.Card, int64(c.ID))
		tx.Record("part added", int64(c.ID), in.Name, map[string]any{
			"part": id, "line": in.LineID, "number": in.Number, "supply": in.Supply, "qty thousandths": in.Qty,
		})
		if err := payable(ctx, tx, c.ID, "qty"); err != nil {
			return Changed{}, err
		}
		if err := askAgain(ctx, tx, c.ID); err != nil {
			return Changed{}, err
		}
		return Changed{CardID: c.ID, LineID: in.LineID, PartID: id, Version: 1}, nil
	})
}

var partRules = map[string]*apperr.Error{
	"part_exchange_back_range": apperr.Field("qty", "more old units than that were given back already"),
	"part_supplier_fk":         apperr.Field("supplier", "this supplier is not in the garage's list"),
	"part_line_fk":             apperr.Field("line", "this line is not on the card"),
}

// onCard checks that a line is on the card and not struck.
func onCard(ctx context.Context, q pg.Querier, card CardID, line LineID) error {
	if line == 0 {
		return nil
	}
	l, err := lineByID(ctx, q, line)
	switch {
	case apperr.Is(err, apperr.NotFound), err == nil && l.CardID != card:
		return apperr.Field("line", "this line is not on the card")
	case err == nil && l.Struck():
		return apperr.Field("line", "this line has been struck out")
	}
	return err
}

// EditPartInput changes what is written of a part.
type EditPartInput struct {
	PartID  PartID
	Version int
	PartTerms
}

// EditPart changes a part in place. Moving it to another line, a dearer price
// or more of it may ask the customer again. A stale version gives a Conflict
// with the Part as it stands.
func (s *Service) EditPart(ctx context.Context, who actor.Actor, in EditPartInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "edit part", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := lockPart(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, err
		}
		if err := p.changeable(c, in.Version); err != nil {
			return Changed{}, err
		}
		if in.LineID != p.LineID {
			if err := onCard(ctx, tx, c.ID, in.LineID); err != nil {
				return Changed{}, err
			}
		}
		// Another number is another part: what was said of the fit is void.
		_, err = tx.Exec(ctx, `
			update part set line_id = nullif($2::bigint, 0), name = $3, number = $4, supplier_id = nullif($5::bigint, 0), qty_milli = $6,
				cost_minor = $7, price_minor = $8,
				markup_bp = case when $8::bigint is null then coalesce($9, (select default_markup_bp from garage)) end,
				vat_code = $10, source = $11, supply = $12, due_at = $13, version = version + 1,
				verdict = case when number_key(number) = number_key($4) then verdict else 'unchecked' end,
				verdict_by = case when number_key(number) = number_key($4) then verdict_by end,
				verdict_at = case when number_key(number) = number_key($4) then verdict_at end,
				verdict_note = case when number_key(number) = number_key($4) then verdict_note else '' end
			where id = $1`,
			p.ID, in.LineID, in.Name, in.Number, in.SupplierID, in.Qty, in.Cost, in.Price, in.MarkUp, in.VATCode, in.Source, in.Supply,
			orNull(in.DueAt))
		if err := pg.Explain(err, "part", partRules); err != nil {
			return Changed{}, err
		}
		tx.Touch(change.Card, int64(c.ID))
		tx.Record("part changed", int64(c.ID), in.Name, map[string]any{
			"part": p.ID, "number": in.Number, "number was": p.Number, "supply": in.Supply, "supply was": p.Supply,
			"cost": in.Cost, "cost was": p.Cost, "qty thousandths": in.Qty, "qty thousandths was": p.Qty,
		})
		if err := payable(ctx, tx, c.ID, "qty"); err != nil {
			return Changed{}, err
		}
		return s.afterPart(ctx, tx, c, p, in.LineID, in.Supply)
	})
}

// changeable refuses changes to a part that is stale, struck, or on a card
// that is finished.
func (p Part) changeable(c Card, version int) error {
	switch err := c.editable(); {
	case err != nil:
		return err
	case p.Version != version:
		return apperr.Stale("part", p)
	case p.Struck():
		return apperr.New(apperr.Conflict, "this part has been struck out")
	}
	return nil
}

// afterPart does what follows from a change to a part: the price may have to
// be asked again, and a line that waited may be open.
func (s *Service) afterPart(ctx context.Context, tx *change.Tx, c Card, p Part, line LineID, supply Supply) (Changed, error) {
	if err := askAgain(ctx, tx, c.ID); err != nil {
		return Changed{}, err
	}
	if supply == Arrived && p.Supply != Arrived {
		if err := noteArrival(ctx, tx, p.ID); err != nil {
			return Changed{}, err
		}
		if err := openIfComplete(ctx, tx, c, line); err != nil {
			return Changed{}, err
		}
	}
	return Changed{CardID: c.ID, LineID: line, PartID: p.ID, Version: p.Version + 1}, nil
}

// openIfComplete opens a line that waited on parts when none is outstanding.
func openIfComplete(ctx context.Context, tx *change.Tx, c Card, id LineID) error {
	if id == 0 {
		return nil
	}
	var title string
	err := tx.QueryRow(ctx, `
		update line set work_state = 'open', state_reason = '', version = version + 1
		where id = $1 and work_state = 'waiting on parts' and not exists (
			select from part p where p.line_id = line.id and p.struck_at is null and p.supply in ('needed', 'ordered'))
		returning title`, id).Scan(&title)
	if apperr.Is(pg.Explain(err, "line", nil), apperr.NotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("open the line: %w", err)
	}
	tx.Record("line open", int64(c.ID), title, map[string]any{"line": id, "why": "its parts are here"})
	return nil
}

// SupplyInput moves a part on: ordered, arrived, fitted, going back …
type SupplyInput struct {
	PartID  PartID
	Version int
	Supply  Supply
	// DueAt is kept when nil.
	DueAt *time.Time
}

// SetSupply records where a part is. The technician may; the price is not
// touched.
func (s *Service) SetSupply(ctx context.Context, who actor.Actor, in SupplyInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	if !slices.Contains(Supplies, in.Supply) {
		return Changed{}, apperr.Field("supply", "there is no such supply state")
	}
	return change.Do(ctx, s.db, who, "set supply", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := lockPart(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, err
		}
		if err := p.changeable(c, in.Version); err != nil {
			return Changed{}, err
		}
		due := p.DueAt
		if in.DueAt != nil {
			due = *in.DueAt
		}
		if _, err := tx.Exec(ctx, `update part set supply = $2, due_at = $3, version = version + 1 where id = $1`,
			p.ID, in.Supply, orNull(due)); err != nil {
			return Changed{}, fmt.Errorf("set supply: %w", err)
		}
		tx.Touch(change.Card, int64(c.ID))
		tx.Record("part "+string(in.Supply), int64(c.ID), p.Name, map[string]any{
			"part": p.ID, "was": p.Supply, "due": orNull(due),
		})
		return s.afterPart(ctx, tx, c, p, p.LineID, in.Supply)
	})
}

// StrikePart strikes a part out, with the reason.
func (s *Service) StrikePart(ctx context.Context, who actor.Actor, in StrikeInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	f.Must("reason", in.Reason, "the reason")
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "strike part", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := lockPart(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, err
		}
		if err := p.changeable(c, in.Version); err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update part set struck_at = $2, struck_reason = $3, version = version + 1 where id = $1`,
			p.ID, tx.At, in.Reason); err != nil {
			return Changed{}, fmt.Errorf("strike part: %w", err)
		}
		tx.Touch(change.Card, int64(c.ID))
		tx.Record("part struck out", int64(c.ID), p.Name, map[string]any{"part": p.ID, "reason": in.Reason})
		return Changed{CardID: c.ID, LineID: p.LineID, PartID: p.ID, Version: p.Version + 1}, nil
	})
}
