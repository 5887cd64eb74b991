package account

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

func TestOfTwentyFirstOwnersAtOnceOneWins(t *testing.T) {
	h := empty(t)
	if none, err := h.NeedsOwner(t.Context()); err != nil || !none {
		t.Fatalf("before: %v, %v", none, err)
	}
	var won, lost atomic.Int64
	var wg sync.WaitGroup
	for i := range 20 {
		wg.Go(func() {
			_, err := h.FirstOwner(t.Context(), NewOwner{Garage: "Saltmarsh Lane Garage", Name: fmt.Sprintf("Owner %d", i), SignIn: fmt.Sprintf("owner%d", i), Password: goodPassword})
			switch {
			case err == nil:
				won.Add(1)
			case apperr.Is(err, apperr.Conflict):
				lost.Add(1)
			default:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if won.Load() != 1 || lost.Load() != 19 {
		t.Errorf("%d won, %d lost", won.Load(), lost.Load())
	}
	if none, err := h.NeedsOwner(t.Context()); err != nil || none {
		t.Errorf("after: %v, %v", none, err)
	}
	if n := h.count(`select count(*) from staff s join event e on e.staff_id = s.id and e.kind = 'staff added' and e.subject = 'staff:' || s.id where s.role = 'owner'`); n != 1 {
		t.Errorf("%d owners who are on record as having begun", n)
	}
}

func TestThereIsNoFirstOwnerOnceThereIsStaff(t *testing.T) {
	h := staffed(t)
	_, err := h.FirstOwner(t.Context(), NewOwner{Garage: "Mine", Name: "Intruder", SignIn: "intruder", Password: goodPassword})
	wantKind(t, "with staff", err, apperr.Conflict)
	for _, id := range []actor.StaffID{h.desk, h.tech} {
		if _, err := h.SetActive(t.Context(), console(), id, false); err != nil {
			t.Fatal(err)
		}
	}
	_, err = h.FirstOwner(t.Context(), NewOwner{Garage: "Mine", Name: "Intruder", SignIn: "intruder", Password: goodPassword})
	wantKind(t, "with most put out", err, apperr.Conflict)
	if n := h.hasher.calls.Load(); n != 0 {
		t.Errorf("%d hashes", n)
	}
}

func TestTheFirstOwnerAndTheGarageAreMadeTogetherOrNotAtAll(t *testing.T) {
	h := empty(t)
	in := NewOwner{Garage: "Saltmarsh Lane Garage", Name: "Orla Penhale", SignIn: "orla", Password: goodPassword}
	found := func(err error) func(context.Context, *change.Tx, string) error {
		return func(ctx context.Context, tx *change.Tx, name string) error {
			if _, e := tx.Exec(ctx, `insert into garage (name) values ($1)`, name); e != nil {
				return e
			}
			return err
		}
	}
	h.found = found(errors.New("the disk is full"))
	_, err := h.FirstOwner(t.Context(), in)
	wantKind(t, "when the garage cannot be made", err, apperr.Internal)
	if s, g := h.count(`select count(*) from staff`), h.count(`select count(*) from garage`); s != 0 || g != 0 {
		t.Errorf("%d staff and %d garages are left", s, g)
	}
	h.found = found(nil)
	if _, err := h.FirstOwner(t.Context(), in); err != nil {
		t.Fatal(err)
	}
	if n := h.count(`select count(*) from garage where name = 'Saltmarsh Lane Garage'`); n != 1 {
		t.Error("there is no garage")
	}
	h.in("orla", "192.0.2.7")
}

func TestWhatIsWrongWithAFirstOwnerIsSaidAtItsField(t *testing.T) {
	h := empty(t)
	ok := NewOwner{Garage: "Saltmarsh Lane Garage", Name: "Orla Penhale", SignIn: "orla", Password: goodPassword}
	for _, c := range []struct {
		field string
		spoil func(*NewOwner)
	}{
		{"garage", func(in *NewOwner) { in.Garage = "" }},
		{"garage", func(in *NewOwner) { in.Garage = long(200) }},
		{"garage", func(in *NewOwner) { in.Garage = "Salt\x00marsh" }},
		{"name", func(in *NewOwner) { in.Name = "" }},
		{"sign_in", func(in *NewOwner) { in.SignIn = "" }},
		{"sign_in", func(in *NewOwner) { in.SignIn = "a b" }},
		{"password", func(in *NewOwner) { in.Password = "" }},
		{"password", func(in *NewOwner) { in.Password = "saltmarsh1" }},
		{"password", func(in *NewOwner) { in.Password = "orlapenhale" }},
	} {
		in := ok
		c.spoil(&in)
		_, err := h.FirstOwner(t.Context(), in)
		wantField(t, fmt.Sprintf("%+v", in), err, c.field)
	}
	if none, err := h.NeedsOwner(t.Context()); err != nil || !none {
		t.Errorf("somebody was made: %v, %v", none, err)
	}
}
