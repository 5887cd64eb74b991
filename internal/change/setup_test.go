package change_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg/pgtest"
)

var posy = actor.Actor{StaffID: 3, Name: "Posy Thackeray", Role: actor.Technician, Via: actor.ViaPage, Device: "ramp tablet", RequestID: "r-1"}

// now has nanoseconds, which PostgreSQL does not keep.
var now = time.Date(2026, 10, 5, 9, 0, 0, 123456789, time.UTC)

// note is the table that the tests' changes write to.
const note = `create table note (id bigint generated always as identity primary key, words text not null)`

func open(t *testing.T) *change.DB {
	t.Helper()
	pool := pgtest.New(t)
	exec(t, pool, note)
	return on(pool)
}

func on(pool *pgxpool.Pool) *change.DB {
	return &change.DB{Pool: pool, Now: func() time.Time { return now }}
}

func exec(t *testing.T, pool *pgxpool.Pool, sql string, args ...any) {
	t.Helper()
	if _, err := pool.Exec(t.Context(), sql, args...); err != nil {
		t.Fatal(err)
	}
}

func count(t *testing.T, pool *pgxpool.Pool, table string) (n int) {
	t.Helper()
	if err := pool.QueryRow(t.Context(), `select count(*) from `+table).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// written is what write gives: something that JSON carries.
type written struct {
	ID    int64
	Words string
	At    time.Time
}

// write notes words, in two statements and two events.
func write(ctx context.Context, db *change.DB, who actor.Actor, words string) (written, error) {
	return change.Do(ctx, db, who, "write note", words, func(ctx context.Context, tx *change.Tx) (written, error) {
		w := written{Words: words, At: tx.At}
		if err := tx.QueryRow(ctx, `insert into note (words) values ($1) returning id`, words).Scan(&w.ID); err != nil {
			return w, err
		}
		if _, err := tx.Exec(ctx, `insert into note (words) values ($1)`, words+", again"); err != nil {
			return w, err
		}
		tx.Record("note written", 1001, words, map[string]any{"id": w.ID})
		tx.Record("note written again", 0, words, nil)
		return w, nil
	})
}

func holds(t *testing.T, pool *pgxpool.Pool, events int) {
	t.Helper()
	n, broken, err := change.Verify(t.Context(), pool)
	if err != nil || broken != 0 || n != events {
		t.Errorf("the chain: %d events, broken at %d, %v; want %d that hold", n, broken, err, events)
	}
}

func kind(t *testing.T, err error, want apperr.Kind) {
	t.Helper()
	if err == nil || apperr.KindOf(err) != want {
		t.Errorf("%v: want kind %d", err, want)
	}
}

func key(n int) string { return fmt.Sprintf("key-%d-0123456789abcdef", n) }
