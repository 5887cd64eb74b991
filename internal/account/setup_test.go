package account

import (
	"context"
	"errors"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg/pgtest"
)

// cheap stands for argon2id where a test is about how often it is asked. It
// keeps the rules of the real one: any stored form, one answer.
type cheap struct {
	calls   atomic.Int64
	mu      sync.Mutex
	asked   []string // the stored forms that were compared
	failing atomic.Bool
}

func (c *cheap) Hash(_ context.Context, secret string) (string, error) {
	c.calls.Add(1)
	return "cheap:" + secret, nil
}

func (c *cheap) Matches(_ context.Context, stored, secret string) (bool, error) {
	c.calls.Add(1)
	if c.failing.Load() {
		return false, errors.New("out of memory")
	}
	c.mu.Lock()
	c.asked = append(c.asked, stored)
	c.mu.Unlock()
	return stored == "cheap:"+secret, nil
}

// clock is a clock that a test moves.
type clock struct{ at atomic.Int64 }

func (c *clock) now() time.Time               { return time.UnixMicro(c.at.Load()) }
func (c *clock) move(d time.Duration)         { c.at.Add(d.Microseconds()) }
func newClock(t time.Time) (c *clock)         { c = &clock{}; c.at.Store(t.UnixMicro()); return c }
func console() actor.Actor                    { return actor.Command("test") }
func key(a actor.Actor, k string) actor.Actor { return a.WithKey(k + "-0123456789abcdef") }

// house is a service on its own database, with people in it.
type house struct {
	*Service
	t      *testing.T
	pool   *pgxpool.Pool
	clock  *clock
	hasher *cheap

	owner, desk, tech actor.StaffID
}

const (
	goodPassword  = "heron on a tin roof"
	otherPassword = "nine pickled walnuts"
	goodPIN       = "4917"
)

func empty(t *testing.T) *house {
	t.Helper()
	pool := pgtest.New(t)
	h := &house{t: t, pool: pool, clock: newClock(time.Date(2026, 10, 5, 8, 0, 0, 0, time.UTC)), hasher: &cheap{}}
	h.Service = New(&change.DB{Pool: pool, Now: h.clock.now}, Options{Hasher: h.hasher})
	return h
}

func staffed(t *testing.T) *house {
	t.Helper()
	h := empty(t)
	h.owner = h.add(NewStaff{Name: "Orla Penhale", Role: actor.Owner, SignIn: "orla", Password: goodPassword, PIN: goodPIN})
	h.desk = h.add(NewStaff{Name: "Dov Larkin", Role: actor.Desk, SignIn: "dov", Password: goodPassword})
	h.tech = h.add(NewStaff{Name: "Tamsin Roe", Role: actor.Technician, PIN: goodPIN})
	h.hasher.calls.Store(0)
	return h
}

func (h *house) add(in NewStaff) actor.StaffID {
	h.t.Helper()
	id, err := h.CreateUser(h.t.Context(), console(), in)
	if err != nil {
		h.t.Fatalf("add %s: %v", in.Name, err)
	}
	return id
}

// in signs somebody in with the good password and gives their token.
func (h *house) in(signIn, address string) SignedIn {
	h.t.Helper()
	s, err := h.SignIn(h.t.Context(), signIn, goodPassword, From{Address: address, Agent: "test browser"})
	if err != nil {
		h.t.Fatalf("sign in %s: %v", signIn, err)
	}
	return s
}

// tablet enrols a tablet and gives its secret.
func (h *house) tablet(name string) Enrolled {
	h.t.Helper()
	e, err := h.EnrolTablet(h.t.Context(), h.as(h.owner, actor.Owner), name)
	if err != nil {
		h.t.Fatalf("enrol %s: %v", name, err)
	}
	return e
}

func (h *house) as(id actor.StaffID, role actor.Role) actor.Actor {
	return actor.Actor{StaffID: id, Name: "Somebody", Role: role, Via: actor.ViaPage, Device: "192.0.2.1"}
}

// who asks who stands behind a token, which must not be a fault.
func (h *house) who(token, device string) actor.Actor {
	h.t.Helper()
	a, err := h.Actor(h.t.Context(), token, device)
	if err != nil {
		h.t.Fatalf("who is it: %v", err)
	}
	return a
}

func (h *house) count(sql string, args ...any) (n int) {
	h.t.Helper()
	if err := h.pool.QueryRow(h.t.Context(), sql, args...).Scan(&n); err != nil {
		h.t.Fatalf("%s: %v", sql, err)
	}
	return n
}

func wantKind(t *testing.T, what string, err error, kind apperr.Kind) {
	t.Helper()
	if err == nil || apperr.KindOf(err) != kind {
		t.Errorf("%s: got %v (kind %v), want kind %v", what, err, apperr.KindOf(err), kind)
	}
}

func wantField(t *testing.T, what string, err error, field string) {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid || e.Fields[field] == "" {
		t.Errorf("%s: got %v, want a message at %s", what, err, field)
	}
}

func long(n int) string { return strings.Repeat("x", n) }
