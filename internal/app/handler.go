package app

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"sync"
	"sync/atomic"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/config"
	"rampside/internal/live"
	"rampside/static"
	"rampside/web/api"
	"rampside/web/edge"
	"rampside/web/ui"
)

// Deps is what the pages are built from.
type Deps struct {
	Config config.Config
	Log    *slog.Logger
	Pool   *pgxpool.Pool
	Blobs  blob.Store
	Now    func() time.Time
	// DatabaseURL is for the one connection that listens for changes.
	DatabaseURL string
	// Closing ends when the server stops; event streams must end with it.
	Closing context.Context
	// Warnings are for the owner: settings of the database that risk data.
	Warnings []string

	draining *atomic.Bool
	// background runs what goes on until Closing ends; the server waits for it.
	background *sync.WaitGroup
}

// Handler is the whole server's router. Every route on it is declared with who
// may use it.
type Handler struct {
	chi.Router
	kit *ui.Kit
	api *api.API
}

// Declared lists the routes of the pages with who may use them.
func (h *Handler) Declared() []ui.Declared { return h.kit.Declared() }

// DeclaredToPrograms lists the routes of the JSON interface.
func (h *Handler) DeclaredToPrograms() []api.Declared { return h.api.Declared() }

// Build makes the handler of the whole server, and starts listening for
// changes until d.Closing ends.
func Build(d Deps, m *metrics) (*Handler, error) {
	if err := static.Check(); err != nil {
		return nil, err
	}
	db := &change.DB{Pool: d.Pool, Now: d.Now}
	s := NewServices(db, d.Blobs, d.Log, outside(d.Config))
	kit := newKit(d, s)
	hub := live.NewHub(d.Log)
	d.background.Go(func() { hub.Listen(d.Closing, d.DatabaseURL) })
	changes, unsubscribe := hub.Subscribe(live.All)
	d.background.Go(func() { defer unsubscribe(); s.Outlook.Work(d.Closing, d.Log, changes) })
	if err := sendLetters(d, db); err != nil {
		return nil, err
	}

	r := chi.NewRouter()
	var programs *api.API
	refuse := func(w http.ResponseWriter, r *http.Request, err error) {
		if api.Owns(r) && programs != nil {
			programs.Fail(w, r, err)
			return
		}
		kit.Fail(w, r, err)
	}
	err := edge.Use(r, edge.Options{
		Log: d.Log, Now: d.Now, PublicURL: d.Config.URL.String(), TrustedProxies: prefixes(d.Config.TrustedProxies),
		Metrics: m.registry, PerMinute: d.Config.PerMinute, Refuse: refuse,
	})
	if err != nil {
		return nil, err
	}
	r.NotFound(kit.NotFound)
	r.MethodNotAllowed(kit.NotAllowed)
	machine := func(pattern, why string, h http.HandlerFunc) {
		kit.Public(r, http.MethodGet, pattern, why, func(w http.ResponseWriter, r *http.Request) error { h(w, r); return nil })
	}
	machine("/healthz", "tells whether the process runs, and nothing else", healthz)
	machine("/readyz", "tells whether to send requests here, and which part is missing", readyz(d))
	machine("/metrics", "answers programs on this machine only", m.nearby(d))
	machine(static.Prefix+"*", "the bundle of scripts and styles is no secret", static.Handler().ServeHTTP)
	mountPages(r.With(kit.Session), kit, d, s, hub)
	if programs, err = api.Mount(r, s.forPrograms(d.Log)); err != nil {
		return nil, err
	}
	return &Handler{r, kit, programs}, nil
}

func prefixes(ps []netip.Prefix) []string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = p.String()
	}
	return out
}
