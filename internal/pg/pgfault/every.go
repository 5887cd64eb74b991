package pgfault

import (
	"slices"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"
)

// Act is one change that is tried with the line breaking at each of its
// messages in turn.
type Act struct {
	// Prepare makes ready for the n-th try, over a whole line; it may be nil.
	Prepare func(n int)
	// Do makes the n-th change over a line that may break. Called twice for
	// the same n, it must be the same request, with the same key.
	Do func(pool *pgxpool.Pool, n int) error
	// Count gives figures that show whether the change is there, such as how
	// many rows there are in each table that it writes.
	Count func() []int
	// Want is by how much one change moves the figures.
	Want []int
}

// Every tries the act with the line breaking at each of its messages, before
// it and after it, until all have had their turn. It fails the test when
// anything is half there, when something is said to be done and is not, and
// when sending it again does not leave it done exactly once.
func Every(t *testing.T, url string, a Act) {
	t.Helper()
	pool, fault := Open(t, url)
	n := 0
	for _, when := range []When{Before, After} {
		for k := 1; ; k++ {
			n++
			if a.Prepare != nil {
				a.Prepare(n)
			}
			was := a.Count()
			fault.Arm(k, when)
			err := a.Do(pool, n)
			fired := fault.Disarm()
			moved := less(a.Count(), was)
			none := !slices.ContainsFunc(moved, func(d int) bool { return d != 0 })
			switch {
			case none && err == nil:
				t.Errorf("message %d: said to be done, and is not", k)
			case !none && !slices.Equal(moved, a.Want):
				t.Errorf("message %d: half done: %v of %v", k, moved, a.Want)
			}
			if err := a.Do(pool, n); err != nil {
				t.Errorf("message %d, sent again: %v", k, err)
			}
			if moved := less(a.Count(), was); !slices.Equal(moved, a.Want) {
				t.Errorf("message %d, sent again: %v, want %v", k, moved, a.Want)
			}
			if !fired {
				if err != nil {
					t.Errorf("nothing broke, and yet: %v", err)
				}
				if k < 4 {
					t.Errorf("only %d messages were tried: that was no change", k-1)
				}
				break
			}
			if t.Failed() {
				return
			}
		}
	}
}

func less(a, b []int) []int {
	out := make([]int, len(a))
	for i := range a {
		out[i] = a[i] - b[i]
	}
	return out
}
