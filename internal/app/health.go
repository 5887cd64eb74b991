package app

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"rampside/internal/pg"
)

// healthz says that the process runs and answers, whatever the state of the
// things around it: restarting it would not mend those.
func healthz(w http.ResponseWriter, _ *http.Request) {
	answer(w, http.StatusOK, "ok", nil)
}

// probeTime bounds readyz: a database that hangs is as good as away.
const probeTime = 1500 * time.Millisecond

// readyz says whether this server should be sent requests: the database
// answers and has our schema, photos can be written, and it is not stopping.
func readyz(d Deps) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if d.draining.Load() {
			answer(w, http.StatusServiceUnavailable, "stopping", nil)
			return
		}
		ctx, cancel := context.WithTimeout(r.Context(), probeTime)
		defer cancel()
		var (
			wg     sync.WaitGroup
			mu     sync.Mutex
			wrongs = map[string]string{}
		)
		for name, check := range map[string]func(context.Context) error{
			"database": d.checkDatabase, "photos": d.checkPhotos,
		} {
			wg.Go(func() {
				if err := check(ctx); err != nil {
					mu.Lock()
					defer mu.Unlock()
					wrongs[name] = publicReason(name)
					d.Log.Warn("not ready", "check", name, "error", err)
				}
			})
		}
		wg.Wait()
		if len(wrongs) > 0 {
			answer(w, http.StatusServiceUnavailable, "not ready", wrongs)
			return
		}
		answer(w, http.StatusOK, "ready", nil)
	}
}

func (d Deps) checkDatabase(ctx context.Context) error {
	want, err := pg.Latest()
	if err != nil {
		return err
	}
	got, err := pg.SchemaVersion(ctx, d.Pool)
	if err != nil {
		return err
	}
	if got != want {
		return fmt.Errorf("the schema is at version %d and this program works with %d", got, want)
	}
	return nil
}

// checkPhotos gives up when ctx ends, even where a dead network disk does not.
func (d Deps) checkPhotos(ctx context.Context) error {
	done := make(chan error, 1)
	go func() { done <- d.Blobs.Check(ctx) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// publicReason tells a stranger no more than which part it is; the log has
// the rest.
func publicReason(name string) string {
	if name == "database" {
		return "the database does not answer, or has another version's schema"
	}
	return "photos cannot be written"
}

func answer(w http.ResponseWriter, status int, word string, wrongs map[string]string) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	// A client that left does not read it; there is nobody to tell.
	_ = json.NewEncoder(w).Encode(struct {
		Status string            `json:"status"`
		Wrong  map[string]string `json:"wrong,omitempty"`
	}{word, wrongs})
}
