package books

import (
	"time"

	"rampside/internal/apperr"
	"rampside/internal/workday"
)

// Period is some days of the garage, both included.
type Period struct{ From, To workday.Day }

// longestPeriod is how many days may be asked for at once: a year and the days
// around it.
const longestPeriod = 400

// Check tells whether a period can be asked for; the messages stand at from
// and to.
func (p Period) Check() error { return p.checkAs("from", "to") }

func (p Period) checkAs(from, to string) error {
	f := apperr.Fields{}
	for name, d := range map[string]workday.Day{from: p.From, to: p.To} {
		y, _, _ := d.Date()
		switch {
		case d.IsZero():
			f.Add(name, "%s", workday.ErrNoDay)
		case y < workday.FirstYear || y > workday.LastYear:
			f.Add(name, "%s", workday.ErrYear)
		}
	}
	if err := f.Err(); err != nil {
		return err
	}
	switch {
	case p.To.Before(p.From):
		f.Add(to, "the last day is before the first")
	case p.From.DaysUntil(p.To) >= longestPeriod:
		f.Add(to, "at most %d days at once", longestPeriod)
	}
	return f.Err()
}

// Bounds are the moments between which the period lies in a zone, the second
// one excluded: a day has 23 or 25 hours where the clocks change.
func (p Period) Bounds(loc *time.Location) (from, before time.Time) {
	from, _ = workday.Bounds(p.From, loc)
	_, before = workday.Bounds(p.To, loc)
	return from, before
}

// Has tells whether a day lies in the period.
func (p Period) Has(d workday.Day) bool { return !d.Before(p.From) && !d.After(p.To) }

// Month is the calendar month that a day lies in.
func Month(d workday.Day) Period {
	_, _, dom := d.Date()
	first := d.AddDays(1 - dom)
	last := first.AddDays(27)
	for {
		if _, _, dom := last.AddDays(1).Date(); dom == 1 {
			return Period{first, last}
		}
		last = last.AddDays(1)
	}
}

// Quarter is the three calendar months, from January, that a day lies in.
// Periods for VAT may begin in other months; then the days are given.
func Quarter(d workday.Day) Period {
	p := Month(d)
	for p.month()%3 != time.January {
		p.From = Month(p.From.AddDays(-1)).From
	}
	p.To = Month(p.From.AddDays(65)).To
	return p
}

// Year is the twelve months from the first of a month on.
func Year(from workday.Day) Period {
	p := Month(from)
	for range 11 {
		p.To = Month(p.To.AddDays(1)).To
	}
	return p
}

func (p Period) month() time.Month { _, m, _ := p.From.Date(); return m }

// Before is the period of the same kind before one.
func (p Period) Before(kind func(workday.Day) Period) Period { return kind(p.From.AddDays(-1)) }
