package jobcard

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
)

// extrasMax is how many adjustments, menus or fees a card may have.
const extrasMax = 40

// priceChange runs one change to how a card is priced: it locks the card,
// refuses one that is finished, and afterwards asks the customer again for
// what has become dearer. find gives the card, from whatever names it.
func (s *Service) priceChange(ctx context.Context, who actor.Actor, action string, in any, find func(context.Context, *change.Tx) (CardID, error),
	do func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error),
) (Changed, error) {
	return change.Do(ctx, s.db, who, action, in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		id, err := find(ctx, tx)
		if err != nil {
			return Changed{}, err
		}
		c, err := Lock(ctx, tx, id)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		before, err := LoadPriced(ctx, tx, id)
		if err != nil {
			return Changed{}, err
		}
		out, err := do(ctx, tx, c, before.extras)
		if err != nil {
			return Changed{}, err
		}
		if err := payable(ctx, tx, id, "amount"); err != nil {
			return Changed{}, err
		}
		if err := askAgain(ctx, tx, id); err != nil {
			return Changed{}, err
		}
		out.CardID = id
		return out, askAgainOnTop(ctx, tx, before)
	})
}

func thisCard(id CardID) func(context.Context, *change.Tx) (CardID, error) {
	return func(context.Context, *change.Tx) (CardID, error) { return id, nil }
}

// cardOf finds the card of a row. The query is always a constant of this
// package.
func cardOf[T ~int64](thing, sql string, id T) func(context.Context, *change.Tx) (CardID, error) {
	return func(ctx context.Context, tx *change.Tx) (card CardID, err error) {
		err = tx.QueryRow(ctx, sql, id).Scan(&card)
		return card, pg.Explain(err, thing, nil)
	}
}

// StrikeExtraInput strikes an adjustment, a menu or a fee out, with the reason.
type StrikeExtraInput struct {
	ID      int64
	Version int
	Reason  string
}

func (in *StrikeExtraInput) clean() error {
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	f.Must("reason", in.Reason, "the reason")
	return f.Err()
}

// AdjustTerms is what is written of a discount or surcharge: Percent, or else
// Amount, net.
type AdjustTerms struct {
	What    string
	Up      bool
	Percent *money.Rate
	Amount  *money.Minor
	Applies AppliesTo
}

func (t *AdjustTerms) clean(f apperr.Fields) {
	t.What = f.Line("what", t.What, MaxShort)
	f.Must("what", t.What, "a word for it, such as a reason the customer will read")
	if t.Applies == "" {
		t.Applies = ToEverything
	}
	if !slices.Contains(AppliesTos(), t.Applies) {
		f.Add("applies", "it applies to everything, labour or parts")
	}
	most := money.Rate(10_000)
	if t.Up {
		most = money.MaxRate
	}
	switch {
	case t.Percent == nil && t.Amount == nil:
		f.Add("percent", "give a percentage or an amount")
	case t.Percent != nil && t.Amount != nil:
		f.Add("percent", "%s", pricing.ErrBoth.Error())
	case t.Percent != nil && (*t.Percent <= 0 || *t.Percent > most):
		f.Add("percent", "a percentage lies above 0 and is at most %s", money.FormatRate(most))
	case t.Amount != nil && (*t.Amount <= 0 || *t.Amount > maxPrice):
		f.Add("amount", "an amount lies above 0 and is at most %s; a discount needs no minus", money.FormatPlain(maxPrice))
	}
}

// AdjustInput puts a discount or surcharge on a line, or on the card for line
// 0.
type AdjustInput struct {
	CardID CardID
	LineID LineID
	AdjustTerms
}

// Adjust adds a discount or surcharge. What becomes dearer is asked again.
// Messages are at what, percent, amount, applies and line.
func (s *Service) Adjust(ctx context.Context, who actor.Actor, in AdjustInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.AdjustTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "adjust price", in, thisCard(in.CardID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		if err := onCard(ctx, tx, c.ID, in.LineID); err != nil {
			return Changed{}, err
		}
		if m, ok := x.MenuOf(in.LineID); ok {
			return Changed{}, apperr.Field("what", "this line is in the menu price “%s”: change that instead", m.What)
		}
		if err := x.newWord(0, in.LineID, in.What); err != nil {
			return Changed{}, err
		}
		if len(x.Adjustments) >= extrasMax {
			return Changed{}, apperr.Field("what", "a card has at most %d discounts and surcharges", extrasMax)
		}
		var id AdjustmentID
		err := tx.QueryRow(ctx, `
			insert into card_adjustment (card_id, line_id, what, up, percent_bp, amount_minor, applies_to, made_by, made_at)
			values ($1, nullif($2::bigint, 0), $3, $4, $5, $6, $7, nullif($8::bigint, 0), $9) returning id`,
			c.ID, in.LineID, in.What, in.Up, in.Percent, in.Amount, in.Applies, tx.Who.StaffID, tx.At).Scan(&id)
		if err != nil {
			return Changed{}, fmt.Errorf("adjust: %w", err)
		}
		tx.Record(adjustWord(in.Up)+" added", int64(c.ID), in.What, in.AdjustTerms.detail(id, in.LineID))
		return Changed{LineID: in.LineID, ExtraID: int64(id), Version: 1}, mustReach(ctx, tx, c.ID, id)
	})
}

// newWord refuses two adjustments of one name on one line or card: whoever
// reads the bill could not tell them apart.
func (x Extras) newWord(id AdjustmentID, line LineID, what string) error {
	if slices.ContainsFunc(x.AdjustmentsOf(line), func(a Adjustment) bool { return a.ID != id && !a.Struck() && a.What == what }) {
		return apperr.Field("what", "there is one called “%s” here already: change that, or give this one another word", what)
	}
	return nil
}

func adjustWord(up bool) string {
	if up {
		return "surcharge"
	}
	return "discount"
}

func (t AdjustTerms) detail(id AdjustmentID, line LineID) map[string]any {
	d := map[string]any{"adjustment": id, "applies to": t.Applies}
	if line != 0 {
		d["line"] = line
	}
	if t.Percent != nil {
		d["percent"] = t.Percent.String()
	} else {
		d["amount"] = *t.Amount
	}
	return d
}

// mustReach refuses an adjustment that is more than there is to be taken off,
// or that finds nothing to be put on.
func mustReach(ctx context.Context, tx *change.Tx, card CardID, id AdjustmentID) error {
	p, err := LoadPriced(ctx, tx, card)
	if err != nil {
		return err
	}
	if slices.Contains(p.short, id) {
		return apperr.Field("amount", "%s", pricing.ErrDiscount.Error())
	}
	at := slices.IndexFunc(p.Card, func(a PricedAdjustment) bool { return a.Key == key("adjust", int64(id)) })
	if at < 0 {
		return nil
	}
	sheet := p.Only(nil)
	if !slices.ContainsFunc(sheet.Card, func(a pricing.Adjustment) bool {
		return a.Text == p.Card[at].Text && a.Amount == p.Card[at].Amount && a.Percent == p.Card[at].Percent && a.Up == p.Card[at].Up
	}) {
		if p.Card[at].Up {
			return apperr.Field("amount", "%s", pricing.ErrNothing.Error())
		}
		return apperr.Field("amount", "%s", pricing.ErrDiscount.Error())
	}
	return nil
}

// EditAdjustInput changes a discount or surcharge.
type EditAdjustInput struct {
	ID      AdjustmentID
	Version int
	AdjustTerms
}

const cardOfAdjustment = `select card_id from card_adjustment where id = $1`

// EditAdjustment changes a discount or surcharge in place. A stale version
// gives a Conflict with the Adjustment as it stands.
func (s *Service) EditAdjustment(ctx context.Context, who actor.Actor, in EditAdjustInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.AdjustTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "edit adjustment", in, cardOf("discount or surcharge", cardOfAdjustment, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		a, err := x.adjustment(in.ID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		if err := x.newWord(a.ID, a.LineID, in.What); err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_adjustment set what = $2, up = $3, percent_bp = $4, amount_minor = $5, applies_to = $6,
			version = version + 1 where id = $1`, a.ID, in.What, in.Up, in.Percent, in.Amount, in.Applies); err != nil {
			return Changed{}, fmt.Errorf("edit adjustment: %w", err)
		}
		detail := in.AdjustTerms.detail(a.ID, a.LineID)
		detail["was"] = AdjustTerms{a.What, a.Up, a.Percent, a.Amount, a.Applies}.detail(a.ID, a.LineID)
		tx.Record(adjustWord(in.Up)+" changed", int64(c.ID), in.What, detail)
		return Changed{LineID: a.LineID, ExtraID: int64(a.ID), Version: a.Version + 1}, mustReach(ctx, tx, c.ID, a.ID)
	})
}

func (x Extras) adjustment(id AdjustmentID, version int) (Adjustment, error) {
	i := slices.IndexFunc(x.Adjustments, func(a Adjustment) bool { return a.ID == id })
	switch {
	case i < 0:
		return Adjustment{}, apperr.NoSuch("discount or surcharge")
	case x.Adjustments[i].Version != version:
		return Adjustment{}, apperr.Stale("discount or surcharge", x.Adjustments[i])
	case x.Adjustments[i].Struck():
		return Adjustment{}, apperr.New(apperr.Conflict, "it has been struck out")
	}
	return x.Adjustments[i], nil
}

// StrikeAdjustment strikes a discount or surcharge out, with the reason. A
// discount that falls away makes the card dearer, which is asked again.
func (s *Service) StrikeAdjustment(ctx context.Context, who actor.Actor, in StrikeExtraInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	if err := in.clean(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "strike adjustment", in, cardOf("discount or surcharge", cardOfAdjustment, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		a, err := x.adjustment(AdjustmentID(in.ID), in.Version)
		if err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_adjustment set struck_at = $2, struck_reason = $3, version = version + 1 where id = $1`,
			a.ID, tx.At, in.Reason); err != nil {
			return Changed{}, fmt.Errorf("strike adjustment: %w", err)
		}
		tx.Record(adjustWord(a.Up)+" struck out", int64(c.ID), a.What, map[string]any{"adjustment": a.ID, "reason": in.Reason})
		return Changed{LineID: a.LineID, ExtraID: in.ID, Version: a.Version + 1}, nil
	})
}

// SundriesInput says what sundries are charged on one card: the garage's for
// nil.
type SundriesInput struct {
	CardID   CardID
	Version  int // of the card
	Sundries *OwnSundries
}

// SetSundries sets what small material is charged on a card. A stale version
// gives a Conflict with the Card as it stands. Messages are at percent and cap.
func (s *Service) SetSundries(ctx context.Context, who actor.Actor, in SundriesInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	var percent *money.Rate
	var most *money.Minor
	if o := in.Sundries; o != nil {
		percent, most = &o.Percent, o.Cap
		if o.Percent < 0 || o.Percent > 10_000 {
			f.Add("percent", "sundries lie between 0 and 100 %%")
		}
		if most != nil && (*most < 0 || *most > maxPrice) {
			f.Add("cap", "an amount lies between 0 and %s", money.FormatPlain(maxPrice))
		}
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "set sundries", in, thisCard(in.CardID), func(ctx context.Context, tx *change.Tx, c Card, _ Extras) (Changed, error) {
		if c.Version != in.Version {
			return Changed{}, apperr.Stale("card", c)
		}
		if _, err := tx.Exec(ctx, `update card set sundries_bp = $2, sundries_cap_minor = $3, version = version + 1 where id = $1`,
			c.ID, percent, most); err != nil {
			return Changed{}, fmt.Errorf("set sundries: %w", err)
		}
		tx.Record("sundries set", int64(c.ID), "", map[string]any{"percent": percent, "at most": most})
		return Changed{Version: c.Version + 1}, nil
	})
}

// linesOn checks that lines are on the card and not struck out, in one query.
func linesOn(ctx context.Context, q pg.Querier, card CardID, ids []LineID) error {
	rows, err := q.Query(ctx, `select id from line where card_id = $1 and struck_at is null and id = any($2)`, card, ids)
	if err != nil {
		return fmt.Errorf("look for the lines: %w", err)
	}
	found, err := pgx.CollectRows(rows, pgx.RowTo[LineID])
	if err != nil {
		return fmt.Errorf("look for the lines: %w", err)
	}
	if len(found) != len(ids) {
		return apperr.Field("lines", "one of these lines is not on the card, or has been struck out")
	}
	return nil
}
