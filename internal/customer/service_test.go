package customer_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/pg/pgtest"
)

type rig struct {
	db   *change.DB
	s    *customer.Service
	desk actor.Actor
	tech actor.Actor
}

func newRig(t *testing.T) rig {
	t.Helper()
	db := &change.DB{Pool: pgtest.New(t), Now: func() time.Time { return time.Date(2026, 10, 5, 11, 0, 0, 0, time.UTC) }}
	r := rig{
		db: db, s: customer.New(db),
		desk: actor.Actor{StaffID: 1, Name: "Dilys", Role: actor.Desk, Via: actor.ViaPage, Device: "test"},
		tech: actor.Actor{StaffID: 2, Name: "Tarn", Role: actor.Technician, Via: actor.ViaPage, Device: "test"},
	}
	return r
}

func (r rig) add(t *testing.T, name, phone string) customer.ID {
	t.Helper()
	id, err := r.s.Create(t.Context(), r.desk, customer.Input{Name: name, Phone: phone})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return id
}

func TestACustomerIsKeptAndChangedByVersion(t *testing.T) {
	r := newRig(t)
	id := r.add(t, "Ines Aldous", "07700 900123")
	in := customer.EditInput{ID: id, Version: 1, Input: customer.Input{Name: "Ines Aldous", Phone: "01632 960555", Note: "Ring after six"}}
	if v, err := r.s.Edit(t.Context(), r.desk, in); err != nil || v != 2 {
		t.Fatalf("got %d, %v", v, err)
	}
	in.Phone = "01632 960777"
	_, err := r.s.Edit(t.Context(), r.desk, in)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict || e.Current.(customer.Customer).Phone != "01632 960555" {
		t.Errorf("an edit of the older version: %v", err)
	}
	got, err := r.s.Get(t.Context(), r.desk, id)
	if err != nil || got.Phone != "01632 960555" || got.Note != "Ring after six" || got.Version != 2 {
		t.Errorf("got %+v, %v", got, err)
	}
	var kept string
	if err := r.db.Pool.QueryRow(t.Context(), `select string_agg(subject || detail::text, ' ') from event`).Scan(&kept); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(kept, `"phone"`) || strings.Contains(kept, "Aldous") || strings.Contains(kept, "960555") {
		t.Errorf("the record names the fields that changed and no more: %s", kept)
	}
}

func TestACustomerThatIsNotThereIsNotFound(t *testing.T) {
	r := newRig(t)
	for _, id := range []customer.ID{-1, 0, 42, 1 << 62} {
		if _, err := r.s.Get(t.Context(), r.desk, id); !apperr.Is(err, apperr.NotFound) {
			t.Errorf("Get(%d): %v", id, err)
		}
		if _, err := r.s.Edit(t.Context(), r.desk, customer.EditInput{ID: id, Version: 1, Input: customer.Input{Name: "x"}}); !apperr.Is(err, apperr.NotFound) {
			t.Errorf("Edit(%d): %v", id, err)
		}
	}
}

func TestPeopleAreForThoseWithTheRight(t *testing.T) {
	r := newRig(t)
	id := r.add(t, "Ines Aldous", "07700 900123")
	for name, c := range map[string]struct {
		who  actor.Actor
		kind apperr.Kind
	}{"technician": {r.tech, apperr.Forbidden}, "nobody": {actor.Actor{}, apperr.Unsigned}} {
		_, err1 := r.s.Get(t.Context(), c.who, id)
		_, err2 := r.s.Create(t.Context(), c.who, customer.Input{Name: "x"})
		_, err3 := r.s.Edit(t.Context(), c.who, customer.EditInput{ID: id, Version: 1, Input: customer.Input{Name: "x"}})
		_, err4 := r.s.Find(t.Context(), c.who, "ald", 5)
		for _, err := range []error{err1, err2, err3, err4} {
			if !apperr.Is(err, c.kind) {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

func TestACustomerIsFoundByNameOrNumber(t *testing.T) {
	r := newRig(t)
	r.add(t, "Ines Aldous", "07700 900123")
	r.add(t, "Po Li", "")
	r.add(t, "Aldous & Sons 100%_Ltd", "020 7946 0018 or 07700 900777")
	for typed, want := range map[string]string{
		"aldous": "Aldous & Sons 100%_Ltd, Ines Aldous", "dous in": "Ines Aldous", "LI": "Po Li", "100%_": "Aldous & Sons 100%_Ltd", "%": "", "_": "", "__": "",
		"": "", "\x00": "", "+44 7700 900777": "Aldous & Sons 100%_Ltd", "07700900": "Aldous & Sons 100%_Ltd, Ines Aldous", "' or 1=1 --": "",
		strings.Repeat("x", 1<<20): "", "\xff\xfe": "", "i": "",
	} {
		got, err := r.s.Find(t.Context(), r.desk, typed, 10)
		var names []string
		for _, c := range got {
			names = append(names, c.Name)
		}
		if err != nil || strings.Join(names, ", ") != want {
			t.Errorf("%.20q finds %v, %v, want %s", typed, names, err, want)
		}
	}
	on, err := customer.WithPhone(t.Context(), r.db.Pool, "+44 (0)7700 900123", 5)
	if err != nil || len(on) != 1 || on[0].Name != "Ines Aldous" {
		t.Errorf("on file under the number: %+v, %v", on, err)
	}
	for _, none := range []string{"", "123", "ring his mum", "%"} {
		if on, err := customer.WithPhone(t.Context(), r.db.Pool, none, 5); err != nil || len(on) != 0 {
			t.Errorf("WithPhone(%q): %+v, %v", none, on, err)
		}
	}
}
