// Package app puts a server together: settings in, a running server out. It
// holds no rules of its own.
//
// The order of a start is: the database (ours or the one that is named), its
// schema, the photo store, the pages, the listener. It stops in the opposite
// order, see Close.
package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/blob"
	"rampside/internal/config"
)

// App is a running server.
type App struct {
	cfg      config.Config
	log      *slog.Logger
	database *database
	pool     *pgxpool.Pool
	blobs    blob.Store
	listener net.Listener
	deps     Deps
	router   *Handler
	server   *http.Server
	metrics  *http.Server // nil unless it has an address of its own
	draining atomic.Bool
	closing  context.CancelFunc
	running  sync.WaitGroup // what goes on in the background until closing
	failed   chan error     // a listener that stopped by itself
	once     sync.Once
	closeErr error
}

// Start brings a server up. When it returns, requests are answered. ctx
// limits the start only.
func Start(ctx context.Context, cfg config.Config, log *slog.Logger) (*App, error) {
	return StartAt(ctx, cfg, log, time.Now)
}

// StartAt is Start by another clock than the machine's.
func StartAt(ctx context.Context, cfg config.Config, log *slog.Logger, now func() time.Time) (_ *App, err error) {
	a := &App{cfg: cfg, log: log, failed: make(chan error, 2)}
	defer func() {
		if err != nil {
			err = errors.Join(err, a.Close(context.WithoutCancel(ctx)))
		}
	}()
	if a.database, err = openDatabase(ctx, cfg, log); err != nil {
		return nil, err
	}
	if a.pool, err = a.database.ready(ctx, log); err != nil {
		return nil, err
	}
	warnings, err := unsafeSettings(ctx, a.pool)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		log.Warn(w)
	}
	creds := blob.Creds{AccessKey: cfg.Photos.Key, SecretKey: cfg.Photos.Secret}
	if a.blobs, err = blob.OpenStore(cfg.Photos.Where, creds); err != nil {
		return nil, fmt.Errorf("photo store: %w", err)
	}
	var closing context.Context
	closing, a.closing = context.WithCancel(context.WithoutCancel(ctx))
	a.deps = Deps{
		Config: cfg, Log: log, Pool: a.pool, Blobs: a.blobs, Now: now,
		Closing: closing, Warnings: warnings, DatabaseURL: a.database.url,
		draining: &a.draining, background: &a.running,
	}
	if err := a.build(); err != nil {
		return nil, err
	}
	return a, a.serve(ctx)
}

// URL is where this server answers on this machine.
func (a *App) URL() string { return "http://" + a.listener.Addr().String() }

// Handler is what answers, with what it says of its own routes.
func (a *App) Handler() *Handler { return a.router }

// Pool is the server's own pool.
func (a *App) Pool() *pgxpool.Pool { return a.pool }

// Close stops the server: no new connections, the running requests finish (up
// to drainTime), event streams end, then the pool, the store and the private
// database. It may be called twice and after a failed start.
func (a *App) Close(ctx context.Context) error {
	a.once.Do(func() {
		a.draining.Store(true)
		err := a.stopServing(ctx)
		a.running.Wait()
		if a.pool != nil {
			closePool(a.pool)
		}
		if a.blobs != nil {
			err = errors.Join(err, a.blobs.Close())
		}
		if a.database != nil {
			err = errors.Join(err, a.database.close(ctx))
		}
		a.closeErr = err
	})
	return a.closeErr
}

// closePool waits for connections to come back, but not for one whose handler
// was cut off and still hangs: the process is about to end.
func closePool(pool *pgxpool.Pool) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		pool.Close()
	}()
	select {
	case <-done:
	case <-time.After(2 * time.Second):
	}
}
