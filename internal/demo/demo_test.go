package demo_test

import (
	"context"
	"testing"
	"time"

	"rampside/internal/demo"
	"rampside/internal/pg/pgtest"
)

// TestTheDemoIsMadeOnceAndTheSameFromTheSameSeed makes it twice, in two
// databases, and compares what the cards hold.
func TestTheDemoIsMadeOnceAndTheSameFromTheSameSeed(t *testing.T) {
	now := time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC)
	made := demo.Options{Seed: 1, Now: now, Months: 1}
	prints := make([]string, 2)
	for i := range prints {
		pool := pgtest.New(t)
		if err := demo.Make(t.Context(), pool, made); err != nil {
			t.Fatal(err)
		}
		if err := demo.Make(t.Context(), pool, made); err == nil {
			t.Fatal("a second demo was made over the first")
		}
		if s, err := demo.StateOf(t.Context(), pool); err != nil || s != demo.Finished {
			t.Fatalf("state %v, %v", s, err)
		}
		err := pool.QueryRow(context.Background(), `select md5(string_agg(x, '|' order by x)) from (
			select 'l' || l.id || l.title || l.work_state || l.consent || l.likely_minutes || coalesce(l.done_at::text, '') as x from line l
			union all select 'k' || k.id || k.staff_id || k.line_id || k.during::text from clocking k
			union all select 'p' || p.id || p.name || p.cost_minor || p.supply || p.verdict from part p
			union all select 'v' || v.id || v.mark || v.vin from vehicle v) r`).Scan(&prints[i])
		if err != nil {
			t.Fatal(err)
		}
	}
	if prints[0] != prints[1] {
		t.Errorf("the same seed made two garages")
	}
}
