package quote

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// Service is what pages and programs do with quotes.
type Service struct {
	db *change.DB
	// public gives the address of a path as the customer's browser has it.
	public func(path string) string
}

// New makes the service. public turns a path into the address that a customer
// can open, for the links in letters.
func New(db *change.DB, public func(path string) string) *Service {
	return &Service{db: db, public: public}
}

// Read reads a version for whoever sends quotes, or for the customer behind a
// link that was given for it. Errors: NotFound, Forbidden.
func (s *Service) Read(ctx context.Context, who actor.Actor, id VersionID) (*Version, error) {
	if err := mayRead(who); err != nil {
		return nil, err
	}
	return ReadVersion(ctx, s.db.Pool, id)
}

// mayRead lets staff through who see prices, and the customer: a page for them
// asks only for what their link is for.
func mayRead(who actor.Actor) error {
	if who.Role == actor.Customer {
		return who.Need(actor.AnswerQuote)
	}
	return who.Need(actor.SendQuote)
}

// errNobody is what a service of quotes says of a version that is not there.
var errNobody = apperr.NoSuch("version of a quote")
