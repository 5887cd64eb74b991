package app

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"syscall"
	"time"
)

// Times of the HTTP server. A request has ten seconds to arrive and ten to be
// answered, so that slow or stalled clients cannot hold many sockets; routes
// that take uploads or keep a stream open set their own deadlines through
// http.ResponseController.
const (
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 10 * time.Second
	writeTimeout      = 10 * time.Second
	idleTimeout       = 2 * time.Minute
	maxHeaderBytes    = 16 << 10

	// lameDuck is how long a server that is told to stop still takes
	// requests, answering each with "Connection: close", so that no client
	// sends one on a connection that is being closed under it.
	lameDuck = 500 * time.Millisecond
	// queueTime is what it takes to accept connections that were complete.
	queueTime = 50 * time.Millisecond
	// drainTime is what running requests get to finish.
	drainTime = 8 * time.Second
)

// newServer wraps a handler in the limits above.
func (a *App) newServer(h http.Handler) *http.Server {
	s := &http.Server{
		Handler:           a.closeWhenDraining(h),
		ReadHeaderTimeout: readHeaderTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeaderBytes,
		ErrorLog:          quiet(a.log),
	}
	s.RegisterOnShutdown(a.closing) // event streams end, their clients come back
	return s
}

func (a *App) build() (err error) {
	m := newMetrics(a.deps)
	if a.router, err = Build(a.deps, m); err != nil {
		return fmt.Errorf("pages: %w", err)
	}
	a.server = a.newServer(a.router)
	if a.cfg.MetricsAddr != "" {
		mux := http.NewServeMux()
		mux.Handle("GET /metrics", m.handler())
		a.metrics = a.newServer(mux)
	}
	return nil
}

func (a *App) serve(ctx context.Context) (err error) {
	if a.listener, err = listen(ctx, a.cfg.Addr); err != nil {
		return fmt.Errorf("RAMPSIDE_ADDR: %w", err)
	}
	go a.run(a.server, a.listener)
	if a.metrics == nil {
		return nil
	}
	l, err := listen(ctx, a.cfg.MetricsAddr)
	if err != nil {
		return fmt.Errorf("RAMPSIDE_METRICS_ADDR: %w", err)
	}
	go a.run(a.metrics, l)
	return nil
}

func (a *App) run(s *http.Server, l net.Listener) {
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		a.failed <- err
	}
}

func listen(ctx context.Context, addr string) (net.Listener, error) {
	var lc net.ListenConfig
	lc.SetMultipathTCP(false) // hush cannot filter one of those
	l, err := lc.Listen(ctx, "tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use by another program; stop it or choose another address", addr)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("%s may only be used by root; choose a port above 1023", addr)
	case err != nil:
		return nil, err
	}
	return l, nil
}

// closeWhenDraining tells clients of a stopping server to open a new
// connection for their next request, which then goes to another server.
func (a *App) closeWhenDraining(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if a.draining.Load() {
			w.Header().Set("Connection", "close")
		}
		h.ServeHTTP(w, r)
	})
}

// drain makes the server say that it is going, and gives its clients a moment
// to notice.
func (a *App) drain() {
	a.draining.Store(true)
	time.Sleep(lameDuck)
	hush(a.listener)
}

func (a *App) stopServing(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, drainTime)
	defer cancel()
	var err error
	for _, s := range []*http.Server{a.server, a.metrics} {
		if s == nil {
			continue
		}
		if e := s.Shutdown(ctx); e != nil {
			err = errors.Join(err, fmt.Errorf("requests were cut off: %w", e), s.Close())
		}
	}
	if a.closing != nil {
		a.closing()
	}
	return err
}
