package garage_test

import (
	"context"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/pg/pgtest"
)

func TestANewGarageNeedsOnlyItsName(t *testing.T) {
	db := change.New(pgtest.New(t))
	found := func(name string) error {
		_, err := change.Do(t.Context(), db, actor.Command("test"), "found", name, func(ctx context.Context, tx *change.Tx) (bool, error) {
			return true, garage.Found(ctx, tx, name)
		})
		return err
	}
	if err := found(" "); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("without a name: %v", err)
	}
	if err := found("Saltmarsh Lane Garage"); err != nil {
		t.Fatal(err)
	}
	s, err := garage.Load(t.Context(), db.Pool)
	if err != nil || s.Name != "Saltmarsh Lane Garage" || s.Currency != "GBP" || s.Location().String() != "Europe/London" || len(s.WorkDays) != 5 {
		t.Errorf("%+v, %v", s, err)
	}
	if err := found("Another"); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a second garage: %v", err)
	}
}
