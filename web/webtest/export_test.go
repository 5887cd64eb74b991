package webtest

import "time"

// SetPatience shortens the waiting for tests of what never comes, and gives
// the way back.
func SetPatience(d time.Duration) func() {
	was := Patience
	Patience = d
	return func() { Patience = was }
}
