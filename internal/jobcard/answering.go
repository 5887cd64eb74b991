package jobcard

import (
	"context"
	"fmt"
	"slices"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// maxLimit is the highest limit that a customer can give.
const maxLimit money.Minor = 1_000_000_000

// LineAnswer is what the customer said to one line.
type LineAnswer struct {
	LineID LineID
	Answer Consent // Agreed or Declined
	// UpTo is the limit given for this line, with VAT; nil for none.
	UpTo *money.Minor
	// Time and Net are what was answered to, where that is not the line as it
	// stands but as a quote has it: labour, parts, fees and its share of
	// discounts, without VAT.
	Time *time.Duration
	Net  *money.Minor
}

// AnswerDetails is what belongs to an answer as a whole.
type AnswerDetails struct {
	SaidBy string
	How    string // one of Ways, or ByLink
	// Version is the version of a quote that was answered, 0 for none.
	Version int64
	// Signature is what the customer drew, nil for nothing.
	Signature []byte
	// CardUpTo is a limit given for the card as a whole, with VAT.
	CardUpTo *money.Minor
}

// RecordAnswer records what the customer said to lines of a card, in
// somebody's transaction, and locks the card. What is agreed at less than the
// line costs by now is asked again at once. Errors: NotFound, Conflict when
// the card is finished, a line struck out, or declined when it is worked on.
func RecordAnswer(ctx context.Context, tx *change.Tx, card CardID, answers []LineAnswer, d AnswerDetails) error {
	f := apperr.Fields{}
	d.SaidBy = f.Line("said_by", d.SaidBy, MaxShort)
	f.Must("said_by", d.SaidBy, "the name of who answered")
	if d.How != ByLink && !slices.Contains(Ways, d.How) {
		f.Add("how", "say how they answered: in person, by phone or in writing")
	}
	for _, a := range answers {
		if a.Answer != Agreed && a.Answer != Declined {
			f.Add("answer", "the answer is agreed or declined")
		}
	}
	if err := f.Err(); err != nil {
		return err
	}
	c, err := Lock(ctx, tx, card)
	if err != nil {
		return err
	}
	if err := c.editable(); err != nil {
		return err
	}
	return recordAnswer(ctx, tx, c, answers, d)
}

// recordAnswer is RecordAnswer on a locked card.
func recordAnswer(ctx context.Context, tx *change.Tx, c Card, answers []LineAnswer, d AnswerDetails) error {
	p, err := LoadPriced(ctx, tx, c.ID)
	if err != nil {
		return err
	}
	for _, a := range answers {
		i := slices.IndexFunc(p.lines, func(l Line) bool { return l.ID == a.LineID })
		if i < 0 {
			return apperr.NoSuch("line on this card")
		}
		l := p.lines[i]
		switch {
		case l.Struck():
			return apperr.New(apperr.Conflict, "“%s” has been struck out", l.Title)
		case a.Answer == Declined && (l.WorkState == Done || l.WorkState == InHand):
			return apperr.New(apperr.Conflict, "“%s” is %s: it cannot be declined any more", l.Title, l.WorkState)
		}
		if a.Time == nil {
			a.Time = &l.Estimate.Likely
		}
		if a.Net == nil {
			t, err := p.LineTotals(l.ID)
			if err != nil {
				return err
			}
			a.Net = &t.Net
		}
		if err := giveConsent(ctx, tx, l, a, d); err != nil {
			return err
		}
	}
	if d.CardUpTo != nil {
		if _, err := tx.Exec(ctx, `update card set up_to_minor = $2 where id = $1`, c.ID, *d.CardUpTo); err != nil {
			return fmt.Errorf("keep the customer's limit: %w", err)
		}
		tx.Record("limit given", int64(c.ID), "", map[string]any{"up to, with VAT": *d.CardUpTo, "said by": d.SaidBy, "how": d.How})
	}
	return askAgain(ctx, tx, c.ID)
}

func giveConsent(ctx context.Context, tx *change.Tx, l Line, a LineAnswer, d AnswerDetails) error {
	if _, err := tx.Exec(ctx, `
		insert into consent (line_id, answer, said_by, how, minutes, net_minor, taken_by, at, version_id, up_to_minor, signature)
		values ($1, $2, $3, $4, $5, $6, nullif($7::bigint, 0), $8, nullif($9::bigint, 0), $10, $11)`,
		l.ID, a.Answer, d.SaidBy, d.How, minutes(*a.Time), *a.Net, tx.Who.StaffID, tx.At, d.Version, a.UpTo, orNoBytes(d.Signature)); err != nil {
		return fmt.Errorf("record consent: %w", err)
	}
	// Whatever the answer, nobody goes ahead without one any more.
	if a.Answer == Declined {
		if _, err := tx.Exec(ctx, `update line set consent = 'declined', up_to_minor = null, ahead_reason = '', ahead_by = null, ahead_at = null,
			version = version + 1 where id = $1`, l.ID); err != nil {
			return fmt.Errorf("record consent: %w", err)
		}
	} else {
		if _, err := tx.Exec(ctx, `update line set consent = 'agreed', agreed_minutes = $2, agreed_net_minor = $3, up_to_minor = $4,
			ahead_reason = '', ahead_by = null, ahead_at = null, version = version + 1 where id = $1`,
			l.ID, minutes(*a.Time), *a.Net, a.UpTo); err != nil {
			return fmt.Errorf("record consent: %w", err)
		}
		if _, err := tx.Exec(ctx, `update part set quoted_qty_milli = qty_milli, quoted_cost_minor = cost_minor, version = version + 1
			where line_id = $1 and struck_at is null and quoted_qty_milli is null`, l.ID); err != nil {
			return fmt.Errorf("keep the quoted costs: %w", err)
		}
	}
	detail := map[string]any{"line": l.ID, "said by": d.SaidBy, "how": d.How, "net": *a.Net, "minutes": minutes(*a.Time)}
	if a.UpTo != nil {
		detail["up to, with VAT"] = *a.UpTo
	}
	if d.Version != 0 {
		detail["quote version"] = d.Version
	}
	tx.Record("line "+string(a.Answer), int64(l.CardID), l.Title, detail)
	return nil
}

func orNoBytes(b []byte) any {
	if len(b) == 0 {
		return nil
	}
	return b
}

// askAgain sets the agreed lines of a card back to asked that now cost more
// than was agreed to, unless that is within a limit that the customer gave:
// then what they agreed to is what it costs by now.
func askAgain(ctx context.Context, tx *change.Tx, card CardID) error {
	p, err := LoadPriced(ctx, tx, card)
	if err != nil {
		return err
	}
	for _, l := range p.lines {
		if l.Struck() || l.Consent != Agreed || l.AgreedNet == nil {
			continue
		}
		t, err := p.LineTotals(l.ID)
		if err != nil {
			return err
		}
		if t.Net <= *l.AgreedNet {
			continue
		}
		within, err := p.within(l, t)
		if err != nil {
			return err
		}
		if err := setDearer(ctx, tx, l, t.Net, within); err != nil {
			return err
		}
	}
	return nil
}

// within tells whether what a line comes to lies within a limit of the
// customer's: its own, or else that of the card.
func (p Priced) within(l Line, t money.Totals) (bool, error) {
	switch {
	case l.UpTo != nil:
		return t.Gross <= *l.UpTo, nil
	case p.card.UpTo == nil:
		return false, nil
	}
	return p.underLimit()
}

// underLimit tells whether all that is agreed lies within the card's limit.
func (p Priced) underLimit() (bool, error) {
	if p.card.UpTo == nil {
		return false, nil
	}
	sum, err := pricing.Work(p.Only(Entry.Agreed))
	return sum.Totals.Gross <= *p.card.UpTo, err
}

func setDearer(ctx context.Context, tx *change.Tx, l Line, net money.Minor, within bool) error {
	kind, to, agreed := "line asked again", Asked, *l.AgreedNet
	if within {
		kind, to, agreed = "line dearer within the limit", Agreed, net
	}
	if _, err := tx.Exec(ctx, `update line set consent = $2, agreed_net_minor = $3 where id = $1`, l.ID, to, agreed); err != nil {
		return fmt.Errorf("look at the price again: %w", err)
	}
	tx.Record(kind, int64(l.CardID), l.Title, map[string]any{"line": l.ID, "agreed net": *l.AgreedNet, "net": net})
	return nil
}

// askAgainOnTop sets every agreed line back to asked when what is charged on
// the card as a whole has gone up from what it was on the same lines before,
// unless all lies within the card's limit.
func askAgainOnTop(ctx context.Context, tx *change.Tx, before Priced) error {
	p, err := LoadPriced(ctx, tx, before.CardID)
	if err != nil {
		return err
	}
	was, err := before.OnTop(Entry.Agreed)
	if err != nil {
		return err
	}
	is, err := p.OnTop(Entry.Agreed)
	if err != nil || is <= was {
		return err
	}
	if under, err := p.underLimit(); err != nil || under {
		return err
	}
	for _, l := range p.lines {
		if l.Struck() || l.Consent != Agreed || l.AgreedNet == nil {
			continue
		}
		if err := setDearer(ctx, tx, l, *l.AgreedNet, false); err != nil {
			return err
		}
	}
	return nil
}
