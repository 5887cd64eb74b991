// Package apptest runs the whole server for tests, as one process of it does:
// all pages, the live line, the database, the photo folder and a port of its
// own, with the small garage of package cardtest in it.
package apptest

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/app"
	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/config"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/pg/pgtest"
)

// Site is a running server with a garage. Its clock begins at the garage's and
// runs on, so that what happens later is later.
type Site struct {
	*cardtest.Garage
	App *app.App
	// Services are the garage's, on its own database and photos.
	Services app.Services
	// At is where the server answers.
	At string

	t      testing.TB
	env    map[string]string
	shared *shared
}

// shared is what the replicas of one site have in common.
type shared struct {
	start time.Time    // what the site's clock showed
	began time.Time    // when, by the machine's
	ahead atomic.Int64 // nanoseconds
	line  *http.Transport

	mu      sync.Mutex
	secrets map[actor.StaffID]bool // who has a real password by now
}

// Start runs a server on a database of its own until the test ends. kv are
// settings, by name and value, besides those that a test needs.
func Start(t testing.TB, kv ...string) *Site {
	t.Helper()
	s := newSite(t, pgtest.URL(t), kv)
	s.Garage = cardtest.OpenAt(t, s.env["DATABASE_URL"])
	s.shared.start = s.Clock
	s.DB.Now = s.Now
	s.run()
	return s
}

// Empty runs a server whose garage nobody has opened yet: Garage is nil.
func Empty(t testing.TB, kv ...string) *Site {
	t.Helper()
	s := newSite(t, pgtest.URL(t), kv)
	s.run()
	return s
}

func newSite(t testing.TB, url string, kv []string) *Site {
	s := &Site{
		t: t,
		shared: &shared{
			start: time.Now(), began: time.Now(), secrets: map[actor.StaffID]bool{},
			line: &http.Transport{MaxIdleConnsPerHost: 100},
		},
		env: map[string]string{
			"RAMPSIDE_ADDR": "127.0.0.1:0", "RAMPSIDE_DATA": t.TempDir(), "RAMPSIDE_PER_MINUTE": "1000000",
			"RAMPSIDE_LOG": "error", "DATABASE_URL": url,
		},
	}
	for i := 0; i+1 < len(kv); i += 2 {
		s.env[kv[i]] = kv[i+1]
	}
	return s
}

// Replica runs a second server on the same database and photos.
func (s *Site) Replica(t testing.TB) *Site {
	t.Helper()
	r := *s
	r.t = t
	r.run()
	return &r
}

func (s *Site) run() {
	s.t.Helper()
	cfg, err := config.Load(func(name string) (string, bool) { v, ok := s.env[name]; return v, ok })
	s.ok(err)
	log := slog.New(strict{slog.NewTextHandler(s.t.Output(), &slog.HandlerOptions{Level: cfg.LogLevel}), s.t})
	s.App, err = app.StartAt(s.t.Context(), cfg, log, s.Now)
	s.ok(err)
	s.At = s.App.URL()
	photos, err := blob.OpenStore(cfg.Photos.Where, blob.Creds{})
	s.ok(err)
	s.Services = app.NewServices(&change.DB{Pool: s.App.Pool(), Now: s.Now}, photos, log, app.Outside{})
	s.t.Cleanup(func() {
		s.shared.line.CloseIdleConnections()
		if err := s.App.Close(context.Background()); err != nil {
			s.t.Errorf("stop the server: %v", err)
		}
	})
}

// Now is the time by the site's clock.
func (s *Site) Now() time.Time {
	return s.shared.start.Add(time.Since(s.shared.began) + time.Duration(s.shared.ahead.Load()))
}

// Pass moves the clock on.
func (s *Site) Pass(d time.Duration) { s.shared.ahead.Add(int64(d)) }

// SignInName is what somebody of the garage types to sign in: the first name.
func SignInName(who actor.Actor) string {
	first, _, _ := strings.Cut(who.Name, " ")
	return strings.ToLower(first)
}

func (s *Site) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// Secret makes sure that somebody can sign in: the garage's own passwords are
// kept without the real hash, which costs time.
func (s *Site) Secret(who actor.Actor) {
	s.t.Helper()
	s.shared.mu.Lock()
	defer s.shared.mu.Unlock()
	if s.shared.secrets[who.StaffID] {
		return
	}
	_, err := account.New(s.DB, account.Options{}).SetPassword(s.t.Context(), actor.Command("user"), who.StaffID, cardtest.Password)
	s.ok(err)
	s.shared.secrets[who.StaffID] = true
}

// strict is a log in which a fault of the server fails the test, whatever the
// browser was told.
type strict struct {
	slog.Handler
	t testing.TB
}

// Handle implements slog.Handler.
func (h strict) Handle(ctx context.Context, r slog.Record) error {
	if r.Level >= slog.LevelError {
		h.t.Errorf("the server logged a fault: %s", r.Message)
	}
	return h.Handler.Handle(ctx, r)
}

// WithAttrs implements slog.Handler.
func (h strict) WithAttrs(attrs []slog.Attr) slog.Handler {
	return strict{h.Handler.WithAttrs(attrs), h.t}
}

// WithGroup implements slog.Handler.
func (h strict) WithGroup(name string) slog.Handler { return strict{h.Handler.WithGroup(name), h.t} }
