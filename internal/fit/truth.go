package fit

import "fmt"

// Truth is what can be said of a condition.
type Truth int8

// The truths. Their order is that of Kleene's strong logic: all is the least
// of its parts, any the greatest, and not turns the sign.
const (
	False   Truth = -1
	Unknown Truth = 0
	True    Truth = 1
)

// Not is true for false, false for true, and unknown for unknown.
func (t Truth) Not() Truth { return -t }

// And is the lesser of the two.
func (t Truth) And(u Truth) Truth { return min(t, u) }

// Or is the greater of the two.
func (t Truth) Or(u Truth) Truth { return max(t, u) }

// String is true, false or unknown.
func (t Truth) String() string {
	switch t {
	case True:
		return "true"
	case False:
		return "false"
	}
	return "unknown"
}

// MarshalText writes a truth as String does.
func (t Truth) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (t *Truth) UnmarshalText(b []byte) error {
	for _, u := range []Truth{False, Unknown, True} {
		if string(b) == u.String() {
			*t = u
			return nil
		}
	}
	return fmt.Errorf("fit: %q is no truth", b)
}
