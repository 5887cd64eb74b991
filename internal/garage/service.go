package garage

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Service sets the garage up, for those with the right to manage it.
type Service struct{ db *change.DB }

// New makes the service on a database.
func New(db *change.DB) *Service { return &Service{db: db} }

// SaveSettings sets the garage up when Version is 0, else changes the settings
// from that version, and gives them as saved. Errors are those of
// Settings.Clean, and a Conflict with the current Settings when they were
// changed meanwhile.
func (s *Service) SaveSettings(ctx context.Context, who actor.Actor, in Settings) (Settings, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Settings{}, err
	}
	in, err := in.Clean()
	if err != nil {
		return Settings{}, err
	}
	return change.Do(ctx, s.db, who, "save garage settings", in, func(ctx context.Context, tx *change.Tx) (Settings, error) {
		return writeSettings(ctx, tx, in)
	})
}

// SaveLabourType adds or changes a type of labour. Invalid messages are at
// name and rate, and at active when operations still take labour that is to be
// retired; a stale edit is a Conflict with the current LabourType.
func (s *Service) SaveLabourType(ctx context.Context, who actor.Actor, in LabourTypeInput) (LabourType, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return LabourType{}, err
	}
	in, err := in.clean()
	if err != nil {
		return LabourType{}, err
	}
	return change.Do(ctx, s.db, who, "save labour type", in, func(ctx context.Context, tx *change.Tx) (LabourType, error) {
		return writeLabourType(ctx, tx, in)
	})
}

// SaveOperation adds or changes an operation. Invalid messages are at name,
// labour_type, low, likely, high, fixed_price, vat_code and cautions; a stale
// edit is a Conflict with the current Operation. Cards keep what was written
// on them.
func (s *Service) SaveOperation(ctx context.Context, who actor.Actor, in OperationInput) (Operation, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Operation{}, err
	}
	in, err := in.clean()
	if err != nil {
		return Operation{}, err
	}
	return change.Do(ctx, s.db, who, "save operation", in, func(ctx context.Context, tx *change.Tx) (Operation, error) {
		return writeOperation(ctx, tx, in)
	})
}

// SaveSupplier adds or changes a supplier. Invalid messages are at name, phone
// and email; a stale edit is a Conflict with the current Supplier.
func (s *Service) SaveSupplier(ctx context.Context, who actor.Actor, in SupplierInput) (Supplier, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Supplier{}, err
	}
	in, err := in.clean()
	if err != nil {
		return Supplier{}, err
	}
	return change.Do(ctx, s.db, who, "save supplier", in, func(ctx context.Context, tx *change.Tx) (Supplier, error) {
		return writeSupplier(ctx, tx, in)
	})
}

// SetVATRate adds a rate that begins today or later, or replaces one that has
// not begun. What has been in force stays. Invalid messages are at code, from
// and rate.
func (s *Service) SetVATRate(ctx context.Context, who actor.Actor, in VATRateInput) (VATRate, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return VATRate{}, err
	}
	return change.Do(ctx, s.db, who, "set VAT rate", in, func(ctx context.Context, tx *change.Tx) (VATRate, error) {
		set, err := Load(ctx, tx)
		if err != nil {
			return VATRate{}, err
		}
		today := set.Today(tx.At)
		if err := in.check(today); err != nil {
			return VATRate{}, err
		}
		return writeVATRate(ctx, tx, in, today)
	})
}

// RemoveVATRate takes back a rate that has not begun; a Conflict when it has,
// or is not there.
func (s *Service) RemoveVATRate(ctx context.Context, who actor.Actor, code money.VATCode, from workday.Day) error {
	if err := who.Need(actor.ManageGarage); err != nil {
		return err
	}
	if !code.Valid() || from.IsZero() {
		return apperr.NoSuch("VAT rate")
	}
	in := VATRateInput{Code: code, From: from}
	_, err := change.Do(ctx, s.db, who, "remove VAT rate", in, func(ctx context.Context, tx *change.Tx) (struct{}, error) {
		set, err := Load(ctx, tx)
		if err != nil {
			return struct{}{}, err
		}
		return struct{}{}, removeVATRate(ctx, tx, code, from, set.Today(tx.At))
	})
	return err
}
