package app

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/pg/pgserver"
)

const (
	clerks = 8
	kills  = 5
	// between is how many forms are saved between two kills.
	between = 340
)

// clerk fills in forms at a desk and sends each until it is told that it is
// saved, with the key that the form had at first.
type clerk struct {
	*http.Client
	at    *atomic.Value // of the server, a string
	saved *saved
}

type saved struct {
	mu      sync.Mutex
	names   []string
	doubt   atomic.Int64 // forms whose first answer did not come
	begun   atomic.Int64
	unsaved []string // begun and not answered for when everything ended
}

func (s *saved) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.names)
}

func (c *clerk) post(ctx context.Context, path string, v url.Values) (*http.Response, error) {
	base, _ := c.at.Load().(string)
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, base+path, strings.NewReader(v.Encode()))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	res, err := c.Do(r)
	if err == nil {
		_ = res.Body.Close()
	}
	return res, err
}

func (c *clerk) work(ctx context.Context, t *testing.T) {
	for ctx.Err() == nil {
		name := fmt.Sprintf("Quayside Spares %d", c.saved.begun.Add(1))
		form := url.Values{"key": {rand.Text()}, "name": {name}}
		for first := true; ; first = false {
			res, err := c.post(ctx, "/garage/suppliers", form)
			if err == nil && res.StatusCode == http.StatusSeeOther {
				c.saved.mu.Lock()
				c.saved.names = append(c.saved.names, name)
				c.saved.mu.Unlock()
				break
			}
			if err == nil && res.StatusCode < 500 && res.StatusCode != http.StatusConflict {
				t.Errorf("%s: %d", name, res.StatusCode)
				return
			}
			if first {
				c.saved.doubt.Add(1)
			}
			if ctx.Err() != nil {
				c.saved.mu.Lock()
				c.saved.unsaved = append(c.saved.unsaved, name)
				c.saved.mu.Unlock()
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
}

// TestNoFormIsLostOrDoubledWhenAnythingIsKilled lets eight clerks save forms
// through the pages while the server, its PostgreSQL or both are killed five
// times. A form without an answer is sent again with the key that it had. In
// the end each form that was answered is there once, with one event, and none
// is there by half.
func TestNoFormIsLostOrDoubledWhenAnythingIsKilled(t *testing.T) {
	data := dataFolder(t)
	more := func(cmd *exec.Cmd) { cmd.Env = append(cmd.Env, "RAMPSIDE_PER_MINUTE=1000000", "RAMPSIDE_LOG=error") }
	p := mustLaunch(t, data, more)
	var at atomic.Value
	at.Store(p.url)
	var s saved
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	line := &http.Transport{MaxIdleConnsPerHost: clerks}
	defer line.CloseIdleConnections()
	c := &clerk{at: &at, saved: &s, Client: &http.Client{
		Jar: jar, Transport: line, Timeout: 10 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
	res, err := c.post(t.Context(), "/welcome", url.Values{
		"garage": {"Saltmarsh Lane Garage"}, "name": {"Wren Calloway"}, "sign_in": {"wren"}, "password": {"marsh-lantern-41"},
	})
	if err != nil || res.StatusCode != http.StatusSeeOther {
		t.Fatalf("opening the garage: %v, %v", res, err)
	}
	began := time.Now()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var wg sync.WaitGroup
	for range clerks {
		wg.Go(func() { c.work(ctx, t) })
	}
	await := func(n int) {
		t.Helper()
		want := s.count() + n
		for deadline := time.Now().Add(time.Minute); s.count() < want && !t.Failed(); time.Sleep(5 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("only %d of %d forms were saved\n%s", s.count(), want, p.said(t))
			}
		}
	}
	for i := range kills {
		await(between)
		if i%2 == 1 || i == kills-1 { // PostgreSQL, and at last both
			if err := syscall.Kill(postmaster(t, data), syscall.SIGKILL); err != nil {
				t.Fatal(err)
			}
		}
		if i%2 == 0 {
			_ = p.stop(t, syscall.SIGKILL) // "signal: killed" is what was asked for
			p = mustLaunch(t, data, more)
			at.Store(p.url)
		}
	}
	await(between)
	cancel()
	wg.Wait()
	t.Logf("%d forms saved in %v through %d kills; %d had to be sent again", s.count(), time.Since(began), kills, s.doubt.Load())
	audit(t, data, &s)
	if err := p.stop(t, syscall.SIGTERM); err != nil {
		t.Errorf("%v\n%s", err, p.said(t))
	}
}

// audit compares what was answered with what is there.
func audit(t *testing.T, data string, s *saved) {
	t.Helper()
	st, err := pgserver.Look(filepath.Join(data, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), st.URL("rampside"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	var lost, doubled, stray, rows, events, keys int
	err = conn.QueryRow(t.Context(), `
		with named as (select name, count(*) as n from supplier group by name)
		select (select count(*) from unnest($1::text[]) a where not exists (select from named where name = a)),
			(select count(*) from named where n > 1),
			(select count(*) from named where name <> all($1::text[] || $2::text[])),
			(select count(*) from supplier),
			(select count(*) from event where kind like 'supplier%'),
			(select count(*) from write_key)`, s.names, append([]string{}, s.unsaved...)).Scan(&lost, &doubled, &stray, &rows, &events, &keys)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d answered, %d in doubt at the end; %d rows, %d events, %d keys", len(s.names), len(s.unsaved), rows, events, keys)
	if lost+doubled+stray != 0 || rows != events || rows != keys || rows < len(s.names) {
		t.Errorf("%d forms are lost, %d doubled, %d nobody's; %d rows, %d events, %d keys for %d answers", lost, doubled, stray, rows, events, keys, len(s.names))
	}
	if s.doubt.Load() == 0 {
		t.Error("no form was ever in doubt: was anything killed?")
	}
	n, broken, err := change.Verify(t.Context(), conn)
	if err != nil || broken != 0 {
		t.Errorf("the record of %d events breaks at %d: %v", n, broken, err)
	}
}
