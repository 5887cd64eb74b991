// Package pgfault breaks the line to PostgreSQL at a chosen moment, for tests
// of what is left behind: at the k-th message sent, before it reaches the
// server or after it was sent and before any answer came back.
//
//	pool, fault := pgfault.Open(t, pgtest.URL(t))
//	for k := 1; ; k++ {
//		fault.Arm(k, pgfault.Before)
//		err := act(pool)
//		if !fault.Disarm() {
//			break // all of act's messages have had their turn
//		}
//		… err must not be nil, and nothing half done …
//	}
package pgfault

import (
	"context"
	"errors"
	"net"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"
)

// When says on which side of the message the line breaks.
type When int

// The moments: the server never gets the message, or gets it and its answer
// is lost. After is the one that leaves the sender in doubt.
const (
	Before When = iota
	After
)

// ErrCut is what the client sees when the line breaks.
var ErrCut = errors.New("pgfault: the line was cut")

// Fault decides when the line breaks. It is safe for use at once.
type Fault struct {
	mu    sync.Mutex
	left  int
	when  When
	armed bool
	fired bool
}

// Arm breaks the line at the k-th message from now, counting from 1.
func (f *Fault) Arm(k int, when When) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.left, f.when, f.armed, f.fired = k, when, true, false
}

// Disarm mends the line and reports whether it had been broken.
func (f *Fault) Disarm() (fired bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.armed = false
	return f.fired
}

// next counts one message and says whether it is the one.
func (f *Fault) next() (When, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.armed || f.fired {
		return 0, false
	}
	f.left--
	f.fired = f.left <= 0
	return f.when, f.fired
}

// Open makes a pool of one connection at most whose line f can break. It is
// closed when the test ends.
func Open(t testing.TB, url string) (*pgxpool.Pool, *Fault) {
	t.Helper()
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		t.Fatal(err)
	}
	f := &Fault{}
	cfg.MaxConns = 1
	cfg.ConnConfig.RuntimeParams["timezone"] = "UTC"
	dial := cfg.ConnConfig.DialFunc
	cfg.ConnConfig.DialFunc = func(ctx context.Context, network, addr string) (net.Conn, error) {
		c, err := dial(ctx, network, addr)
		if err != nil {
			return nil, err
		}
		return &line{Conn: c, fault: f}, nil
	}
	pool, err := pgxpool.NewWithConfig(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	return pool, f
}

type line struct {
	net.Conn
	fault *Fault
	mu    sync.Mutex
	cut   bool
}

func (l *line) Write(b []byte) (int, error) {
	when, now := l.fault.next()
	if !now {
		return l.Conn.Write(b)
	}
	n := 0
	if when == After {
		n, _ = l.Conn.Write(b)
		l.drain()
	}
	l.mu.Lock()
	l.cut = true
	l.mu.Unlock()
	_ = l.Conn.Close()
	if when == After {
		return n, nil // the sender believes it went out; the answer is lost
	}
	return 0, ErrCut
}

// drain waits until the server has begun to answer, so that what it was sent
// has been acted upon.
func (l *line) drain() {
	var one [1]byte
	_, _ = l.Conn.Read(one[:])
}

func (l *line) Read(b []byte) (int, error) {
	n, err := l.Conn.Read(b)
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cut {
		return 0, ErrCut
	}
	return n, err
}
