package ui

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/apperr"
	"rampside/internal/money"
)

// shortMax bounds, in characters, what is taken for a number, a date or a
// choice before it is read.
const shortMax = 64

// Str reads one line of text of at most limit characters, trimmed.
func (f *Form) Str(name string, limit int) string { return f.text(name, limit, false) }

// Text reads text of several lines, of at most limit characters, trimmed.
func (f *Form) Text(name string, limit int) string { return f.text(name, limit, true) }

func (f *Form) text(name string, limit int, lines bool) string {
	s, problem := clean(f.Values.Get(f.prefix+name), limit, lines)
	if problem != "" {
		f.Fail(name, "%s", problem)
	}
	return s
}

// Required notes every named field that was left empty.
func (f *Form) Required(names ...string) {
	for _, n := range names {
		if strings.TrimSpace(f.Get(n)) == "" {
			f.Fail(n, "please fill this in")
		}
	}
}

// Bool reads a checkbox: ticked, or not there at all.
func (f *Form) Bool(name string) bool {
	switch f.Str(name, shortMax) {
	case "", "off", "false", "no", "0":
		return false
	}
	return true
}

// Int reads a whole number between low and high; empty is 0 without a message,
// so ask Required where it is.
func (f *Form) Int(name string, low, high int) int {
	s := f.Str(name, shortMax)
	if s == "" {
		return 0
	}
	n, err := strconv.Atoi(strings.TrimPrefix(s, "+"))
	if err != nil {
		f.Fail(name, "a whole number, please, such as %d", max(low, min(high, 3)))
		return 0
	}
	if n < low || n > high {
		f.Fail(name, "between %d and %d, please", low, high)
		return 0
	}
	return n
}

// ID reads an identity that a page of ours put into the form; empty is 0.
func (f *Form) ID(name string) int64 {
	s := f.Str(name, shortMax)
	if s == "" {
		return 0
	}
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 1 {
		f.Fail(name, "please choose one from the list")
		return 0
	}
	return n
}

// IDs reads the identities ticked in a list of at most limit.
func (f *Form) IDs(name string, limit int) []int64 {
	var ids []int64
	for _, s := range f.Strs(name, limit, shortMax) {
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil || n < 1 {
			f.Fail(name, "please choose from the list")
			return nil
		}
		ids = append(ids, n)
	}
	return ids
}

// Strs reads the non-empty values of a field that may come more than once, at
// most count of them, each at most limit characters.
func (f *Form) Strs(name string, count, limit int) []string {
	vs := f.Values[f.prefix+name]
	if len(vs) > count {
		f.Fail(name, "at most %d, please", count)
		return nil
	}
	var out []string
	for _, v := range vs {
		s, problem := clean(v, limit, false)
		if problem != "" {
			f.Fail(name, "%s", problem)
			return nil
		}
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// OneOf reads a choice: one of the words allowed, or empty when none was made.
func OneOf[T ~string](f *Form, name string, allowed ...T) T {
	s := T(f.Str(name, shortMax))
	if s == "" || slices.Contains(allowed, s) {
		return s
	}
	f.Fail(name, "please choose one from the list")
	return ""
}

// OneOf is the reader of the same name for plain strings.
func (f *Form) OneOf(name string, allowed ...string) string { return OneOf(f, name, allowed...) }

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

// Read reads a field with a parser of the field's own kind, such as
// money.Parse. Empty gives the zero value. The parser's error is shown at the
// field, so its words are for a person.
func Read[T any](f *Form, name string, parse func(string) (T, error)) T {
	var zero T
	s := f.Str(name, shortMax)
	if s == "" {
		return zero
	}
	v, err := parse(s)
	if err == nil {
		return v
	}
	var e *apperr.Error
	if errors.As(err, &e) {
		f.Fail(name, "%s", e.Message)
	} else {
		f.Fail(name, "%s", err.Error())
	}
	return zero
}

// Money reads an amount as people type it; empty is 0 without a message.
func (f *Form) Money(name string) money.Minor { return Read(f, name, money.Parse) }

// Rate reads a percentage; empty is 0 without a message.
func (f *Form) Rate(name string) money.Rate { return Read(f, name, money.ParseRate) }

// Quantity reads a quantity, in thousandths; empty is 0 without a message.
func (f *Form) Quantity(name string) int64 { return Read(f, name, money.ParseQuantity) }

// PathID reads an identity out of the address. What is no identity is a page
// that does not exist.
func PathID[T ~int64](r *http.Request, param string) (T, error) {
	n, err := strconv.ParseInt(chi.URLParam(r, param), 10, 64)
	if err != nil || n < 1 {
		return 0, apperr.New(apperr.NotFound, "there is no such page")
	}
	return T(n), nil
}
