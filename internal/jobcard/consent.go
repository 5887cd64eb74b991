package jobcard

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
)

// Ways in which a customer answers.
var Ways = []string{"in person", "by phone", "in writing"}

// ConsentInput records one answer of the customer to one or more lines.
type ConsentInput struct {
	CardID CardID
	// Lines answered; none means every line that is still asked.
	Lines  []LineID
	Answer Consent // Agreed or Declined
	SaidBy string
	How    string
}

// Answer records what the customer said. The price and hours agreed are those
// of this moment, and the quote's part costs are kept to compare with.
func (s *Service) Answer(ctx context.Context, who actor.Actor, in ConsentInput) (Changed, error) {
	if err := who.Need(actor.RecordConsent); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.SaidBy = f.Line("said_by", in.SaidBy, MaxShort)
	f.Must("said_by", in.SaidBy, "the name of who answered")
	if !slices.Contains(Ways, in.How) {
		f.Add("how", "say how they answered: in person, by phone or in writing")
	}
	if in.Answer != Agreed && in.Answer != Declined {
		f.Add("answer", "the answer is agreed or declined")
	}
	if len(in.Lines) > MaxLines {
		f.Add("lines", "a card has at most %d lines", MaxLines)
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "record consent", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, err := Lock(ctx, tx, in.CardID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		ids := slices.Clone(in.Lines)
		if len(ids) == 0 {
			if ids, err = stillAsked(ctx, tx, c.ID); err != nil {
				return Changed{}, err
			}
			if len(ids) == 0 {
				return Changed{}, apperr.Field("lines", "there is nothing left to ask on this card")
			}
		}
		for _, id := range ids {
			if err := answer(ctx, tx, c, id, in); err != nil {
				return Changed{}, err
			}
		}
		return Changed{CardID: c.ID, Version: c.Version}, nil
	})
}

func stillAsked(ctx context.Context, tx *change.Tx, card CardID) ([]LineID, error) {
	var ids []LineID
	rows, err := tx.Query(ctx, `select id from line where card_id = $1 and consent = 'asked' and struck_at is null
		order by position limit 100`, card)
	if err != nil {
		return nil, fmt.Errorf("find what is asked: %w", err)
	}
	err = each(func(r pgx.Rows) error {
		var id LineID
		err := r.Scan(&id)
		ids = append(ids, id)
		return err
	})(rows)
	return ids, err
}

func answer(ctx context.Context, tx *change.Tx, c Card, id LineID, in ConsentInput) error {
	l, err := lineByID(ctx, tx, id)
	if err != nil {
		return err
	}
	switch {
	case l.CardID != c.ID:
		return apperr.NoSuch("line on this card")
	case l.Struck():
		return apperr.New(apperr.Conflict, "“%s” has been struck out", l.Title)
	case in.Answer == Declined && (l.WorkState == Done || l.WorkState == InHand):
		return apperr.New(apperr.Conflict, "“%s” is %s: it cannot be declined any more", l.Title, l.WorkState)
	}
	net, err := lineNet(ctx, tx, l)
	if err != nil {
		return err
	}
	return giveConsent(ctx, tx, l, in, l.Estimate.Likely, net)
}

func giveConsent(ctx context.Context, tx *change.Tx, l Line, in ConsentInput, t time.Duration, net money.Minor) error {
	if _, err := tx.Exec(ctx, `
		insert into consent (line_id, answer, said_by, how, minutes, net_minor, taken_by, at)
		values ($1, $2, $3, $4, $5, $6, nullif($7::bigint, 0), $8)`,
		l.ID, in.Answer, in.SaidBy, in.How, minutes(t), net, tx.Who.StaffID, tx.At); err != nil {
		return fmt.Errorf("record consent: %w", err)
	}
	if in.Answer == Declined {
		if _, err := tx.Exec(ctx, `update line set consent = 'declined', version = version + 1 where id = $1`, l.ID); err != nil {
			return fmt.Errorf("record consent: %w", err)
		}
	} else {
		if _, err := tx.Exec(ctx, `update line set consent = 'agreed', agreed_minutes = $2, agreed_net_minor = $3,
			version = version + 1 where id = $1`, l.ID, minutes(t), net); err != nil {
			return fmt.Errorf("record consent: %w", err)
		}
		if _, err := tx.Exec(ctx, `update part set quoted_qty_milli = qty_milli, quoted_cost_minor = cost_minor, version = version + 1
			where line_id = $1 and struck_at is null and quoted_qty_milli is null`, l.ID); err != nil {
			return fmt.Errorf("keep the quoted costs: %w", err)
		}
	}
	tx.Record("line "+string(in.Answer), int64(l.CardID), l.Title, map[string]any{
		"line": l.ID, "said by": in.SaidBy, "how": in.How, "net": net, "minutes": minutes(t),
	})
	return nil
}

// lineNet is the net price of a line now, labour and parts.
func lineNet(ctx context.Context, tx *change.Tx, l Line) (money.Minor, error) {
	var parts []Part
	rows, err := tx.Query(ctx, `select `+partColumns+partFrom+`where p.line_id = $1 limit 500`, l.ID)
	if err != nil {
		return 0, fmt.Errorf("read the line's parts: %w", err)
	}
	if err := collect(&parts, scanPart)(rows); err != nil {
		return 0, fmt.Errorf("read the line's parts: %w", err)
	}
	net := l.LabourNet()
	for _, p := range parts {
		if p.Counts() {
			net += p.Net()
		}
	}
	return net, net.Check()
}

// askAgainIfDearer sets an agreed line back to asked when it now costs more
// than was agreed to.
func askAgainIfDearer(ctx context.Context, tx *change.Tx, id LineID) error {
	if id == 0 {
		return nil
	}
	l, err := lineByID(ctx, tx, id)
	if err != nil || l.Consent != Agreed || l.AgreedNet == nil {
		return err
	}
	net, err := lineNet(ctx, tx, l)
	if err != nil || net <= *l.AgreedNet {
		return err
	}
	if _, err := tx.Exec(ctx, `update line set consent = 'asked' where id = $1`, id); err != nil {
		return fmt.Errorf("ask again: %w", err)
	}
	tx.Record("line asked again", int64(l.CardID), l.Title, map[string]any{"line": id, "agreed net": *l.AgreedNet, "net": net})
	return nil
}
