package workday

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Clock is a time of day in minutes after midnight as the clock on the wall
// shows it, 0 to 1439.
type Clock int16

const minutesADay = 24 * 60

// Errors of ParseClock, fit to stand beside the field.
var (
	ErrNoClock  = errors.New("enter a time, such as 16:40")
	ErrNotClock = errors.New("enter a time of day, such as 16:40, 9.05 or 4.40pm")
	ErrHour     = errors.New("a time of day lies between 00:00 and 23:59")
)

// ParseClock reads a time of day as people type it: "16:40", "9:05", "16.40",
// "1640", "9", "4pm", "4.40 pm".
func ParseClock(s string) (Clock, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	if s == "" {
		return 0, ErrNoClock
	}
	half := ""
	for _, suffix := range []string{"am", "pm"} {
		if rest, ok := strings.CutSuffix(s, suffix); ok {
			half, s = suffix, strings.TrimRight(rest, " ")
			break
		}
	}
	hour, minute, parted := strings.Cut(strings.Replace(s, ".", ":", 1), ":")
	if !parted && len(s) >= 3 && len(s) <= 4 {
		hour, minute = s[:len(s)-2], s[len(s)-2:]
		parted = true
	}
	if !twoDigits(hour) || (parted && (!twoDigits(minute) || len(minute) != 2)) {
		return 0, ErrNotClock
	}
	h, _ := strconv.Atoi(hour) // two digits at most, checked above
	m := 0
	if parted {
		m, _ = strconv.Atoi(minute)
	}
	if half != "" {
		if h < 1 || h > 12 {
			return 0, ErrHour
		}
		h %= 12
		if half == "pm" {
			h += 12
		}
	}
	if h > 23 || m > 59 {
		return 0, ErrHour
	}
	return Clock(h*60 + m), nil
}

func twoDigits(s string) bool {
	if len(s) < 1 || len(s) > 2 {
		return false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// NewClock makes a Clock from hours and minutes; the error is ErrHour.
func NewClock(hour, minute int) (Clock, error) {
	if hour < 0 || hour > 23 || minute < 0 || minute > 59 {
		return 0, ErrHour
	}
	return Clock(hour*60 + minute), nil
}

// ClockOf is what the clock shows in loc at t, to the minute below.
func ClockOf(t time.Time, loc *time.Location) Clock {
	h, m, _ := t.In(loc).Clock()
	return Clock(h*60 + m)
}

// Valid tells whether c is a time of day.
func (c Clock) Valid() bool { return c >= 0 && c < minutesADay }

// String is "16:40".
func (c Clock) String() string { return FormatClock(c) }

// FormatClock writes a time of day as "16:40".
func FormatClock(c Clock) string { return fmt.Sprintf("%02d:%02d", c/60, c%60) }

// MarshalText writes the time as String does.
func (c Clock) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads what ParseClock reads.
func (c *Clock) UnmarshalText(b []byte) error {
	got, err := ParseClock(string(b))
	if err == nil {
		*c = got
	}
	return err
}
