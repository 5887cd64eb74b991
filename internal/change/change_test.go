package change_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

func TestAChangeIsWrittenWithItsEvents(t *testing.T) {
	db := open(t)
	w, err := write(t.Context(), db, posy, "torque checked")
	if err != nil {
		t.Fatal(err)
	}
	if !w.At.Equal(now.Truncate(time.Microsecond)) || w.At.Location() != time.UTC {
		t.Errorf("at %v", w.At)
	}
	events, err := change.Events(t.Context(), db.Pool, change.Filter{})
	if err != nil || len(events) != 2 {
		t.Fatalf("%+v, %v", events, err)
	}
	e := events[1] // newest first
	if e.Kind != "note written" || e.CardID != 1001 || e.StaffID != 3 || e.StaffName != "Posy Thackeray" || e.Via != actor.ViaPage ||
		e.Device != "ramp tablet" || e.RequestID != "r-1" || e.Subject != "torque checked" || string(e.Detail) != `{"id": 1}` || !e.At.Equal(w.At) {
		t.Errorf("%+v, detail %s", e, e.Detail)
	}
	if events[0].CardID != 0 || string(events[0].Detail) != `{}` {
		t.Errorf("%+v", events[0])
	}
	holds(t, db.Pool, 2)
}

func TestNobodyChangesAnythingUnsigned(t *testing.T) {
	db := open(t)
	_, err := write(t.Context(), db, actor.Actor{StaffID: 3, Name: "x"}, "x")
	kind(t, err, apperr.Unsigned)
	if count(t, db.Pool, "note") != 0 {
		t.Error("something was written")
	}
}

func TestTheSameKeyTenTimesAtOnceIsOneChangeWithOneResult(t *testing.T) {
	db := open(t)
	who := posy.WithKey(key(1))
	got := make([]written, 10)
	var wg sync.WaitGroup
	for i := range got {
		wg.Go(func() {
			var err error
			if got[i], err = write(context.Background(), db, who, "pressed"); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for _, w := range got {
		if w != got[0] || w.ID == 0 {
			t.Errorf("%+v and %+v", w, got[0])
		}
	}
	if n := count(t, db.Pool, "note"); n != 2 {
		t.Errorf("%d notes", n)
	}
	holds(t, db.Pool, 2)
}

func TestTheSameKeyWithOtherContentsIsAConflict(t *testing.T) {
	db := open(t)
	who := posy.WithKey(key(1))
	if _, err := write(t.Context(), db, who, "first"); err != nil {
		t.Fatal(err)
	}
	_, err := write(t.Context(), db, who, "second")
	kind(t, err, apperr.Conflict)
	// The same contents for another use case are another request.
	_, err = change.Do(t.Context(), db, who, "read aloud", "first", func(context.Context, *change.Tx) (int, error) { return 1, nil })
	kind(t, err, apperr.Conflict)
	// Somebody else's key of the same name is their own.
	other := who
	other.StaffID = 4
	if _, err := write(t.Context(), db, other, "second"); err != nil {
		t.Error(err)
	}
	if n := count(t, db.Pool, "note"); n != 4 {
		t.Errorf("%d notes", n)
	}
}

func TestAKeyHasASize(t *testing.T) {
	db := open(t)
	for _, k := range []string{strings.Repeat("k", 201), "k\x00", "\xff\xfe"} {
		_, err := write(t.Context(), db, posy.WithKey(k), "x")
		var e *apperr.Error
		if !errors.As(err, &e) || e.Kind != apperr.Invalid || e.Fields["key"] == "" {
			t.Errorf("key %.10q: %v", k, err)
		}
	}
	if _, err := write(t.Context(), db, posy.WithKey(strings.Repeat("ü", 200)), "x"); err != nil {
		t.Error(err)
	}
}

func TestWhatFailsLeavesNothingAndItsKeyFree(t *testing.T) {
	db := open(t)
	who := posy.WithKey(key(1))
	why := errors.New("the ramp is down")
	fail := true
	try := func() (int, error) {
		return change.Do(t.Context(), db, who, "try", "in", func(ctx context.Context, tx *change.Tx) (int, error) {
			if _, err := tx.Exec(ctx, `insert into note (words) values ('half')`); err != nil {
				return 0, err
			}
			tx.Record("tried", 0, "", nil)
			if fail {
				return 7, why
			}
			return 7, nil
		})
	}
	if v, err := try(); !errors.Is(err, why) || v != 0 {
		t.Errorf("%d, %v", v, err)
	}
	for _, table := range []string{"note", "event", "write_key"} {
		if n := count(t, db.Pool, table); n != 0 {
			t.Errorf("%d rows left in %s", n, table)
		}
	}
	fail = false
	if v, err := try(); err != nil || v != 7 {
		t.Errorf("the second try: %d, %v", v, err)
	}
}

func TestAPanicRollsBackAndGivesTheConnectionBack(t *testing.T) {
	db := open(t)
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		_, _ = change.Do(t.Context(), db, posy.WithKey(key(1)), "panic", nil, func(ctx context.Context, tx *change.Tx) (int, error) {
			_, _ = tx.Exec(ctx, `insert into note (words) values ('half')`)
			tx.Record("panicked", 0, "", nil)
			panic("a nut came loose")
		})
	}()
	for _, table := range []string{"note", "event", "write_key"} {
		if n := count(t, db.Pool, table); n != 0 {
			t.Errorf("%d rows left in %s", n, table)
		}
	}
	if n := db.Pool.Stat().AcquiredConns(); n != 0 {
		t.Errorf("%d connections still out", n)
	}
}

func TestAResultThatCannotBeKeptFailsTheChange(t *testing.T) {
	db := open(t)
	_, err := change.Do(t.Context(), db, posy.WithKey(key(1)), "divide", nil, func(ctx context.Context, tx *change.Tx) (float64, error) {
		_, err := tx.Exec(ctx, `insert into note (words) values ('half')`)
		return math.Inf(1), err
	})
	if err == nil || count(t, db.Pool, "note") != 0 {
		t.Errorf("%v", err)
	}
	_, err = change.Do(t.Context(), db, posy, "ask", func() {}, func(context.Context, *change.Tx) (int, error) { return 0, nil })
	if err == nil {
		t.Error("a request without a JSON form was taken")
	}
}

func TestADeadlockIsRunAgain(t *testing.T) {
	db := open(t)
	exec(t, db.Pool, `insert into note (words) values ('a'), ('b')`)
	var runs atomic.Int32
	var both sync.WaitGroup // each waits, the first time, until both hold one row
	both.Add(2)
	swap := func(first, second int) func() {
		return func() {
			fresh := true
			_, err := change.Do(context.Background(), db, posy, "swap", nil, func(ctx context.Context, tx *change.Tx) (int, error) {
				runs.Add(1)
				if _, err := tx.Exec(ctx, `update note set words = words || '+' where id = $1`, first); err != nil {
					return 0, err
				}
				if fresh {
					fresh = false
					both.Done()
					both.Wait()
				}
				_, err := tx.Exec(ctx, `update note set words = words || '+' where id = $1`, second)
				return 0, err
			})
			if err != nil {
				t.Error(err)
			}
		}
	}
	var wg sync.WaitGroup
	wg.Go(swap(1, 2))
	wg.Go(swap(2, 1))
	wg.Wait()
	var a, b string
	if err := db.Pool.QueryRow(t.Context(), `select min(words), max(words) from note`).Scan(&a, &b); err != nil || a != "a++" || b != "b++" {
		t.Errorf("%q %q %v", a, b, err)
	}
	if runs.Load() < 3 {
		t.Errorf("only %d runs: there was no deadlock to get over", runs.Load())
	}
}

func TestSerializationFailuresAreRunAgainAFewTimesAndOthersNever(t *testing.T) {
	db := open(t)
	for code, want := range map[string]int{"40001": 5, "40P01": 5, "23505": 1, "57014": 1} {
		runs := 0
		_, err := change.Do(t.Context(), db, posy, "fail", nil, func(context.Context, *change.Tx) (int, error) {
			runs++
			return 0, &pgconn.PgError{Code: code}
		})
		if err == nil || runs != want {
			t.Errorf("%s: %d runs, %v; want %d", code, runs, err, want)
		}
	}
}

func TestWhoGoesAwayWhileWaitingLeavesNothing(t *testing.T) {
	db := open(t)
	ctx, cancel := context.WithCancel(t.Context())
	_, err := change.Do(ctx, db, posy, "wait", nil, func(ctx context.Context, tx *change.Tx) (int, error) {
		if _, err := tx.Exec(ctx, `insert into note (words) values ('half')`); err != nil {
			return 0, err
		}
		cancel()
		return 1, nil
	})
	if !errors.Is(err, context.Canceled) || count(t, db.Pool, "note") != 0 {
		t.Errorf("%v", err)
	}
}

func TestWhatAChangeTouchedIsFollowedInItsTransactionAndOnlyThen(t *testing.T) {
	db := open(t)
	var seen [][]change.Touched
	var refuse error
	db.Follow = func(ctx context.Context, tx *change.Tx, what []change.Touched) error {
		seen = append(seen, what)
		if _, err := tx.Exec(ctx, `insert into note (words) values ('followed')`); err != nil {
			return err
		}
		return refuse
	}
	touch := func(things ...int64) error {
		_, err := change.Do(t.Context(), db, posy, "touch", things, func(_ context.Context, tx *change.Tx) (int, error) {
			for _, id := range things {
				tx.Touch(change.Card, id)
			}
			return 0, nil
		})
		return err
	}
	if err := touch(); err != nil || len(seen) != 0 {
		t.Errorf("nothing was touched, and yet: %v, %v", seen, err)
	}
	if err := touch(1001, 1002, 1001); err != nil || len(seen) != 1 || len(seen[0]) != 2 || seen[0][1] != (change.Touched{Thing: change.Card, ID: 1002}) {
		t.Errorf("followed %v, %v", seen, err)
	}
	if n := count(t, db.Pool, "note"); n != 1 {
		t.Errorf("%d notes", n)
	}
	refuse = errors.New("the scales are out")
	if err := touch(1003); !errors.Is(err, refuse) || count(t, db.Pool, "note") != 1 {
		t.Errorf("what could not be followed was kept: %v", err)
	}
}
