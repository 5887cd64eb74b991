package link

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
)

// Target tells of the thing that a link is to lead to: the card it is of (0
// for none) and whose it is; NotFound when there is no such thing.
type Target func(ctx context.Context, q pg.Querier, id int64) (jobcard.CardID, string, error)

// Service is what pages and API do with links.
type Service struct {
	db      *change.DB
	targets map[Purpose]Target
	secret  keep
}

// New makes the service. targets says for each purpose what may be linked to;
// a purpose that is not in it cannot be made by hand.
func New(db *change.DB, targets map[Purpose]Target) *Service {
	return &Service{db: db, targets: targets}
}

// Mint makes a link inside the change that sends it. Errors: fields until and
// given_to.
func Mint(ctx context.Context, tx *change.Tx, in NewLink) (Minted, error) {
	f := apperr.Fields{}
	in.GivenTo = f.Line("given_to", in.GivenTo, 120)
	f.Must("given_to", in.GivenTo, "who the link is for")
	// The token holds whole seconds.
	in.Until = in.Until.UTC().Truncate(time.Second)
	switch {
	case !in.Until.After(tx.At):
		f.Add("until", "the link would have ended already: give a later day")
	case in.Until.After(tx.At.Add(longest)) || in.Until.After(mayEnd):
		f.Add("until", "a link may be open for %d days at most", int(longest.Hours()/24))
	}
	if err := f.Err(); err != nil {
		return Minted{}, err
	}
	m, err := insert(ctx, tx, in)
	if err != nil {
		return Minted{}, err
	}
	tx.Record("link made", int64(in.CardID), in.GivenTo, map[string]any{
		"link": m.ID, "purpose": in.Purpose, "target": in.Target, "until": in.Until,
	})
	return m, nil
}

// Make makes a link as a change of its own, for a page or a program. The card
// is the target's, and without GivenTo so is the name.
func (s *Service) Make(ctx context.Context, who actor.Actor, in NewLink) (ID, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return 0, err
	}
	target, ok := s.targets[in.Purpose]
	if !ok {
		return 0, apperr.Field("purpose", "no link can be made for that")
	}
	// Only the identity is kept as the first result: the token is worked out
	// from it, and so is nowhere in the books.
	return change.Do(ctx, s.db, who, "make link", in, func(ctx context.Context, tx *change.Tx) (ID, error) {
		card, name, err := target(ctx, tx, in.Target)
		if err != nil {
			return 0, err
		}
		if in.CardID = card; in.GivenTo == "" {
			in.GivenTo = name
		}
		m, err := Mint(ctx, tx, in)
		return m.ID, err
	})
}

// Token gives the token of a link that stands, for whoever may send it again.
func (s *Service) Token(ctx context.Context, who actor.Actor, id ID) (Minted, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Minted{}, err
	}
	return tokenOf(ctx, s.db.Pool, id, s.db.Now())
}

// Open reads the link behind a token and counts that it was opened; its first
// opening is on record. Errors: ErrUnknown for what was never ours. A link that is over comes with
// its state, and opens nothing.
func (s *Service) Open(ctx context.Context, token string) (Link, State, error) {
	l, over, err := s.Look(ctx, token)
	if err != nil || over != "" {
		return l, over, err
	}
	who := actor.CustomerOf(l.GivenTo, "link")
	l, err = change.Do(ctx, s.db, who, "open link", l.ID, func(ctx context.Context, tx *change.Tx) (Link, error) {
		return opened(ctx, tx, l)
	})
	return l, "", err
}

// Look is Open without the counting, for the pictures and posts of a page.
func (s *Service) Look(ctx context.Context, token string) (Link, State, error) {
	secret, err := s.secret.get(ctx, s.db.Pool)
	if err != nil {
		return Link{}, "", err
	}
	name, until, ok := read(secret, token)
	if !ok {
		return Link{}, "", ErrUnknown
	}
	l, err := byName(ctx, s.db.Pool, name)
	if err != nil {
		return Link{}, "", err
	}
	if !l.Until.Equal(until) {
		return Link{}, "", ErrUnknown
	}
	return l, l.Over(s.db.Now()), nil
}

// Revoke withdraws one link. A link that is withdrawn already stays as it is.
func (s *Service) Revoke(ctx context.Context, who actor.Actor, id ID) (Link, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Link{}, err
	}
	return change.Do(ctx, s.db, who, "withdraw link", id, func(ctx context.Context, tx *change.Tx) (Link, error) {
		l, err := one(ctx, tx, id)
		if err != nil {
			return Link{}, err
		}
		_, err = withdraw(ctx, tx, "id = $3", int64(id))
		if err != nil {
			return Link{}, err
		}
		if l.WithdrawnAt.IsZero() {
			l.WithdrawnAt = tx.At
		}
		return l, nil
	})
}

// RevokeCard withdraws every link of a card and gives how many there were.
func (s *Service) RevokeCard(ctx context.Context, who actor.Actor, card jobcard.CardID) (int, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "withdraw links of card", card, func(ctx context.Context, tx *change.Tx) (int, error) {
		if _, err := jobcard.Lock(ctx, tx, card); err != nil {
			return 0, err
		}
		return withdraw(ctx, tx, "card_id = $3", int64(card))
	})
}

// RevokeOf withdraws every link to one thing, inside the change that takes it
// back.
func RevokeOf(ctx context.Context, tx *change.Tx, p Purpose, target int64) (int, error) {
	return withdraw(ctx, tx, "purpose = $3 and target_id = $4", p, target)
}

// Of reads the links to one thing, the newest first.
func Of(ctx context.Context, q pg.Querier, p Purpose, target int64) ([]Link, error) {
	return list(ctx, q, "purpose = $1 and target_id = $2", p, target)
}

// OfCard reads the links of one card, the newest first. Errors: NotFound.
func (s *Service) OfCard(ctx context.Context, who actor.Actor, card jobcard.CardID) ([]Link, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, err
	}
	all, err := list(ctx, s.db.Pool, "card_id = $1", card)
	if err != nil || len(all) > 0 {
		return all, err
	}
	_, err = pg.One[struct{ ID jobcard.CardID }](ctx, s.db.Pool, "card", `select id from card where id = $1`, card)
	return nil, err
}
