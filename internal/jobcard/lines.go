package jobcard

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// LineTerms is what is written on a line: the work, the hours, the price.
type LineTerms struct {
	Title      string
	MustDo     bool
	LabourType garage.LabourTypeID
	// Rate is net for an hour; nil takes the labour type's.
	Rate       *money.Minor
	Estimate   hours.Estimate
	FixedPrice *money.Minor
	VATCode    money.VATCode
	Cautions   []caution.Key
	Safety     bool
	WheelsOff  bool
	Inspects   bool
	AssignedTo actor.StaffID
	Note       string
}

// NewLine is a line to be added. With an operation, what is not said is the
// operation's: title, hours, labour type, price, cautions and checks.
type NewLine struct {
	OperationID garage.OperationID
	LineTerms
}

func (t *LineTerms) clean(f apperr.Fields, titled bool) {
	t.Title = f.Line("title", t.Title, MaxTitle)
	if titled {
		f.Must("title", t.Title, "the line a title")
	}
	t.Note = f.Prose("note", t.Note, MaxNote)
	if err := t.Estimate.Check(); err != nil && t.Estimate != (hours.Estimate{}) {
		f.Add("likely", "%s", err.Error())
	}
	if t.FixedPrice != nil && (*t.FixedPrice < 0 || *t.FixedPrice > maxPrice) {
		f.Add("fixed_price", "a price lies between £0.00 and %s", money.Format(maxPrice))
	}
	if t.Rate != nil && (*t.Rate < 0 || *t.Rate > maxPrice) {
		f.Add("rate", "a rate lies between £0.00 and %s", money.Format(maxPrice))
	}
	if t.VATCode == "" {
		t.VATCode = money.Standard
	}
	if !t.VATCode.Valid() {
		f.Add("vat_code", "there is no such VAT category")
	}
	if err := caution.Valid(t.Cautions); err != nil {
		f.Add("cautions", "%s", err.Error())
	}
	// What can hurt somebody later on the road is checked by a second person,
	// whoever wrote the line.
	t.Safety = t.Safety || caution.NeedsSecondCheck(t.Cautions)
}

// maxPrice is the largest amount that a line or a part may be given.
const maxPrice money.Minor = 100_000_000

func (n *NewLine) clean(f apperr.Fields) { n.LineTerms.clean(f, n.OperationID == 0) }

// fromOperation fills what was not said from the operation.
func (n *NewLine) fromOperation(o garage.Operation) {
	if n.Title == "" {
		n.Title = o.Name
	}
	if n.LabourType == 0 {
		n.LabourType = o.LabourTypeID
	}
	if n.Estimate == (hours.Estimate{}) {
		n.Estimate = hours.Estimate{Low: o.Low, Likely: o.Likely, High: o.High}
		if n.FixedPrice == nil {
			n.FixedPrice = o.FixedPrice
		}
	}
	n.Cautions = caution.Merge(n.Cautions, o.Cautions)
	n.Safety = n.Safety || o.Safety || caution.NeedsSecondCheck(n.Cautions)
	n.WheelsOff = n.WheelsOff || o.WheelsOff
	n.Inspects = n.Inspects || o.Inspects
	n.VATCode = o.VATCode
}

// insertLine writes a line at a position of a locked or new card.
func insertLine(ctx context.Context, tx *change.Tx, card CardID, position int, n NewLine) (LineID, error) {
	if n.OperationID == 0 {
		// Whoever writes an operation's name means the operation.
		err := tx.QueryRow(ctx, `select id from operation where lower(name) = lower($1) and active`, n.Title).Scan(&n.OperationID)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return 0, fmt.Errorf("look for the operation: %w", err)
		}
	}
	if n.OperationID != 0 {
		o, err := garage.OperationByID(ctx, tx, n.OperationID)
		if apperr.Is(err, apperr.NotFound) {
			return 0, apperr.Field("title", "this operation is not in the garage's list any more")
		}
		if err != nil {
			return 0, err
		}
		n.fromOperation(o)
	}
	var id LineID
	err := tx.QueryRow(ctx, `
		insert into line (card_id, position, operation_id, title, must_do, labour_type_id, rate_minor, low_minutes, likely_minutes,
			high_minutes, fixed_price_minor, vat_code, std_cost_rate_minor, cautions, safety, wheels_off, inspects, assigned_to, note)
		select $1, $2, nullif($3::bigint, 0), $4, $5, t.id, coalesce($7, t.rate_minor), $8, $9, $10, $11, $12,
			g.standard_cost_rate_minor, $13, $14, $15, $16, nullif($17::bigint, 0), $18
		from labour_type t, garage g
		where case when $6::bigint = 0 then t.active else t.id = $6 end
		order by t.id limit 1
		returning id`,
		card, position, n.OperationID, n.Title, n.MustDo, n.LabourType, n.Rate, minutes(n.Estimate.Low), minutes(n.Estimate.Likely),
		minutes(n.Estimate.High), n.FixedPrice, n.VATCode, keys(n.Cautions), n.Safety, n.WheelsOff, n.Inspects, n.AssignedTo,
		n.Note).Scan(&id)
	if apperr.Is(pg.Explain(err, "labour type", nil), apperr.NotFound) {
		return 0, apperr.Field("labour_type", "this labour type is not in the garage's list")
	}
	if err := pg.Explain(err, "line", lineRules); err != nil {
		return 0, err
	}
	tx.Record("line added", int64(card), n.Title, map[string]any{
		"line": id, "likely minutes": minutes(n.Estimate.Likely), "must do": n.MustDo,
	})
	return id, nil
}

var lineRules = map[string]*apperr.Error{
	"line_operation_fk":   apperr.Field("title", "this operation is not in the garage's list any more"),
	"line_labour_type_fk": apperr.Field("labour_type", "this labour type is not in the garage's list"),
	"line_assigned_fk":    apperr.Field("assigned_to", "nobody here by that name"),
	"line_carried_once":   apperr.New(apperr.Conflict, "this left-over line has been taken up already"),
}

func keys(ks []caution.Key) []string {
	out := make([]string, len(ks))
	for i, k := range ks {
		out[i] = string(k)
	}
	return out
}

// AddLineInput adds a line at the end of a card, after the lines named.
type AddLineInput struct {
	CardID CardID
	NewLine
	After []LineID
}

// AddLine adds a line to be asked.
func (s *Service) AddLine(ctx context.Context, who actor.Actor, in AddLineInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "add line", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, err := Lock(ctx, tx, in.CardID)
		if err != nil {
			return Changed{}, err
		}
		id, err := AppendLine(ctx, tx, c, in.NewLine)
		if err != nil {
			return Changed{}, err
		}
		for _, a := range in.After {
			if err := putOrder(ctx, tx, c.ID, id, a); err != nil {
				return Changed{}, err
			}
		}
		if err := payable(ctx, tx, c.ID, "likely"); err != nil {
			return Changed{}, err
		}
		return Changed{CardID: c.ID, LineID: id, Version: 1}, nil
	})
}

// AppendLine writes a line at the end of a locked card. A card that was ready
// is in work again.
func AppendLine(ctx context.Context, tx *change.Tx, c Card, n NewLine) (LineID, error) {
	if err := c.editable(); err != nil {
		return 0, err
	}
	last, count := 0, 0
	if err := tx.QueryRow(ctx, `select coalesce(max(position), 0), count(*) from line where card_id = $1`, c.ID).
		Scan(&last, &count); err != nil {
		return 0, fmt.Errorf("find the end of the card: %w", err)
	}
	if count >= MaxLines {
		return 0, apperr.Field("title", "a card has at most %d lines", MaxLines)
	}
	if c.Stage == Ready {
		if err := setStage(ctx, tx, c, InWork); err != nil {
			return 0, err
		}
	}
	return insertLine(ctx, tx, c.ID, last+1, n)
}

// EditLineInput changes what is written on a line.
type EditLineInput struct {
	LineID  LineID
	Version int
	LineTerms
}

// EditLine changes a line in place. A price beyond what was agreed asks the
// customer again. A stale version gives a Conflict with the Line as it stands.
func (s *Service) EditLine(ctx context.Context, who actor.Actor, in EditLineInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.LineTerms.clean(f, true)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "edit line", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		switch err := c.editable(); {
		case err != nil:
			return Changed{}, err
		case l.Version != in.Version:
			return Changed{}, apperr.Stale("line", l)
		case l.Struck():
			return Changed{}, apperr.New(apperr.Conflict, "this line has been struck out")
		}
		_, err = tx.Exec(ctx, `
			update line set title = $2, must_do = $3, labour_type_id = t.id, rate_minor = coalesce($5, t.rate_minor), low_minutes = $6,
				likely_minutes = $7, high_minutes = $8, fixed_price_minor = $9, vat_code = $10, cautions = $11, safety = $12,
				wheels_off = $13, inspects = $14, assigned_to = nullif($15::bigint, 0), note = $16, version = line.version + 1
			from labour_type t where line.id = $1 and t.id = case when $4::bigint = 0 then line.labour_type_id else $4 end`,
			l.ID, in.Title, in.MustDo, in.LabourType, in.Rate, minutes(in.Estimate.Low), minutes(in.Estimate.Likely),
			minutes(in.Estimate.High), in.FixedPrice, in.VATCode, keys(in.Cautions), in.Safety, in.WheelsOff, in.Inspects,
			in.AssignedTo, in.Note)
		if err := pg.Explain(err, "line", lineRules); err != nil {
			return Changed{}, err
		}
		tx.Record("line changed", int64(c.ID), in.Title, map[string]any{
			"line": l.ID, "likely minutes": minutes(in.Estimate.Likely), "likely minutes was": minutes(l.Estimate.Likely),
			"fixed price": in.FixedPrice, "fixed price was": l.FixedPrice,
		})
		if err := payable(ctx, tx, c.ID, "likely"); err != nil {
			return Changed{}, err
		}
		if err := askAgain(ctx, tx, c.ID); err != nil {
			return Changed{}, err
		}
		return Changed{CardID: c.ID, LineID: l.ID, Version: l.Version + 1}, nil
	})
}

// StrikeInput strikes a line or a part out, with the reason.
type StrikeInput struct {
	LineID  LineID
	PartID  PartID
	Version int
	Reason  string
}

// StrikeLine strikes a line out: it stays on the card, crossed through with
// the reason. Nobody may be clocked on to it.
func (s *Service) StrikeLine(ctx context.Context, who actor.Actor, in StrikeInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	f.Must("reason", in.Reason, "the reason")
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "strike line", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, l, err := LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Changed{}, err
		}
		busy, err := clockedOn(ctx, tx, `k.line_id = $1`, l.ID)
		if err != nil {
			return Changed{}, err
		}
		switch err := c.editable(); {
		case err != nil:
			return Changed{}, err
		case l.Version != in.Version:
			return Changed{}, apperr.Stale("line", l)
		case l.Struck():
			return Changed{}, apperr.New(apperr.Conflict, "this line has been struck out already")
		case busy:
			return Changed{}, apperr.New(apperr.Conflict, "somebody is clocked on to this line: clock off first")
		}
		p, err := LoadPriced(ctx, tx, c.ID)
		if err != nil {
			return Changed{}, err
		}
		if m, ok := p.extras.MenuOf(l.ID); ok {
			return Changed{}, apperr.New(apperr.Conflict, "this line is in the menu price “%s”: take it out of that first", m.What)
		}
		if _, err := tx.Exec(ctx, `update line set struck_at = $2, struck_reason = $3, version = version + 1 where id = $1`,
			l.ID, tx.At, in.Reason); err != nil {
			return Changed{}, fmt.Errorf("strike line: %w", err)
		}
		if _, err := tx.Exec(ctx, `update part set struck_at = $2, struck_reason = $3, version = version + 1
			where line_id = $1 and struck_at is null and supply = 'needed'`, l.ID, tx.At, "its line was struck out"); err != nil {
			return Changed{}, fmt.Errorf("strike its parts: %w", err)
		}
		tx.Touch(change.Card, int64(c.ID))
		tx.Record("line struck out", int64(c.ID), l.Title, map[string]any{"line": l.ID, "reason": in.Reason})
		return Changed{CardID: c.ID, LineID: l.ID, Version: l.Version + 1}, nil
	})
}

// clockedOn tells whether anybody is clocked on where the condition on
// clocking k holds. The condition is always a constant of this package.
func clockedOn(ctx context.Context, q pg.Querier, where string, arg any) (bool, error) {
	var busy bool
	err := q.QueryRow(ctx, `select exists (select from clocking k join line l on l.id = k.line_id
		where upper_inf(k.during) and not k.voided and `+where+`)`, arg).Scan(&busy)
	if err != nil {
		return false, fmt.Errorf("look for clockings: %w", err)
	}
	return busy, nil
}
