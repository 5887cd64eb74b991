package workday

import (
	"errors"
	"strings"
	"sync"
	"time"
)

// ErrZone says that a zone is not one of the IANA database.
var ErrZone = errors.New("choose a time zone by its name, such as Europe/London")

// Zone finds a zone by its IANA name. The machine's own zone ("Local", or no
// name) is refused: the garage's day must not depend on the server.
func Zone(name string) (*time.Location, error) {
	if name == "" || strings.EqualFold(name, "local") {
		return nil, ErrZone
	}
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location), nil
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, ErrZone
	}
	zones.Store(name, loc)
	return loc, nil
}

// zones are those found so far: time.LoadLocation reads a file each time. Only
// names of the database get in, so there are a few hundred at most.
var zones sync.Map

// Bounds is the garage's day as a span of real time, [start, end): from its
// first moment to the first moment of the next day. On the days the clocks
// change it lasts 23 or 25 hours, not 24. Where the change skips midnight, the
// day starts with the first moment after it; where midnight comes twice, with
// the first. A date that a zone left out altogether lasts no time.
func Bounds(d Day, loc *time.Location) (start, end time.Time) {
	return starts(d, loc), starts(d.AddDays(1), loc)
}

// BoundsSpan is Bounds as a Span.
func BoundsSpan(d Day, loc *time.Location) Span {
	start, end := Bounds(d, loc)
	return Span{start, end}
}

func starts(d Day, loc *time.Location) time.Time {
	at, skipped := moments(d, 0, loc)
	if len(at) > 0 {
		return at[0]
	}
	return skipped
}

// At is the moment at which the clock shows c on d in loc. A time that the
// clock skips is taken with the offset from before the change, so 01:30 on the
// morning that starts summer time is 02:30; a time that comes twice is the
// first of the two (RFC 5545, section 3.3.5, says both).
func At(d Day, c Clock, loc *time.Location) time.Time {
	at, skipped := moments(d, c, loc)
	if len(at) > 0 {
		return at[0]
	}
	wall := wallClock(d, c)
	_, before := skipped.Add(-time.Nanosecond).In(loc).Zone()
	return wall.Add(-time.Duration(before) * time.Second).In(loc)
}

func wallClock(d Day, c Clock) time.Time { return d.UTC().Add(time.Duration(c) * time.Minute) }

// moments finds every moment at which the clock shows c on d, earliest first:
// one as a rule, two when the clock goes back over it. When it is skipped there
// is none, and skipped is the moment of the change that skipped it.
//
// It walks the zone's offsets around that time and asks of each whether it was
// in force at the moment it gives.
func moments(d Day, c Clock, loc *time.Location) (at []time.Time, skipped time.Time) {
	const reach = 26 * time.Hour // more than any offset from UTC
	wall := wallClock(d, c)
	for t := wall.Add(-reach).In(loc); ; {
		_, offset := t.Zone()
		start, end := t.ZoneBounds()
		moment := wall.Add(-time.Duration(offset) * time.Second).In(loc)
		switch {
		case !start.IsZero() && moment.Before(start):
			// The offset had not begun. If no earlier one fitted either, the
			// change between them skipped the time.
			if len(at) == 0 && skipped.IsZero() {
				skipped = start
			}
		case end.IsZero() || moment.Before(end):
			at = append(at, moment)
		}
		if end.IsZero() || end.After(wall.Add(reach)) {
			return at, skipped
		}
		t = end
	}
}

// ParseWhen reads a promise: a date as Parse reads it and a time of day as
// ParseClock does. The error is of one or the other.
func ParseWhen(date, clock string, loc *time.Location) (time.Time, error) {
	d, err := Parse(date)
	if err != nil {
		return time.Time{}, err
	}
	c, err := ParseClock(clock)
	if err != nil {
		return time.Time{}, err
	}
	return At(d, c, loc), nil
}

// ParseMoment reads a date and a time of day from one field, parted by a blank
// or the letter T: "2026-11-25T16:40", "25/11/2026 16:40".
func ParseMoment(s string, loc *time.Location) (time.Time, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return time.Time{}, ErrNoDay
	}
	date, clock, _ := strings.Cut(strings.Replace(s, "T", " ", 1), " ")
	return ParseWhen(date, clock, loc)
}
