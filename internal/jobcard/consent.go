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
)

// Ways in which a customer answers somebody at the desk, and ByLink, in which
// they answer themselves.
var Ways = []string{"in person", "by phone", "in writing"}

// ByLink is the answer that the customer gave on their own page.
const ByLink = "by link"

// ConsentInput records one answer of the customer to one or more lines.
type ConsentInput struct {
	CardID CardID
	// Lines answered; none means every line that is still asked.
	Lines  []LineID
	Answer Consent // Agreed or Declined
	SaidBy string
	How    string
	// UpTo is a limit that the customer gave with a yes, with VAT: a dearer
	// price within it needs no new one. It is for each line answered, or with
	// UpToForCard for the card as a whole. nil gives none.
	UpTo        *money.Minor
	UpToForCard bool
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
	switch {
	case in.UpTo == nil:
	case in.Answer == Declined:
		f.Add("up_to", "a limit goes with a yes")
	case *in.UpTo < 1 || *in.UpTo > maxLimit:
		f.Add("up_to", "a limit lies between 0.01 and %s", money.FormatPlain(maxLimit))
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
		d := AnswerDetails{SaidBy: in.SaidBy, How: in.How}
		answers := make([]LineAnswer, len(ids))
		for i, id := range ids {
			answers[i] = LineAnswer{LineID: id, Answer: in.Answer}
			if !in.UpToForCard {
				answers[i].UpTo = in.UpTo
			}
		}
		if in.UpToForCard {
			d.CardUpTo = in.UpTo
		}
		return Changed{CardID: c.ID, Version: c.Version}, recordAnswer(ctx, tx, c, answers, d)
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
