package vehicle_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

func october(day int) workday.Day { return workday.Must(2026, time.October, day) }

// keepers writes the history of a car, first to last: "1 Ann-5, 5 Bob".
func (r *rig) keepers(id vehicle.ID) string {
	r.Helper()
	rec, err := r.vehicles.Record(r.Context(), r.desk, id)
	if err != nil {
		r.Fatal(err)
	}
	var out []string
	for _, k := range slices.Backward(rec.Keepers) {
		_, _, from := k.From.Date()
		s := fmt.Sprintf("%d %s", from, k.Name)
		if !k.Until.IsZero() {
			_, _, until := k.Until.Date()
			s += fmt.Sprintf("-%d", until)
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

func TestAChangeOfKeeperEndsTheEarlierOnesTime(t *testing.T) {
	type step struct {
		day  int
		name string
	}
	for _, c := range []struct {
		steps []step
		want  string
	}{
		{[]step{{1, "Ann"}}, "1 Ann"},
		{[]step{{1, "Ann"}, {5, "Bob"}}, "1 Ann-5, 5 Bob"},
		{[]step{{1, "Ann"}, {5, "Ann"}}, "1 Ann"},
		{[]step{{1, "Ann"}, {5, "Bob"}, {5, "Cy"}}, "1 Ann-5, 5 Cy"},
		{[]step{{5, "Bob"}, {1, "Ann"}}, "1 Ann-5, 5 Bob"},
		{[]step{{1, "Ann"}, {9, "Cy"}, {5, "Bob"}}, "1 Ann-5, 5 Bob-9, 9 Cy"},
		{[]step{{1, "Ann"}, {5, "Bob"}, {9, "Ann"}}, "1 Ann-5, 5 Bob-9, 9 Ann"},
	} {
		r := newRig(t)
		id := r.car("BD51 SMR")
		people := map[string]customer.ID{}
		for _, s := range c.steps {
			if people[s.name] == 0 {
				people[s.name] = r.customer(s.name, "")
			}
			err := r.do(func(ctx context.Context, tx *change.Tx) error {
				return vehicle.SetKeeper(ctx, tx, id, people[s.name], october(s.day))
			})
			if err != nil {
				t.Fatalf("%v: %v", c.steps, err)
			}
		}
		if got := r.keepers(id); got != c.want {
			t.Errorf("%v gives %s, want %s", c.steps, got, c.want)
		}
	}
}

func TestWhoKeepsACarIsToldForEachDay(t *testing.T) {
	r := newRig(t)
	id, ann, bob := r.car("BD51 SMR"), r.customer("Ann", ""), r.customer("Bob", "")
	for day, who := range map[int]customer.ID{1: ann, 5: bob} {
		if err := r.do(func(ctx context.Context, tx *change.Tx) error {
			return vehicle.SetKeeper(ctx, tx, id, who, october(day))
		}); err != nil {
			t.Fatal(err)
		}
	}
	for day, want := range map[int]customer.ID{1: ann, 4: ann, 5: bob, 31: bob} {
		if got, err := vehicle.KeeperOn(t.Context(), r.db.Pool, id, october(day)); err != nil || got != want {
			t.Errorf("on %d October: %d, %v, want %d", day, got, err, want)
		}
	}
	if _, err := vehicle.KeeperOn(t.Context(), r.db.Pool, id, october(1).AddDays(-1)); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("before the first keeper: %v", err)
	}
}

func TestAChangeOfKeeperCanBringANewCustomer(t *testing.T) {
	r := newRig(t)
	id := r.car("BD51 SMR")
	got, err := r.vehicles.ChangeKeeper(t.Context(), r.desk, vehicle.KeeperInput{VehicleID: id, NewCustomer: &customer.Input{Name: "Ann", Phone: "07700 900123"}, Day: today})
	if err != nil || r.keepers(id) != "5 Ann" {
		t.Fatalf("got %v, %v: %s", got, err, r.keepers(id))
	}
	for _, c := range []struct {
		name string
		in   vehicle.KeeperInput
		want []string
	}{
		{"nobody", vehicle.KeeperInput{VehicleID: id, Day: today, Was: got}, []string{"customer"}},
		{"no such customer", vehicle.KeeperInput{VehicleID: id, CustomerID: 999999, Day: today.AddDays(1), Was: got}, []string{"customer"}},
		{"no day", vehicle.KeeperInput{VehicleID: id, CustomerID: got}, []string{"day"}},
		{"a new customer without a name", vehicle.KeeperInput{VehicleID: id, NewCustomer: &customer.Input{Phone: "x"}, Day: today, Was: got}, []string{"name", "phone"}},
	} {
		_, err := r.vehicles.ChangeKeeper(t.Context(), r.desk, c.in)
		if f := fields(t, err); !slices.Equal(f, c.want) {
			t.Errorf("%s: messages at %v, want %v", c.name, f, c.want)
		}
	}
	if n := r.count(`select count(*) from customer`); n != 1 {
		t.Errorf("%d customers after refusals", n)
	}
	if _, err := r.vehicles.ChangeKeeper(t.Context(), r.desk, vehicle.KeeperInput{VehicleID: 999999, CustomerID: got, Day: today}); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a car that is not there: %v", err)
	}
}

func TestAKeeperChangedMeanwhileIsShown(t *testing.T) {
	r := newRig(t)
	id, ann, bob, cy := r.car("BD51 SMR"), r.customer("Ann", ""), r.customer("Bob", ""), r.customer("Cy", "")
	change := func(to, was customer.ID) error {
		_, err := r.vehicles.ChangeKeeper(t.Context(), r.desk, vehicle.KeeperInput{VehicleID: id, CustomerID: to, Day: today, Was: was})
		return err
	}
	if err := change(ann, 0); err != nil {
		t.Fatal(err)
	}
	if err := change(bob, ann); err != nil {
		t.Fatal(err)
	}
	err := change(cy, ann)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict || e.Current.(customer.Customer).Name != "Bob" {
		t.Errorf("got %v", err)
	}
	if got := r.keepers(id); got != "5 Bob" {
		t.Errorf("kept by %s", got)
	}
}
