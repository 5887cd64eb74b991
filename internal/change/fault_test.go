package change_test

import (
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/change"
	"rampside/internal/pg/pgfault"
	"rampside/internal/pg/pgtest"
)

// The line to the database breaks at each message of a change in turn, before
// the server has it and after. Whatever the sender then sees, either all of the
// change is there or none; and sent again with the same key it is there once.
func TestTheLineBreakingAtAnyMessageLeavesNothingHalfWritten(t *testing.T) {
	for name, when := range map[string]pgfault.When{"before": pgfault.Before, "after": pgfault.After} {
		t.Run(name, func(t *testing.T) {
			url := pgtest.URL(t)
			pool, fault := pgfault.Open(t, url)
			look, err := pgxpool.New(t.Context(), url)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(look.Close)
			exec(t, look, note)
			db := on(pool)
			doubt := 0
			for k := 1; ; k++ {
				notes, events := count(t, look, "note"), count(t, look, "event")
				fault.Arm(k, when)
				first, err := write(t.Context(), db, posy.WithKey(key(k)), "cut")
				fired := fault.Disarm()
				if !fired {
					if err != nil {
						t.Fatalf("nothing broke, and yet: %v", err)
					}
					if k < 6 {
						t.Errorf("only %d messages were tried", k-1)
					}
					break
				}
				gotNotes, gotEvents := count(t, look, "note")-notes, count(t, look, "event")-events
				switch {
				case gotNotes == 0 && gotEvents == 0:
					if err == nil {
						t.Errorf("message %d: said to be saved, and is not", k)
					}
				case gotNotes == 2 && gotEvents == 2:
					doubt++
				default:
					t.Errorf("message %d: %d notes and %d events", k, gotNotes, gotEvents)
				}
				again, err := write(t.Context(), db, posy.WithKey(key(k)), "cut")
				if err != nil {
					t.Fatalf("message %d, sent again: %v", k, err)
				}
				if first.ID != 0 && first != again {
					t.Errorf("message %d: %+v, then %+v", k, first, again)
				}
				if n := count(t, look, "note") - notes; n != 2 {
					t.Errorf("message %d: %d notes after it was sent again", k, n)
				}
			}
			if when == pgfault.After && doubt == 0 {
				t.Error("the answer to the commit was never the one lost")
			}
			n, broken, err := change.Verify(t.Context(), look)
			if err != nil || broken != 0 || n == 0 {
				t.Errorf("the chain: %d, broken at %d, %v", n, broken, err)
			}
		})
	}
}
