package jobcard

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// FeeTerms is what is written of a test fee.
type FeeTerms struct {
	What    string
	Class   string // a class of garage.TestMaxima, or empty
	Charged money.Minor
	Own     bool
	Paid    money.Minor
	Met     []pricing.Condition
}

func (t *FeeTerms) clean(f apperr.Fields) {
	t.What = f.Line("what", t.What, MaxShort)
	f.Must("what", t.What, "the test a name")
	t.Class = f.Line("class", t.Class, 60)
	if t.Charged < 1 || t.Charged > maxPrice {
		f.Add("charged", "give what the customer pays for the test")
	}
	switch {
	case t.Own && t.Paid != 0:
		f.Add("paid", "for a test of your own nothing is paid to another centre")
	case !t.Own && t.Paid < 1:
		f.Add("paid", "give what the test centre was paid")
	case t.Paid > maxPrice:
		f.Add("paid", "an amount lies between 0 and %s", money.FormatPlain(maxPrice))
	}
	slices.Sort(t.Met)
	t.Met = slices.Compact(t.Met)
	for _, c := range t.Met {
		if !slices.Contains(pricing.Conditions(), c) {
			f.Add("met", "there is no such condition")
		}
	}
	if t.Own {
		t.Met = nil
	}
}

// FeeInput puts a test fee on a line of a card.
type FeeInput struct {
	CardID CardID
	LineID LineID
	FeeTerms
}

// AddFee puts the fee of a statutory test on a line. Messages are at what,
// class, charged, paid, met and line.
func (s *Service) AddFee(ctx context.Context, who actor.Actor, in FeeInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.FeeTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "add fee", in, thisCard(in.CardID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		if in.LineID == 0 {
			return Changed{}, apperr.Field("line", "a fee belongs to a line of the card")
		}
		if err := onCard(ctx, tx, c.ID, in.LineID); err != nil {
			return Changed{}, err
		}
		if len(x.Fees) >= extrasMax {
			return Changed{}, apperr.Field("what", "a card has at most %d fees", extrasMax)
		}
		if err := withinLaw(ctx, tx, c, in.FeeTerms); err != nil {
			return Changed{}, err
		}
		var id FeeID
		err := tx.QueryRow(ctx, `
			insert into card_fee (card_id, line_id, what, class, charged_minor, own, paid_minor, met, made_by, made_at)
			values ($1, $2, $3, $4, $5, $6, $7, $8, nullif($9::bigint, 0), $10) returning id`,
			c.ID, in.LineID, in.What, in.Class, in.Charged, in.Own, in.Paid, numbers(in.Met), tx.Who.StaffID, tx.At).Scan(&id)
		if err != nil {
			return Changed{}, fmt.Errorf("add fee: %w", err)
		}
		tx.Record("fee added", int64(c.ID), in.What, in.FeeTerms.detail(id, in.LineID))
		return Changed{LineID: in.LineID, ExtraID: int64(id), Version: 1}, menuStands(ctx, tx, c.ID)
	})
}

func (t FeeTerms) detail(id FeeID, line LineID) map[string]any {
	return map[string]any{"fee": id, "line": line, "charged": t.Charged, "own": t.Own, "paid": t.Paid, "conditions met": t.Met}
}

func numbers(cs []pricing.Condition) []int16 {
	out := make([]int16, len(cs))
	for i, c := range cs {
		out[i] = int16(c)
	}
	return out
}

// withinLaw refuses a fee that is more than the law allows for its class on
// the day the card is booked for.
func withinLaw(ctx context.Context, tx *change.Tx, c Card, t FeeTerms) error {
	table, err := garage.TestMaxima(ctx, tx)
	if err != nil {
		return err
	}
	var most *money.Minor
	if t.Class != "" {
		if !slices.ContainsFunc(table, func(m pricing.Maximum) bool { return m.Class == t.Class }) {
			return apperr.Field("class", "there is no such class in the garage's list of test fees")
		}
		if fee, ok := pricing.MaximumOn(table, t.Class, c.BookedFor); ok {
			most = &fee
		}
	}
	f := Fee{What: t.What, Charged: t.Charged, Own: t.Own, Paid: t.Paid, Met: t.Met}
	_, _, _, err = f.Test(most).Lines(pricing.VAT{Code: money.Standard})
	switch {
	case errors.Is(err, pricing.ErrOverMaximum) && t.Own:
		return apperr.Field("charged", "%s: %s for class %s", pricing.ErrOverMaximum.Error(), money.FormatPlain(*most), t.Class)
	case errors.Is(err, pricing.ErrOverMaximum):
		return apperr.Field("paid", "%s: %s for class %s", pricing.ErrOverMaximum.Error(), money.FormatPlain(*most), t.Class)
	case err != nil:
		return apperr.Field("charged", "%s", err.Error())
	}
	return nil
}

// menuStands refuses a change after which a menu's price cannot be put on its
// lines any more.
func menuStands(ctx context.Context, tx *change.Tx, card CardID) error {
	p, err := LoadPriced(ctx, tx, card)
	if err != nil {
		return err
	}
	for _, m := range p.Menus {
		if m.Broken != "" {
			return apperr.Field("charged", "with this the menu price “%s” cannot be kept: change that first", m.Text)
		}
	}
	return nil
}

// EditFeeInput changes a test fee.
type EditFeeInput struct {
	ID      FeeID
	Version int
	FeeTerms
}

const cardOfFee = `select card_id from card_fee where id = $1`

// EditFee changes a test fee in place. A stale version gives a Conflict with
// the Fee as it stands.
func (s *Service) EditFee(ctx context.Context, who actor.Actor, in EditFeeInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.FeeTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "edit fee", in, cardOf("fee", cardOfFee, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		was, err := x.fee(in.ID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		if err := withinLaw(ctx, tx, c, in.FeeTerms); err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_fee set what = $2, class = $3, charged_minor = $4, own = $5, paid_minor = $6, met = $7,
			version = version + 1 where id = $1`, was.ID, in.What, in.Class, in.Charged, in.Own, in.Paid, numbers(in.Met)); err != nil {
			return Changed{}, fmt.Errorf("edit fee: %w", err)
		}
		detail := in.FeeTerms.detail(was.ID, was.LineID)
		detail["charged was"], detail["paid was"] = was.Charged, was.Paid
		tx.Record("fee changed", int64(c.ID), in.What, detail)
		return Changed{LineID: was.LineID, ExtraID: int64(was.ID), Version: was.Version + 1}, menuStands(ctx, tx, c.ID)
	})
}

func (x Extras) fee(id FeeID, version int) (Fee, error) {
	i := slices.IndexFunc(x.Fees, func(f Fee) bool { return f.ID == id })
	switch {
	case i < 0:
		return Fee{}, apperr.NoSuch("fee")
	case x.Fees[i].Version != version:
		return Fee{}, apperr.Stale("fee", x.Fees[i])
	case x.Fees[i].Struck():
		return Fee{}, apperr.New(apperr.Conflict, "this fee has been struck out")
	}
	return x.Fees[i], nil
}

// StrikeFee strikes a fee out, with the reason.
func (s *Service) StrikeFee(ctx context.Context, who actor.Actor, in StrikeExtraInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	if err := in.clean(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "strike fee", in, cardOf("fee", cardOfFee, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		was, err := x.fee(FeeID(in.ID), in.Version)
		if err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_fee set struck_at = $2, struck_reason = $3, version = version + 1 where id = $1`,
			was.ID, tx.At, in.Reason); err != nil {
			return Changed{}, fmt.Errorf("strike fee: %w", err)
		}
		tx.Record("fee struck out", int64(c.ID), was.What, map[string]any{"fee": was.ID, "reason": in.Reason})
		return Changed{LineID: was.LineID, ExtraID: in.ID, Version: was.Version + 1}, nil
	})
}
