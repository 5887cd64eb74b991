package ui

import (
	"strconv"
	"strings"
	"time"
)

// Day reads a date (2026-10-05, as a date field sends it, or 5/10/2026 as
// typed, day first) as that day's first moment in loc; empty is the zero time.
func (f *Form) Day(name string, loc *time.Location) time.Time {
	s := f.Str(name, shortMax)
	if s == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02", "2/1/2006", "2.1.2006", "2 Jan 2006", "2 January 2006"} {
		if t, err := time.ParseInLocation(layout, s, loc); err == nil && plausible(t) {
			return t
		}
	}
	f.Fail(name, "a date, please, such as 5/10/2026")
	return time.Time{}
}

// Clock reads a time of day (16:40, 1640 or 8) as the time since midnight on
// the clock's face; empty is 0, false.
func (f *Form) Clock(name string) (time.Duration, bool) {
	s := f.Str(name, shortMax)
	if s == "" {
		return 0, false
	}
	d, ok := parseClock(s)
	if !ok {
		f.Fail(name, "a time, please, such as 16:40")
	}
	return d, ok
}

func parseClock(s string) (time.Duration, bool) {
	h, m, found := strings.Cut(strings.Replace(s, ".", ":", 1), ":")
	if !found {
		switch {
		case len(s) == 3 || len(s) == 4:
			h, m = s[:len(s)-2], s[len(s)-2:]
		default:
			m = "00"
		}
	}
	if len(h) < 1 || len(h) > 2 || len(m) != 2 {
		return 0, false
	}
	hours, err1 := strconv.ParseUint(h, 10, 8)
	minutes, err2 := strconv.ParseUint(m, 10, 8)
	if err1 != nil || err2 != nil || hours > 23 || minutes > 59 {
		return 0, false
	}
	return time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute, true
}

// When reads a date with a time, as a datetime-local field sends it, on the
// wall clock of loc. A time that the clocks skip is refused at the field; one
// that they show twice is taken as the first.
func (f *Form) When(name string, loc *time.Location) time.Time {
	s := f.Str(name, shortMax)
	if s == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", "2/1/2006 15:04"} {
		wall, err := time.Parse(layout, s)
		if err != nil || !plausible(wall) {
			continue
		}
		t, ok := OnWallClock(wall, loc)
		if !ok {
			f.Fail(name, "the clocks go forward over that time on that day; please choose another")
		}
		return t
	}
	f.Fail(name, "a date and a time, please, such as 5/10/2026 16:40")
	return time.Time{}
}

// OnWallClock gives the first moment at which the clocks of loc show what wall
// shows, and false when they skip it.
func OnWallClock(wall time.Time, loc *time.Location) (time.Time, bool) {
	y, mo, d := wall.Date()
	h, mi, s := wall.Clock()
	t := time.Date(y, mo, d, h, mi, s, 0, loc)
	if t.Hour() != h || t.Minute() != mi {
		return time.Time{}, false
	}
	// Where the clocks show the hour twice, time.Date may give either.
	for _, back := range []time.Duration{time.Hour, 30 * time.Minute} {
		if e := t.Add(-back); e.Hour() == h && e.Minute() == mi && e.Day() == d {
			return e, true
		}
	}
	return t, true
}

// plausible keeps out the years that a slip of the finger makes: before the
// motor car, and beyond any record kept here.
func plausible(t time.Time) bool { return t.Year() >= 1885 && t.Year() <= 2199 }
