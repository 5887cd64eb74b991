package vehicle

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/workday"
)

// Service is what may be done with cars, by those with the right.
type Service struct{ db *change.DB }

// New makes the service on a database.
func New(db *change.DB) *Service { return &Service{db: db} }

// Changed is the result of a change to a car.
type Changed struct {
	ID      ID
	Version int
}

// AddInput is a new car, with its keeper where that is known.
type AddInput struct {
	Input
	Facts    []FactInput
	KeeperID customer.ID
	// KeptFrom is needed with a keeper only.
	KeptFrom workday.Day
}

// Add puts a car on file. Errors are those of Input.Clean, those of
// FactInput.Clean, and those of SetKeeper.
func (s *Service) Add(ctx context.Context, who actor.Actor, in AddInput) (Changed, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "add vehicle", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		id, err := Insert(ctx, tx, in.Input)
		if err != nil {
			return Changed{}, err
		}
		for _, f := range in.Facts {
			if err := PutFact(ctx, tx, id, f); err != nil {
				return Changed{}, err
			}
		}
		if in.KeeperID != 0 {
			if err := SetKeeper(ctx, tx, id, in.KeeperID, in.KeptFrom); err != nil {
				return Changed{}, err
			}
		}
		return Changed{ID: id, Version: 1}, nil
	})
}

// EditInput is an edit of a car and the version it was made from.
type EditInput struct {
	ID      ID
	Version int
	Input
}

// Edit saves a changed car. An edit made from an older version is a Conflict
// whose Current is the Vehicle as it stands; else errors are those of
// Input.Clean.
func (s *Service) Edit(ctx context.Context, who actor.Actor, in EditInput) (Changed, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return Changed{}, err
	}
	c, err := in.clean()
	if err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "edit vehicle", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		if err := update(ctx, tx, in.ID, in.Version, c); err != nil {
			return Changed{}, err
		}
		return Changed{ID: in.ID, Version: in.Version + 1}, nil
	})
}

// KeeperInput is a change of keeper: to a customer on file, or a new one.
type KeeperInput struct {
	VehicleID   ID
	CustomerID  customer.ID
	NewCustomer *customer.Input
	Day         workday.Day
	// Was is the keeper that the change was made from, 0 for none: if it is
	// somebody else meanwhile, that is a Conflict whose Current is theirs.
	Was customer.ID
}

// ChangeKeeper makes somebody the keeper of a car from a day on, and gives
// their ID. Errors have their messages at customer and day, or at the fields
// of a new customer.
func (s *Service) ChangeKeeper(ctx context.Context, who actor.Actor, in KeeperInput) (customer.ID, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return 0, err
	}
	if in.CustomerID == 0 && in.NewCustomer == nil {
		return 0, apperr.Field("customer", "please say who keeps the car now")
	}
	return change.Do(ctx, s.db, who, "change keeper", in, func(ctx context.Context, tx *change.Tx) (customer.ID, error) {
		if err := lock(ctx, tx, in.VehicleID); err != nil {
			return 0, err
		}
		now, err := keptOn(ctx, tx, in.VehicleID, in.Day)
		if err != nil {
			return 0, err
		}
		if now.customer != in.Was {
			var current customer.Customer
			if now.customer != 0 {
				if current, err = customer.Get(ctx, tx, now.customer); err != nil {
					return 0, err
				}
			}
			return 0, apperr.Stale("car's keeper", current)
		}
		id := in.CustomerID
		if in.NewCustomer != nil {
			if id, err = customer.Insert(ctx, tx, *in.NewCustomer); err != nil {
				return 0, err
			}
		}
		return id, SetKeeper(ctx, tx, in.VehicleID, id, in.Day)
	})
}

// FactEdit notes one fact, or changes what a source said.
type FactEdit struct {
	VehicleID ID
	FactInput
	// Was is the value that this source had when the edit was begun, empty
	// for none. Another one meanwhile is a Conflict whose Current is the Fact.
	Was string
}

// SetFact notes a fact. Technicians may too: they are the ones who look.
// Errors are those of FactInput.Clean.
func (s *Service) SetFact(ctx context.Context, who actor.Actor, in FactEdit) (Fact, error) {
	if err := needFacts(who); err != nil {
		return Fact{}, err
	}
	clean, err := in.Clean()
	if err != nil {
		return Fact{}, err
	}
	return change.Do(ctx, s.db, who, "set fact", in, func(ctx context.Context, tx *change.Tx) (Fact, error) {
		if _, err := lockFact(ctx, tx, in); err != nil {
			return Fact{}, err
		}
		if err := PutFact(ctx, tx, in.VehicleID, clean); err != nil {
			return Fact{}, err
		}
		return factOf(ctx, tx, in.VehicleID, clean.Key, clean.Source)
	})
}

// RemoveFact takes back what a source said; the record keeps it. Of in it
// reads the car, the key, the source and Was.
func (s *Service) RemoveFact(ctx context.Context, who actor.Actor, in FactEdit) (Changed, error) {
	if err := needFacts(who); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "remove fact", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		was, err := lockFact(ctx, tx, in)
		if err != nil {
			return Changed{}, err
		}
		if was.Value == "" {
			return Changed{}, apperr.NoSuch("fact")
		}
		return Changed{ID: in.VehicleID}, removeFact(ctx, tx, in.VehicleID, was)
	})
}

func needFacts(who actor.Actor) error {
	if who.May(actor.BookIn) {
		return nil
	}
	return who.Need(actor.Work)
}

// lockFact holds the car's row, which orders changes of its facts, and reads
// what the source says now, if that is what the edit was made from.
func lockFact(ctx context.Context, tx *change.Tx, in FactEdit) (Fact, error) {
	if err := LockFacts(ctx, tx, in.VehicleID); err != nil {
		return Fact{}, err
	}
	now, err := factOf(ctx, tx, in.VehicleID, in.Key, in.Source)
	if err != nil {
		return Fact{}, err
	}
	if now.Value != in.Was {
		return Fact{}, apperr.Stale("fact", now)
	}
	return now, nil
}

// Twins finds the cars on file that have the mark or the VIN of what was
// typed, so that a page can lead to them. At most two.
func (s *Service) Twins(ctx context.Context, who actor.Actor, in Input) ([]Vehicle, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	return Twins(ctx, s.db.Pool, in)
}
