package plate

import (
	"strings"
	"time"
)

// Age is when a mark of its kind was first issued. A mark may be put on a
// newer vehicle than that, not on an older one.
type Age struct {
	Year int
	// Month is March or September for a current mark, and 0 for an older one,
	// of which only the year is given.
	Month time.Month
}

// The year letters in their order. Prefixes A to Y ran from 1983 to 2001, two
// in the years 1999 and 2000 (as published by number plate dealers; S began
// in 1998, T and V in 1999). Suffixes A to Y ran from 1963 to 1982, two in
// 1967 (from memory).
const (
	prefixes = "ABCDEFGHJKLMNPRSTVWXY"
	suffixes = "ABCDEFGHJKLMNPRSTVWXY"
)

var (
	prefixYears = [...]int{
		1983, 1984, 1985, 1986, 1987, 1988, 1989, 1990, 1991, 1992, 1993,
		1994, 1995, 1996, 1997, 1998, 1999, 1999, 2000, 2000, 2001,
	}
	suffixYears = [...]int{
		1963, 1964, 1965, 1966, 1967, 1967, 1968, 1969, 1970, 1971, 1972,
		1973, 1974, 1975, 1976, 1977, 1978, 1979, 1980, 1981, 1982,
	}
)

// Age tells when marks with this one's age identifier were issued; ok is false
// when the mark has none. In a current mark the two figures are the year from
// March, or the year plus 50 from September: 12 is March 2012, 51 September
// 2001 (DVLA, INF104); 00, 01 and 50 have not been issued.
func (m Mark) Age() (a Age, ok bool) {
	switch m.Layout {
	case Current:
		n := int(m.Compact[2]-'0')*10 + int(m.Compact[3]-'0')
		switch {
		case n >= 51:
			return Age{2000 + n - 50, time.September}, true
		case n >= 2 && n <= 49:
			return Age{2000 + n, time.March}, true
		}
	case Prefix:
		if i := strings.IndexByte(prefixes, m.Compact[0]); i >= 0 {
			return Age{Year: prefixYears[i]}, true
		}
	case Suffix:
		if i := strings.IndexByte(suffixes, m.Compact[len(m.Compact)-1]); i >= 0 {
			return Age{Year: suffixYears[i]}, true
		}
	}
	return Age{}, false
}
