package app

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/pg/pgserver"
)

// ledger writes numbers from several connections and remembers which were
// acknowledged.
type ledger struct {
	next  atomic.Int64
	mu    sync.Mutex
	acked []int64
}

// write goes on until ctx ends; an error ends one connection and the next
// try opens another.
func (l *ledger) write(ctx context.Context, url string) {
	for ctx.Err() == nil {
		conn, err := pgx.Connect(ctx, url)
		if err != nil {
			time.Sleep(5 * time.Millisecond)
			continue
		}
		for ctx.Err() == nil {
			n := l.next.Add(1)
			if _, err := conn.Exec(ctx, "INSERT INTO ledger VALUES ($1)", n); err != nil {
				break
			}
			l.mu.Lock()
			l.acked = append(l.acked, n)
			l.mu.Unlock()
		}
		conn.Close(context.WithoutCancel(ctx))
	}
}

func (l *ledger) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.acked)
}

// awaitMore waits until n more writes were acknowledged.
func (l *ledger) awaitMore(t *testing.T, n int) {
	t.Helper()
	want := l.count() + n
	for deadline := time.Now().Add(30 * time.Second); l.count() < want; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("only %d of %d writes came through", l.count(), want)
		}
	}
}

// TestNoAcknowledgedWriteIsLostWhenAnythingIsKilled kills the server, its
// PostgreSQL, and both, while four connections write. A killed process does
// not lose the page cache, so this says nothing about power cuts; those rest
// on the settings that the start checks.
func TestNoAcknowledgedWriteIsLostWhenAnythingIsKilled(t *testing.T) {
	data := dataFolder(t)
	p := mustLaunch(t, data, nil)
	st, err := pgserver.Look(filepath.Join(data, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	url := st.URL("rampside")
	execute(t, url, "CREATE TABLE ledger (n bigint PRIMARY KEY)")
	var l ledger
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var writers sync.WaitGroup
	for range 4 {
		writers.Go(func() { l.write(ctx, url) })
	}
	for _, kill := range []struct {
		what         string
		server, base bool
	}{
		{"the server", true, false},
		{"PostgreSQL", false, true},
		{"both", true, true},
		{"both once more", true, true},
	} {
		l.awaitMore(t, 200)
		if kill.base {
			if err := syscall.Kill(postmaster(t, data), syscall.SIGKILL); err != nil {
				t.Fatal(err)
			}
		}
		if kill.server {
			_ = p.stop(t, syscall.SIGKILL) // "signal: killed" is what was asked for
			p = mustLaunch(t, data, nil)
		}
		l.awaitMore(t, 200)
		awaitReady(t, p.url, 10*time.Second)
		t.Logf("after killing %s: %d acknowledged", kill.what, l.count())
	}
	cancel()
	writers.Wait()
	if lost := missing(t, url, l.acked); len(lost) > 0 {
		t.Errorf("%d of %d acknowledged writes are lost: %v", len(lost), len(l.acked), lost)
	}
	if err := p.stop(t, syscall.SIGTERM); err != nil {
		t.Errorf("%v\n%s", err, p.said(t))
	}
	if _, err := os.Stat(filepath.Join(data, "postgres", "postmaster.pid")); !os.IsNotExist(err) {
		t.Errorf("PostgreSQL was not stopped cleanly: %v", err)
	}
}

func execute(t *testing.T, url, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}

func missing(t *testing.T, url string, acked []int64) []int64 {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	rows, err := conn.Query(t.Context(), "SELECT a FROM unnest($1::bigint[]) a WHERE NOT EXISTS (SELECT FROM ledger WHERE n = a)", acked)
	if err != nil {
		t.Fatal(err)
	}
	lost, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		t.Fatal(err)
	}
	return lost
}

// postmaster is the process number of the PostgreSQL that runs in data.
func postmaster(t *testing.T, data string) int {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		b, err := os.ReadFile(filepath.Join(data, "postgres", "postmaster.pid"))
		if err == nil {
			first, _, _ := strings.Cut(string(b), "\n")
			if pid, err := strconv.Atoi(first); err == nil {
				return pid
			}
		}
		if time.Now().After(deadline) {
			t.Fatal(fmt.Errorf("no PostgreSQL runs: %w", err))
		}
	}
}

func awaitReady(t *testing.T, url string, patience time.Duration) {
	t.Helper()
	for deadline := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		status, body := get(t, url+"/readyz")
		if status == 200 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("not ready after %v: %d %s", patience, status, body)
		}
	}
}
