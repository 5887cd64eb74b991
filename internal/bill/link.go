package bill

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/pg"
)

// linkHolds is how long a customer can open a bill by its link: until after the
// next service, and the bill is wanted for that.
const linkHolds = 395 * 24 * time.Hour

// Target tells a link of a document what it leads to: the card it is of and who
// it was for. Errors: NotFound.
func Target(ctx context.Context, q pg.Querier, id int64) (card jobcard.CardID, name string, err error) {
	err = q.QueryRow(ctx, `select card_id, buyer_name from bill where id = $1`, id).Scan(&card, &name)
	return card, name, pg.Explain(err, "bill", nil)
}

// ReadBehind reads the document that a link leads to, with what was paid since.
// Errors: NotFound, also for a link to something else.
func (s *Service) ReadBehind(ctx context.Context, l link.Link) (Document, error) {
	if l.Purpose != link.Bill {
		return Document{}, apperr.NoSuch("bill")
	}
	return Read(ctx, s.db.Pool, ID(l.Target))
}

// Linked makes a link to a document, to be passed on to the customer. Errors:
// NotFound.
func (s *Service) Linked(ctx context.Context, who actor.Actor, id ID) (link.ID, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "make a link to a bill", id, func(ctx context.Context, tx *change.Tx) (link.ID, error) {
		card, name, err := Target(ctx, tx, int64(id))
		if err != nil {
			return 0, err
		}
		m, err := link.Mint(ctx, tx, link.NewLink{Purpose: link.Bill, Target: int64(id), CardID: card, GivenTo: name, Until: tx.At.Add(linkHolds)})
		return m.ID, err
	})
}

// Links are the links to a document that were made.
func (s *Service) Links(ctx context.Context, who actor.Actor, id ID) ([]link.Link, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	return link.Of(ctx, s.db.Pool, link.Bill, int64(id))
}
