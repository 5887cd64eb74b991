package live_test

import (
	"context"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/live"
	"rampside/internal/pg/pgtest"
)

// change commits one change to a card's record.
func commit(t *testing.T, db *change.DB, card int64) {
	t.Helper()
	_, err := change.Do(t.Context(), db, actor.Command("test"), "test", card, func(_ context.Context, tx *change.Tx) (int, error) {
		tx.Record("tried", card, "", nil)
		return 0, nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func listening(t *testing.T, url string) *live.Hub {
	t.Helper()
	h := live.NewHub(slog.New(slog.DiscardHandler))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	ready, stop := h.Subscribe("ready")
	go func() { h.Listen(ctx, url); close(done) }()
	t.Cleanup(func() { cancel(); <-done })
	hear(t, ready) // everybody is told to look once the line stands
	stop()
	return h
}

func hear(t *testing.T, ch <-chan live.Change) live.Change {
	t.Helper()
	select {
	case c := <-ch:
		return c
	case <-time.After(5 * time.Second):
		t.Fatal("nothing was heard within 5 s")
		return live.Change{}
	}
}

func TestAChangeThroughOneServerIsHeardAtAnother(t *testing.T) {
	url := pgtest.URL(t)
	pool := open(t, url)
	one, two := listening(t, url), listening(t, url)
	a, stopA := one.Subscribe("card:12")
	b, stopB := two.Subscribe("card:12")
	all, stopAll := two.Subscribe(live.All)
	other, stopOther := two.Subscribe("card:13")
	defer stopA()
	defer stopB()
	defer stopAll()
	defer stopOther()
	commit(t, change.New(pool), 12)
	for i, ch := range []<-chan live.Change{a, b, all} {
		if c := hear(t, ch); c.Topic != "card:12" {
			t.Errorf("subscriber %d heard %q", i, c.Topic)
		}
	}
	select {
	case c := <-other:
		t.Errorf("another card's screen heard %q", c.Topic)
	default:
	}
}

func TestARolledBackChangeIsNotHeard(t *testing.T) {
	url := pgtest.URL(t)
	pool := open(t, url)
	h := listening(t, url)
	ch, stop := h.Subscribe(live.All)
	defer stop()
	_, err := change.Do(t.Context(), change.New(pool), actor.Command("test"), "test", 1, func(_ context.Context, tx *change.Tx) (int, error) {
		tx.Record("tried", 5, "", nil)
		return 0, fmt.Errorf("no")
	})
	if err == nil {
		t.Fatal("the change went through")
	}
	commit(t, change.New(pool), 6)
	if c := hear(t, ch); c.Topic != "card:6" {
		t.Errorf("heard %q first", c.Topic)
	}
}

func TestTheLineComesBackAndEverybodyLooks(t *testing.T) {
	url := pgtest.URL(t)
	pool := open(t, url)
	h := listening(t, url)
	ch, stop := h.Subscribe("card:12")
	defer stop()
	if _, err := pool.Exec(t.Context(), `select pg_terminate_backend(pid) from pg_stat_activity
		where application_name = 'rampside live' and datname = current_database()`); err != nil {
		t.Fatal(err)
	}
	hear(t, ch)
	commit(t, change.New(pool), 12)
	hear(t, ch)
}

func TestASlowScreenKeepsOneChangeAndBlocksNobody(t *testing.T) {
	url := pgtest.URL(t)
	pool := open(t, url)
	h := listening(t, url)
	slow, stop := h.Subscribe("card:12")
	defer stop()
	quick, stopQuick := h.Subscribe("card:13")
	defer stopQuick()
	for range 20 {
		commit(t, change.New(pool), 12)
	}
	commit(t, change.New(pool), 13)
	hear(t, quick)
	hear(t, slow)
	if n := h.Subscribers(); n != 2 {
		t.Errorf("%d subscribers, want 2", n)
	}
}

func open(t *testing.T, url string) *pgxpool.Pool {
	t.Helper()
	pool, err := pgxpool.New(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	return pool
}
