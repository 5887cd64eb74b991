package app

import (
	"context"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/blob"
	"rampside/internal/config"
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
}

// Build makes the handler of the whole server.
func Build(d Deps, m *metrics) (http.Handler, error) {
	r := chi.NewRouter()
	r.Use(m.count)
	r.Get("/healthz", healthz)
	r.Get("/readyz", readyz(d))
	r.Get("/metrics", m.nearby(d))
	return r, nil
}
