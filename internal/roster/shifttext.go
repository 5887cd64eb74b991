package roster

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"rampside/internal/workday"
)

// ErrShift is what is said at a shift that cannot be read.
var ErrShift = errors.New("write a shift as 08:30-17:30, with the minutes of its breaks behind a comma where it has any: 08:30-17:30, 60")

// ParseShift reads a shift as it is written into a table: "08:30-17:30" or,
// with 60 minutes of breaks, "08:30-17:30, 60". The times are read as
// workday.ParseClock does; the word to and longer dashes do for the hyphen.
// Empty, "off" and a hyphen alone are no shift.
func ParseShift(s string) (*workday.Shift, error) {
	s = strings.ToLower(strings.TrimSpace(strings.NewReplacer("\u2013", "-", "\u2014", "-", "\u2212", "-", " to ", "-").Replace(s)))
	if s == "" || s == "off" || s == "-" {
		return nil, nil
	}
	times, pause, comma := strings.Cut(s, ",")
	from, to, ok := strings.Cut(times, "-")
	if !ok {
		return nil, ErrShift
	}
	var out workday.Shift
	var err error
	if out.Start, err = workday.ParseClock(from); err != nil {
		return nil, ErrShift
	}
	if out.End, err = workday.ParseClock(to); err != nil {
		return nil, ErrShift
	}
	if comma {
		pause = strings.TrimSpace(pause)
		for _, unit := range []string{"minutes", "mins", "min", "m"} {
			if rest, ok := strings.CutSuffix(pause, unit); ok {
				pause = strings.TrimSpace(rest)
				break
			}
		}
		n, err := strconv.ParseUint(pause, 10, 9)
		if err != nil {
			return nil, ErrShift
		}
		out.Break = time.Duration(n) * time.Minute
	}
	if err := out.Check(); err != nil {
		return nil, err
	}
	return &out, nil
}

// FormatShift writes a shift as ParseShift reads it; "" for none.
func FormatShift(s *workday.Shift) string {
	switch {
	case s == nil:
		return ""
	case s.Break == 0:
		return fmt.Sprintf("%s-%s", s.Start, s.End)
	}
	return fmt.Sprintf("%s-%s, %d", s.Start, s.End, int(s.Break/time.Minute))
}
