package app_test

import (
	"maps"
	"net/http"
	"slices"
	"sync"
	"testing"

	"rampside/internal/app/apptest"
)

// Each form of the whole server, filled in as a person would and sent ten
// times at once with one key, as a double press on a bad line does.
func TestEveryFormSentTenTimesAtOnceIsOneChange(t *testing.T) {
	w := openWorld(t)
	sent, kept := 0, 0
	for _, pattern := range slices.Sorted(maps.Keys(forms)) {
		for _, e := range forms[pattern] {
			if e.unkeyed != "" {
				continue
			}
			f, ok := w.open(pattern, e)
			if !ok {
				continue
			}
			before := w.written()
			var wg sync.WaitGroup
			times := e.times
			if times == 0 {
				times = 10
			}
			answers := make([]apptest.Answer, times)
			for i := range answers {
				wg.Go(func() { answers[i] = f.send(t, f.v) })
			}
			wg.Wait()
			answers = append(answers, f.send(t, f.v)) // and once more, when all is said
			sent += len(answers)
			want := http.StatusSeeOther
			if e.shows {
				want = http.StatusOK
			}
			for _, a := range answers {
				if e.ends && a.Status == http.StatusUnauthorized {
					continue
				}
				if a.Status != want || !e.ends && a.Location != answers[0].Location {
					t.Errorf("POST %s from %s: %d to %q, another %d to %q: %s", pattern, e.on, answers[0].Status, answers[0].Location, a.Status, a.Location, a.Says())
					break
				}
			}
			after := w.written()
			if got := after.keys - before.keys; got != 1 {
				t.Errorf("POST %s from %s: %d changes were made of one form", pattern, e.on, got)
			}
			if got := after.requests - before.requests; got > 1 && !e.ends { // the same request signs out as well
				t.Errorf("POST %s from %s: the record tells of %d requests", pattern, e.on, got)
			}
			kept++
		}
	}
	t.Logf("%d forms, sent %d times, made %d changes", kept, sent, kept)
	if kept < 60 {
		t.Errorf("only %d forms were tried", kept)
	}
}

// written counts what shows that something was changed.
type written struct{ keys, requests int }

func (w *world) written() (n written) {
	w.t.Helper()
	w.OK(w.DB.Pool.QueryRow(w.t.Context(), `
		select (select count(*) from write_key), (select count(distinct request_id) from event where via = 'page' and request_id <> '')`).
		Scan(&n.keys, &n.requests))
	return n
}
