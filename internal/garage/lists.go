package garage

import (
	"context"
	"fmt"
	"time"

	"rampside/internal/actor"
)

// Lists are the names that a card's forms choose from: only what is in use.
type Lists struct {
	Operations  []Operation
	LabourTypes []LabourType
	Suppliers   []Supplier
}

// Lists reads the names that forms choose from.
func (s *Service) Lists(ctx context.Context, who actor.Actor) (l Lists, err error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return l, err
	}
	if l.Operations, err = SearchOperations(ctx, s.db.Pool, "", 500); err != nil {
		return l, err
	}
	types, err := LabourTypes(ctx, s.db.Pool)
	if err != nil {
		return l, err
	}
	for _, t := range types {
		if t.Active {
			l.LabourTypes = append(l.LabourTypes, t)
		}
	}
	suppliers, err := Suppliers(ctx, s.db.Pool)
	if err != nil {
		return l, err
	}
	for _, p := range suppliers {
		if p.Active {
			l.Suppliers = append(l.Suppliers, p)
		}
	}
	return l, nil
}

// Zone is the garage's zone as it is set now.
func (s *Service) Zone(ctx context.Context) (*time.Location, error) {
	set, err := Load(ctx, s.db.Pool)
	if err != nil {
		return nil, fmt.Errorf("the garage's zone: %w", err)
	}
	return set.Location(), nil
}
