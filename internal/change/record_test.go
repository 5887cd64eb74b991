package change_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

func TestTheRecordOnlyGrows(t *testing.T) {
	db := open(t)
	if _, err := write(t.Context(), db, posy, "x"); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{`update event set subject = 'y'`, `delete from event`, `truncate event`} {
		if _, err := db.Pool.Exec(t.Context(), sql); pg.Code(err) != "23001" {
			t.Errorf("%s: %v", sql, err)
		}
	}
	holds(t, db.Pool, 2)
}

func TestTheChainHoldsUnderSixteenWritersAtOnce(t *testing.T) {
	db := open(t)
	var wg sync.WaitGroup
	for w := range 16 {
		wg.Go(func() {
			for i := range 25 {
				if _, err := write(context.Background(), db, posy.WithKey(key(w*100+i)), fmt.Sprint(w, i)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	holds(t, db.Pool, 16*25*2)
}

// A server set to another isolation would let two changes follow the same
// event without seeing each other.
func TestTheChainHoldsWhateverIsolationTheServerIsSetTo(t *testing.T) {
	db := open(t)
	var name string
	if err := db.Pool.QueryRow(t.Context(), `select current_database()`).Scan(&name); err != nil {
		t.Fatal(err)
	}
	exec(t, db.Pool, `alter database `+name+` set default_transaction_isolation = 'repeatable read'`)
	db.Pool.Reset()
	var wg sync.WaitGroup
	for w := range 8 {
		wg.Go(func() {
			for i := range 10 {
				if _, err := write(context.Background(), db, posy, fmt.Sprint(w, i)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	holds(t, db.Pool, 8*10*2)
}

// Whoever has the database's own password can switch the guards off. The
// chain is there to show it.
func TestWhatWasAlteredWithTheGuardsOffIsFound(t *testing.T) {
	for name, c := range map[string]struct {
		sql    string
		broken int // the place of the event that shows it, from 1
	}{
		"another subject":                        {`update event set subject = 'nothing' where id = $1`, 5},
		"another time":                           {`update event set at = at + interval '1 microsecond' where id = $1`, 5},
		"another person":                         {`update event set staff_name = 'Bram Oakes' where id = $1`, 5},
		"another detail":                         {`update event set detail = detail || '{"x": 1}' where id = $1`, 5},
		"another card":                           {`update event set card_id = 7 where id = $1`, 5},
		"taken out":                              {`delete from event where id = $1`, 6},
		"another digest":                         {`update event set hash = sha256('x') where id = $1`, 5},
		"another subject, and a digest to match": {`update event set subject = 'nothing' where id = $1; update event set hash = event_digest(prev_hash, event) where id = $1`, 6},
		"another predecessor":                    {`update event set prev_hash = sha256('x') where id = $1; update event set hash = event_digest(prev_hash, event) where id = $1`, 5},
	} {
		t.Run(name, func(t *testing.T) {
			db := open(t)
			for i := range 4 {
				if _, err := write(t.Context(), db, posy, fmt.Sprint(i)); err != nil {
					t.Fatal(err)
				}
			}
			holds(t, db.Pool, 8)
			events, err := change.Events(t.Context(), db.Pool, change.Filter{})
			if err != nil {
				t.Fatal(err)
			}
			ids := map[int]int64{}
			for i, e := range events {
				ids[len(events)-i] = e.ID
			}
			exec(t, db.Pool, `alter table event disable trigger all`)
			for _, sql := range strings.Split(c.sql, ";") {
				exec(t, db.Pool, sql, ids[5])
			}
			exec(t, db.Pool, `alter table event enable trigger all`)
			n, broken, err := change.Verify(t.Context(), db.Pool)
			whole := len(events)
			if name == "taken out" {
				whole--
			}
			if err != nil || broken != ids[c.broken] || n < 4 || n >= whole {
				t.Errorf("%d events before %d, %v; want some before %d", n, broken, err, ids[c.broken])
			}
		})
	}
}

func TestEventsCutOffAtTheEndShowInTheHead(t *testing.T) {
	db := open(t)
	if id, hash, err := change.Head(t.Context(), db.Pool); id != 0 || hash != nil || err != nil {
		t.Errorf("%d %x %v", id, hash, err)
	}
	for i := range 2 {
		if _, err := write(t.Context(), db, posy, fmt.Sprint(i)); err != nil {
			t.Fatal(err)
		}
	}
	id, hash, err := change.Head(t.Context(), db.Pool)
	if err != nil || id == 0 || len(hash) != 32 {
		t.Fatalf("%d %x %v", id, hash, err)
	}
	exec(t, db.Pool, `alter table event disable trigger all`)
	exec(t, db.Pool, `delete from event where id = $1`, id)
	holds(t, db.Pool, 3)
	if id2, hash2, _ := change.Head(t.Context(), db.Pool); id2 == id || bytes.Equal(hash, hash2) {
		t.Error("the head is the same")
	}
}

func TestAnEmptyRecordHolds(t *testing.T) {
	holds(t, open(t).Pool, 0)
}

func TestTheRecordIsReadByCardPersonAndTimePageByPage(t *testing.T) {
	db := open(t)
	at := now
	db.Now = func() time.Time { return at }
	bram := posy
	bram.StaffID, bram.Name = 4, "Bram Oakes"
	for i := range 6 {
		at = now.Add(time.Duration(i) * time.Hour)
		who := posy
		if i%2 == 1 {
			who = bram
		}
		if _, err := write(t.Context(), db, who, fmt.Sprint(i)); err != nil {
			t.Fatal(err)
		}
	}
	subjects := func(f change.Filter) (out string) {
		events, err := change.Events(t.Context(), db.Pool, f)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			out += e.Subject
		}
		return out
	}
	for name, c := range map[string]struct {
		f    change.Filter
		want string
	}{
		"all":         {change.Filter{}, "554433221100"},
		"a card":      {change.Filter{CardID: 1001}, "543210"},
		"no card":     {change.Filter{CardID: 7}, ""},
		"a person":    {change.Filter{StaffID: 4}, "553311"},
		"both":        {change.Filter{StaffID: 4, CardID: 1001}, "531"},
		"some hours":  {change.Filter{From: now.Add(time.Hour).Truncate(time.Microsecond), To: now.Add(3 * time.Hour).Truncate(time.Microsecond)}, "2211"},
		"hours, card": {change.Filter{From: now.Add(time.Hour).Truncate(time.Microsecond), To: now.Add(3 * time.Hour), CardID: 1001}, "21"},
		"few":         {change.Filter{Limit: 3}, "554"},
		"too many":    {change.Filter{Limit: 5000}, "554433221100"},
	} {
		if got := subjects(c.f); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
	// Page by page, each once.
	var seen string
	f := change.Filter{Limit: 5}
	for {
		events, err := change.Events(t.Context(), db.Pool, f)
		if err != nil {
			t.Fatal(err)
		}
		if len(events) == 0 {
			break
		}
		for _, e := range events {
			seen += e.Subject
		}
		f.Before = events[len(events)-1].ID
	}
	if seen != "554433221100" {
		t.Errorf("page by page: %s", seen)
	}
}

func TestTheConsoleIsOnRecordWithoutAPerson(t *testing.T) {
	db := open(t)
	if _, err := write(t.Context(), db, actor.Command("rampside demo"), "x"); err != nil {
		t.Fatal(err)
	}
	events, err := change.Events(t.Context(), db.Pool, change.Filter{})
	if err != nil || events[0].StaffID != 0 || events[0].StaffName != "rampside demo" || events[0].Via != actor.ViaCommand {
		t.Errorf("%+v, %v", events, err)
	}
}

func TestOnlyWhoManagesTheGarageReadsTheRecord(t *testing.T) {
	db := open(t)
	if _, err := write(t.Context(), db, posy, "x"); err != nil {
		t.Fatal(err)
	}
	for _, role := range []actor.Role{actor.Desk, actor.Technician} {
		_, err := db.Read(t.Context(), actor.Actor{Role: role}, change.Filter{})
		kind(t, err, apperr.Forbidden)
		_, err = db.Verify(t.Context(), actor.Actor{Role: role})
		kind(t, err, apperr.Forbidden)
	}
	owner := actor.Actor{StaffID: 1, Role: actor.Owner}
	if events, err := db.Read(t.Context(), owner, change.Filter{}); err != nil || len(events) != 2 {
		t.Errorf("%v, %v", events, err)
	}
	v, err := db.Verify(t.Context(), owner)
	if err != nil || !v.Holds() || v.Events != 2 || v.Head == 0 || len(v.Seal) != 32 {
		t.Errorf("%+v, %v", v, err)
	}
}
