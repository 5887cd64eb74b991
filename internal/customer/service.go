package customer

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// Service is what may be done with customers, by those with the right.
type Service struct{ db *change.DB }

// New makes the service on a database.
func New(db *change.DB) *Service { return &Service{db: db} }

// Get reads one customer, for those who may see people's telephones and
// addresses.
func (s *Service) Get(ctx context.Context, who actor.Actor, id ID) (Customer, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Customer{}, err
	}
	return Get(ctx, s.db.Pool, id)
}

// Create adds a customer. Errors are those of Input.Clean.
func (s *Service) Create(ctx context.Context, who actor.Actor, in Input) (ID, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "add customer", in, func(ctx context.Context, tx *change.Tx) (ID, error) {
		return Insert(ctx, tx, in)
	})
}

// EditInput is an edit of a customer and the version it was made from.
type EditInput struct {
	ID      ID
	Version int
	Input
}

// Edit saves a changed customer and gives the new version. An edit made from
// an older version is a Conflict whose Current is the Customer as it stands.
func (s *Service) Edit(ctx context.Context, who actor.Actor, in EditInput) (int, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return 0, err
	}
	clean, err := in.Input.Clean()
	if err != nil {
		return 0, err
	}
	if in.ID < 1 {
		return 0, apperr.NoSuch("customer")
	}
	return change.Do(ctx, s.db, who, "edit customer", in, func(ctx context.Context, tx *change.Tx) (int, error) {
		if err := update(ctx, tx, in.ID, in.Version, clean); err != nil {
			return 0, err
		}
		return in.Version + 1, nil
	})
}

// WithPhone lists the customers already on file under a telephone number, in
// any spelling, at most limit; none for an empty number. For a write with a
// key that has been made it lists nobody: it may have put them there itself.
func (s *Service) WithPhone(ctx context.Context, who actor.Actor, phone string, limit int) ([]Customer, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	found, err := WithPhone(ctx, s.db.Pool, phone, limit)
	if err != nil || len(found) == 0 {
		return nil, err
	}
	// Asked after looking: who is found because of the write comes with its key.
	if made, err := change.Made(ctx, s.db.Pool, who); err != nil || made {
		return nil, err
	}
	return found, nil
}
