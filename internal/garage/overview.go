package garage

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
)

// Overview is what the owner sees first of how the garage is set up.
type Overview struct {
	Settings
	// Set is false while the garage is not set up.
	Set                                bool
	Operations, LabourTypes, Suppliers int
}

// Overview reads what the garage is made of, in one round trip.
func (s *Service) Overview(ctx context.Context, who actor.Actor) (o Overview, err error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return o, err
	}
	var b pgx.Batch
	b.Queue(`select ` + settingsColumns + ` from garage where id = 1`).Query(func(rows pgx.Rows) error {
		all, err := collect(rows, "garage", scanSettings)
		if err == nil && len(all) == 1 {
			o.Settings, o.Set = all[0], true
		}
		return err
	})
	b.Queue(`
		select (select count(*) from operation where active), (select count(*) from labour_type where active),
			(select count(*) from supplier where active)`).QueryRow(func(row pgx.Row) error {
		return row.Scan(&o.Operations, &o.LabourTypes, &o.Suppliers)
	})
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return o, fmt.Errorf("overview of the garage: %w", err)
	}
	return o, nil
}

// The readers below are those of the package, for whoever may change what
// they read: it holds what an hour costs.

// Settings reads the settings; NotFound while the garage is not set up.
func (s *Service) Settings(ctx context.Context, who actor.Actor) (Settings, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Settings{}, err
	}
	return Load(ctx, s.db.Pool)
}

// LabourTypes lists the types of labour, retired ones last.
func (s *Service) LabourTypes(ctx context.Context, who actor.Actor) ([]LabourType, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return LabourTypes(ctx, s.db.Pool)
}

// LabourType reads one type of labour.
func (s *Service) LabourType(ctx context.Context, who actor.Actor, id LabourTypeID) (LabourType, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return LabourType{}, err
	}
	return LabourTypeByID(ctx, s.db.Pool, id)
}

// Operations lists the operations whose names hold every word of text, retired
// ones last.
func (s *Service) Operations(ctx context.Context, who actor.Actor, text string) ([]Operation, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return Operations(ctx, s.db.Pool, text)
}

// Operation reads one operation.
func (s *Service) Operation(ctx context.Context, who actor.Actor, id OperationID) (Operation, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Operation{}, err
	}
	return OperationByID(ctx, s.db.Pool, id)
}

// Suppliers lists the suppliers, retired ones last.
func (s *Service) Suppliers(ctx context.Context, who actor.Actor) ([]Supplier, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return Suppliers(ctx, s.db.Pool)
}

// Supplier reads one supplier.
func (s *Service) Supplier(ctx context.Context, who actor.Actor, id SupplierID) (Supplier, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Supplier{}, err
	}
	return SupplierByID(ctx, s.db.Pool, id)
}

// VATRates lists every rate there was, is and is known to come.
func (s *Service) VATRates(ctx context.Context, who actor.Actor) ([]VATRate, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return VATHistory(ctx, s.db.Pool)
}
