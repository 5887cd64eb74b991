package fact

import (
	"errors"
	"time"
)

// The years that a date may lie in.
const (
	FirstYear = 1885
	LastYear  = 2199
)

var dateForms = []struct{ layout, kept string }{
	{"2006-01-02", "2006-01-02"},
	{"2/1/2006", "2006-01-02"},
	{"2.1.2006", "2006-01-02"},
	{"2 Jan 2006", "2006-01-02"},
	{"2 January 2006", "2006-01-02"},
	{"2006-01", "2006-01"},
	{"1/2006", "2006-01"},
	{"1.2006", "2006-01"},
	{"2006/01", "2006-01"},
	{"Jan 2006", "2006-01"},
	{"January 2006", "2006-01"},
	{"2006", "2006"},
}

func partDate(v string) (string, error) {
	for _, d := range dateForms {
		if t, err := time.Parse(d.layout, v); err == nil && t.Year() >= FirstYear && t.Year() <= LastYear {
			return t.Format(d.kept), nil
		}
	}
	return "", errors.New("a date, please, such as 14/3/2019, or 3/2019 or 2019 where no more is known")
}

func shownDate(value string) string {
	for _, d := range []struct{ kept, shown string }{{"2006-01-02", "2 Jan 2006"}, {"2006-01", "Jan 2006"}} {
		if t, err := time.Parse(d.kept, value); err == nil {
			return t.Format(d.shown)
		}
	}
	return value
}

// Days are the first and the last day that a cleaned date may mean, counted
// from 1 January 1970: both the same where the day is known. ok is false for
// what is no cleaned date.
func Days(value string) (first, last int, ok bool) {
	y, ok := digits(value, 0, 4)
	if !ok {
		return 0, 0, false
	}
	from, to := time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(y, 12, 31, 0, 0, 0, 0, time.UTC)
	if len(value) >= 7 {
		m, ok := digits(value, 5, 2)
		if !ok || value[4] != '-' || m < 1 || m > 12 {
			return 0, 0, false
		}
		from, to = time.Date(y, time.Month(m), 1, 0, 0, 0, 0, time.UTC), time.Date(y, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC)
	}
	if len(value) == 10 {
		d, ok := digits(value, 8, 2)
		if !ok || value[7] != '-' || d < 1 || d > to.Day() {
			return 0, 0, false
		}
		from = time.Date(y, from.Month(), d, 0, 0, 0, 0, time.UTC)
		to = from
	}
	if n := len(value); n != 4 && n != 7 && n != 10 {
		return 0, 0, false
	}
	return int(from.Unix() / secondsADay), int(to.Unix() / secondsADay), true
}

const secondsADay = 24 * 60 * 60

// Day writes a day that is counted from 1 January 1970 as a cleaned date.
func Day(n int) string { return time.Unix(int64(n)*secondsADay, 0).UTC().Format("2006-01-02") }

func digits(s string, at, n int) (int, bool) {
	if len(s) < at+n {
		return 0, false
	}
	v := 0
	for _, c := range []byte(s[at : at+n]) {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return v, true
}
