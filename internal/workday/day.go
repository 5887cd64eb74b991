// Package workday is the garage's day: civil dates and clock times in the
// garage's zone, and the real spans of time they stand for, right on the days
// the clocks change. Times are kept in UTC elsewhere; only here does a zone
// turn into hours. There is no clock in it: the present is always given.
//
// The zone rules are those of the IANA time zone database, built into the
// binary so that a machine without zone files works too.
package workday

import (
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // the zones, for machines that have none
)

// Day is a date on the calendar, in no zone. It may be compared with ==.
// The zero Day is no day.
type Day struct {
	year  int
	month time.Month
	dom   int
}

// The first and the last year a Day may lie in.
const (
	FirstYear = 1900
	LastYear  = 2200
)

// Errors of Parse, fit to stand beside the field.
var (
	ErrNoDay  = errors.New("enter a date, such as 25/11/2026")
	ErrNotDay = errors.New("enter a date as day, month and year, such as 25/11/2026")
	ErrYear   = fmt.Errorf("the year lies between %d and %d", FirstYear, LastYear)
	ErrDate   = errors.New("there is no such date in the calendar")
)

// New makes a Day; the error is ErrYear or ErrDate.
func New(year int, month time.Month, dom int) (Day, error) {
	if year < FirstYear || year > LastYear {
		return Day{}, ErrYear
	}
	d := fromUTC(time.Date(year, month, dom, 0, 0, 0, 0, time.UTC))
	if d.month != month || d.dom != dom {
		return Day{}, ErrDate
	}
	return d, nil
}

// Must is New for dates written in code; it panics when there is no such day.
func Must(year int, month time.Month, dom int) Day {
	d, err := New(year, month, dom)
	if err != nil {
		panic(fmt.Sprintf("workday: %d-%d-%d: %v", year, month, dom, err))
	}
	return d
}

// Parse reads "2026-11-25" (what a date field sends) or "25/11/2026" (day
// first, as written in the United Kingdom; points and hyphens do as well).
func Parse(s string) (Day, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return Day{}, ErrNoDay
	}
	if len(s) > len("25/11/2026") {
		return Day{}, ErrNotDay
	}
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == '-' || r == '/' || r == '.' })
	if len(parts) != 3 || strings.Join(parts, "") != strings.Map(onlyDigits, s) {
		return Day{}, ErrNotDay
	}
	if len(s) != len(parts[0])+len(parts[1])+len(parts[2])+2 {
		return Day{}, ErrNotDay // two marks in a row, or one at an end
	}
	if len(parts[0]) == 4 && len(parts[1]) == 2 && len(parts[2]) == 2 && s[4] == '-' && s[7] == '-' {
		parts[0], parts[2] = parts[2], parts[0]
	}
	if len(parts[0]) > 2 || len(parts[1]) > 2 || len(parts[2]) != 4 {
		return Day{}, ErrNotDay
	}
	var n [3]int
	for i, p := range parts {
		n[i], _ = strconv.Atoi(p) // four digits at most, checked above
	}
	return New(n[2], time.Month(n[1]), n[0])
}

func onlyDigits(r rune) rune {
	if r >= '0' && r <= '9' {
		return r
	}
	if r == '-' || r == '/' || r == '.' {
		return -1
	}
	return 'x' // anything else makes the comparison in Parse fail
}

// Of is the day on which t falls in loc.
func Of(t time.Time, loc *time.Location) Day { return fromUTC(t.In(loc)) }

// FromDate takes the date part of t as it stands, whatever its zone: for a
// date that the database hands over as a midnight.
func FromDate(t time.Time) Day { return fromUTC(t) }

func fromUTC(t time.Time) Day {
	y, m, d := t.Date()
	return Day{y, m, d}
}

// UTC is midnight UTC of the day: for handing a date to the database, not a
// moment of the garage's day (see Bounds).
func (d Day) UTC() time.Time {
	return time.Date(d.year, d.month, d.dom, 0, 0, 0, 0, time.UTC)
}

// IsZero tells whether d is no day.
func (d Day) IsZero() bool { return d == Day{} }

// Date gives the year, the month and the day of the month.
func (d Day) Date() (year int, month time.Month, dom int) { return d.year, d.month, d.dom }

// Weekday is the day of the week.
func (d Day) Weekday() time.Weekday { return d.UTC().Weekday() }

// AddDays is n days later; n may be negative.
func (d Day) AddDays(n int) Day { return fromUTC(d.UTC().AddDate(0, 0, n)) }

// DaysUntil is how many days e lies after d; negative when before.
func (d Day) DaysUntil(e Day) int { return int(e.UTC().Sub(d.UTC()) / (24 * time.Hour)) }

// WeekStart is the Monday of d's week (ISO 8601).
func (d Day) WeekStart() Day { return d.AddDays(-int(d.Weekday()+6) % 7) }

// Compare is -1, 0 or +1 as d is before, on or after e.
func (d Day) Compare(e Day) int {
	return cmp.Or(cmp.Compare(d.year, e.year), cmp.Compare(d.month, e.month), cmp.Compare(d.dom, e.dom))
}

// Before tells whether d comes before e.
func (d Day) Before(e Day) bool { return d.Compare(e) < 0 }

// After tells whether d comes after e.
func (d Day) After(e Day) bool { return d.Compare(e) > 0 }

// String is "2026-11-25" (ISO 8601); empty for no day.
func (d Day) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.year, int(d.month), d.dom)
}

// Short is "Wed 25 Nov", for a page that shows the year elsewhere.
func (d Day) Short() string { return d.format("Mon 2 Jan") }

// Long is "Wednesday 25 November 2026".
func (d Day) Long() string { return d.format("Monday 2 January 2006") }

func (d Day) format(layout string) string {
	if d.IsZero() {
		return ""
	}
	return d.UTC().Format(layout)
}

// MarshalText writes the day as String does.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what Parse reads; empty is no day.
func (d *Day) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Day{}
		return nil
	}
	got, err := Parse(string(b))
	if err == nil {
		*d = got
	}
	return err
}
