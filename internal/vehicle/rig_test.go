package vehicle_test

import (
	"context"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/pg/pgtest"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// noon is when every change of these tests happens.
var noon = time.Date(2026, time.October, 5, 11, 0, 0, 0, time.UTC)

var today = workday.Must(2026, time.October, 5)

// rig is a test's own database with the services on it and somebody of each
// role.
type rig struct {
	*testing.T
	db        *change.DB
	vehicles  *vehicle.Service
	customers *customer.Service
	owner     actor.Actor
	desk      actor.Actor
	tech      actor.Actor
}

func newRig(t *testing.T) *rig {
	t.Helper()
	db := &change.DB{Pool: pgtest.New(t), Now: func() time.Time { return noon }}
	r := &rig{T: t, db: db, vehicles: vehicle.New(db), customers: customer.New(db)}
	r.owner, r.desk, r.tech = r.staff("Olwen", actor.Owner), r.staff("Dilys", actor.Desk), r.staff("Tarn", actor.Technician)
	return r
}

func (r *rig) staff(name string, role actor.Role) actor.Actor {
	r.Helper()
	a := actor.Actor{Name: name, Role: role, Via: actor.ViaPage, Device: "test"}
	err := r.db.Pool.QueryRow(r.Context(), `insert into staff (name, role, created_at) values ($1, $2, $3) returning id`,
		name, role, noon).Scan(&a.StaffID)
	if err != nil {
		r.Fatal(err)
	}
	return a
}

func (r *rig) customer(name, phone string) customer.ID {
	r.Helper()
	id, err := r.customers.Create(r.Context(), r.desk, customer.Input{Name: name, Phone: phone})
	if err != nil {
		r.Fatalf("customer %s: %v", name, err)
	}
	return id
}

func (r *rig) add(in vehicle.AddInput) (vehicle.ID, error) {
	c, err := r.vehicles.Add(r.Context(), r.desk, in)
	return c.ID, err
}

func (r *rig) car(mark string) vehicle.ID {
	r.Helper()
	id, err := r.add(vehicle.AddInput{Input: vehicle.Input{Mark: mark, Make: "Corvane", Model: "Alder"}})
	if err != nil {
		r.Fatalf("car %s: %v", mark, err)
	}
	return id
}

func (r *rig) exec(sql string, args ...any) {
	r.Helper()
	if _, err := r.db.Pool.Exec(r.Context(), sql, args...); err != nil {
		r.Fatalf("%s: %v", sql, err)
	}
}

func (r *rig) count(sql string, args ...any) int {
	r.Helper()
	var n int
	if err := r.db.Pool.QueryRow(r.Context(), sql, args...).Scan(&n); err != nil {
		r.Fatalf("%s: %v", sql, err)
	}
	return n
}

// do runs a write helper as the desk would.
func (r *rig) do(fn func(ctx context.Context, tx *change.Tx) error) error {
	r.Helper()
	_, err := change.Do(r.Context(), r.db, r.desk, "test", nil, func(ctx context.Context, tx *change.Tx) (bool, error) {
		return true, fn(ctx, tx)
	})
	return err
}

func (y *yard) keeperOf(model string) customer.ID {
	y.Helper()
	id, err := vehicle.KeeperOn(y.Context(), y.db.Pool, y.cars[model], today)
	if err != nil {
		y.Fatal(err)
	}
	return id
}
