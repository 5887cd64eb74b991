package app

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/config"
	"rampside/internal/pg"
	"rampside/internal/pg/pgtest"
)

// settings is an environment for one test: a port of its own, a data folder
// of its own, and what kv adds.
func settings(t *testing.T, kv ...string) config.Env {
	t.Helper()
	m := map[string]string{"RAMPSIDE_ADDR": "127.0.0.1:0", "RAMPSIDE_DATA": t.TempDir(), "RAMPSIDE_LOG": "error"}
	for i := 0; i < len(kv); i += 2 {
		m[kv[i]] = kv[i+1]
	}
	return func(name string) (string, bool) {
		v, ok := m[name]
		return v, ok
	}
}

func boot(t *testing.T, env config.Env) (*App, error) {
	t.Helper()
	cfg, err := config.Load(env)
	if err != nil {
		t.Fatal(err)
	}
	a, err := Start(t.Context(), cfg, newLogger(t.Output(), slog.LevelError))
	if err == nil {
		t.Cleanup(func() {
			if err := a.Close(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
	return a, err
}

func mustBoot(t *testing.T, env config.Env) *App {
	t.Helper()
	a, err := boot(t, env)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// get may be called from any goroutine.
func get(t *testing.T, url string, headers ...string) (int, string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	if err != nil {
		t.Error(err)
		return 0, ""
	}
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Error(err)
		return 0, ""
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Error(err)
	}
	return res.StatusCode, string(body)
}

func TestAServerOnAnEmptyDatabaseGetsReady(t *testing.T) {
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.Empty(t)))
	for path, want := range map[string]string{"/healthz": "ok", "/readyz": "ready"} {
		status, body := get(t, a.URL()+path)
		var got struct{ Status string }
		if err := json.Unmarshal([]byte(body), &got); err != nil || status != http.StatusOK || got.Status != want {
			t.Errorf("%s: %d %s", path, status, body)
		}
	}
}

func TestMetricsAreForThisMachineOnly(t *testing.T) {
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.URL(t)))
	get(t, a.URL()+"/healthz")
	status, body := get(t, a.URL()+"/metrics")
	if status != http.StatusOK || !strings.Contains(body, `rampside_http_request_seconds_count{method="GET",route="/healthz",status="200"}`) {
		t.Errorf("%d\n%s", status, body)
	}
	for _, h := range []string{"X-Forwarded-For", "Forwarded", "X-Real-IP", "Via"} {
		if status, _ := get(t, a.URL()+"/metrics", h, "192.0.2.1"); status != http.StatusNotFound {
			t.Errorf("with %s: %d", h, status)
		}
	}
	r := httptest.NewRequest(http.MethodGet, "/metrics", nil)
	r.RemoteAddr = "192.0.2.1:4711"
	w := httptest.NewRecorder()
	a.server.Handler.ServeHTTP(w, r)
	if w.Code != http.StatusNotFound {
		t.Errorf("from another machine: %d", w.Code)
	}
}

func TestMetricsOnAnAddressOfTheirOwnLeaveTheMainOne(t *testing.T) {
	free := httptest.NewServer(nil)
	addr := free.Listener.Addr().String()
	free.Close()
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.URL(t), "RAMPSIDE_METRICS_ADDR", addr))
	if status, _ := get(t, a.URL()+"/metrics"); status != http.StatusNotFound {
		t.Errorf("main address: %d", status)
	}
	if status, _ := get(t, "http://"+addr+"/metrics"); status != http.StatusOK {
		t.Errorf("own address: %d", status)
	}
}

func TestADatabaseOfANewerProgramIsRefused(t *testing.T) {
	pool := pgtest.New(t)
	if _, err := pool.Exec(t.Context(), "UPDATE schema_migrations SET version = 9999"); err != nil {
		t.Fatal(err)
	}
	_, err := boot(t, settings(t, "DATABASE_URL", pool.Config().ConnString()))
	if !errors.Is(err, pg.ErrNewerSchema) {
		t.Errorf("got %v", err)
	}
}

func TestEightServersStartingAtOnceOnAnEmptyDatabaseAllGetReady(t *testing.T) {
	env := settings(t, "DATABASE_URL", pgtest.Empty(t))
	began := time.Now()
	apps := make([]*App, 8)
	var wg sync.WaitGroup
	for i := range apps {
		wg.Go(func() {
			var err error
			if apps[i], err = boot(t, env); err != nil {
				t.Errorf("server %d: %v", i, err)
			}
		})
	}
	wg.Wait()
	if t.Failed() {
		return
	}
	for _, a := range apps {
		if status, body := get(t, a.URL()+"/readyz"); status != http.StatusOK {
			t.Errorf("%d %s", status, body)
		}
	}
	t.Logf("8 servers ready after %v", time.Since(began))
	if d := time.Since(began); d > 10*time.Second {
		t.Errorf("it took %v; the aim is 10 s", d)
	}
}

// withRoute is a server that has one more route.
func withRoute(t *testing.T, h http.HandlerFunc) *App {
	t.Helper()
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.URL(t)))
	a.router.Get("/test", h)
	return a
}

func TestARequestInProgressIsFinishedBeforeTheServerStops(t *testing.T) {
	inside := make(chan struct{})
	var dbErr atomic.Value
	var a *App
	a = withRoute(t, func(w http.ResponseWriter, r *http.Request) {
		close(inside)
		time.Sleep(700 * time.Millisecond)
		if _, err := a.Pool().Exec(r.Context(), "SELECT 1"); err != nil {
			dbErr.Store(err)
		}
		io.WriteString(w, "done")
	})
	type result struct {
		status int
		body   string
	}
	got := make(chan result, 1)
	go func() {
		status, body := get(t, a.URL()+"/test")
		got <- result{status, body}
	}()
	<-inside
	if err := a.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	if r := <-got; r.status != http.StatusOK || r.body != "done" || dbErr.Load() != nil {
		t.Errorf("%+v, database: %v", r, dbErr.Load())
	}
}

func TestAnEventStreamEndsWhenTheServerStops(t *testing.T) {
	var a *App
	open := make(chan struct{})
	a = withRoute(t, func(w http.ResponseWriter, _ *http.Request) {
		rc := http.NewResponseController(w)
		if err := errors.Join(rc.SetWriteDeadline(time.Time{}), rc.Flush()); err != nil {
			t.Errorf("streaming: %v", err)
		}
		close(open)
		<-a.deps.Closing.Done()
	})
	go get(t, a.URL()+"/test")
	<-open
	// A stream that went on would be cut off, which is an error.
	if err := a.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func TestAServerThatStopsSaysSoAndClosesConnections(t *testing.T) {
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.URL(t)))
	a.draining.Store(true)
	res, err := http.Get(a.URL() + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusServiceUnavailable || !res.Close {
		t.Errorf("status %d, close %v", res.StatusCode, res.Close)
	}
}

func TestASecondServerOnTheSameAddressSaysItIsTaken(t *testing.T) {
	a := mustBoot(t, settings(t, "DATABASE_URL", pgtest.URL(t)))
	_, err := boot(t, settings(t, "DATABASE_URL", pgtest.URL(t), "RAMPSIDE_ADDR", a.listener.Addr().String()))
	if err == nil || !strings.Contains(err.Error(), "in use by another program") {
		t.Errorf("got %v", err)
	}
}
