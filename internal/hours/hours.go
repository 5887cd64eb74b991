// Package hours reads and writes labour time as garages put it: hours with a
// decimal, 1.6 h, where others would say an hour and thirty-six minutes. Time
// is a time.Duration of whole minutes; there is no clock in it.
package hours

import (
	"errors"
	"strconv"
	"strings"
	"time"
)

// Max is the longest time that can be entered for one line: 200 hours.
const Max = 200 * time.Hour

// Errors of Parse, fit to stand beside the field.
var (
	ErrEmpty    = errors.New("enter a time, such as 1.6 for an hour and 36 minutes")
	ErrNotHours = errors.New("enter a time in hours, such as 1.6, 1:36 or 96 min")
	ErrExact    = errors.New("give hours with at most two figures after the point")
	ErrMinutes  = errors.New("the minutes after the hours lie between 0 and 59")
	ErrRange    = errors.New("a time lies between 0 and 200 hours")
)

// Parse reads a length of labour time: decimal hours "1.6", "1.6 h", ".5"; an
// hour and a fraction "1½", "¼ h"; hours and minutes "1:36", "1h36",
// "1 h 36 min"; or minutes "96 min". Decimal hours are taken to the nearest
// whole minute. The result lies between 0 and Max.
func Parse(s string) (time.Duration, error) {
	s = strings.ToLower(strings.Trim(s, " \t\r\n\u00a0\u202f"))
	if s == "" {
		return 0, ErrEmpty
	}
	if rest, ok := cutUnit(s, "minutes", "minute", "mins", "min", "m"); ok && digits(rest) {
		return minutes("0", rest, false)
	}
	if h, m, ok := strings.Cut(s, ":"); ok {
		return minutes(h, m, true)
	}
	if h, m, ok := splitHours(s); ok {
		return minutes(h, m, true)
	}
	if rest, ok := cutUnit(s, "hours", "hour", "hrs", "hr", "h"); ok {
		s = rest
	}
	return decimal(s)
}

// splitHours reads "1h36", "1 h 36 min" into its two figures.
func splitHours(s string) (h, m string, ok bool) {
	h, m, ok = strings.Cut(s, "h")
	if !ok {
		return "", "", false
	}
	for _, rest := range []string{"ours", "our", "rs", "r"} { // of hours, hour, hrs, hr
		if cut, found := strings.CutPrefix(m, rest); found {
			m = cut
			break
		}
	}
	if cut, found := cutUnit(m, "minutes", "minute", "mins", "min", "m"); found {
		m = cut
	}
	h, m = strings.TrimSpace(h), strings.TrimSpace(m)
	return h, m, digits(h) && digits(m)
}

func cutUnit(s string, units ...string) (rest string, ok bool) {
	for _, u := range units {
		if rest, ok = strings.CutSuffix(s, u); ok {
			return strings.TrimRight(rest, " "), true
		}
	}
	return s, false
}

// minutes makes a time of hours and minutes; where they stand together the
// minutes must be below sixty.
func minutes(h, m string, clock bool) (time.Duration, error) {
	if !digits(h) || !digits(m) || (clock && len(m) > 2) {
		return 0, ErrNotHours
	}
	hours, okH := small(h)
	mins, okM := small(m)
	switch {
	case !okH || !okM:
		return 0, ErrRange
	case clock && mins > 59:
		return 0, ErrMinutes
	}
	return within(time.Duration(hours)*time.Hour + time.Duration(mins)*time.Minute)
}

// fractions are in hundredths of an hour.
var fractions = map[string]int{"¼": 25, "½": 50, "¾": 75}

func decimal(s string) (time.Duration, error) {
	if rest, ok := strings.CutPrefix(s, "-"); ok && rest != "" && digits(strings.ReplaceAll(rest, ".", "")) {
		return 0, ErrRange
	}
	whole, part, point := strings.Cut(s, ".")
	hundredths := 0
	for f, n := range fractions {
		if rest, ok := strings.CutSuffix(s, f); ok {
			whole, hundredths, part, point = strings.TrimRight(rest, " "), n, "", false
			if whole == "" {
				whole = "0"
			}
		}
	}
	if (whole != "" && !digits(whole)) || (point && !digits(part)) || (whole == "" && part == "") {
		return 0, ErrNotHours
	}
	if len(part) > 2 {
		return 0, ErrExact
	}
	if part != "" {
		hundredths, _ = strconv.Atoi((part + "0")[:2]) // two digits
	}
	hours := 0
	if whole != "" {
		n, ok := small(whole)
		if !ok {
			return 0, ErrRange
		}
		hours = n
	}
	// A hundredth of an hour is 0.6 minutes; half a minute goes up.
	total := (hours*100+hundredths)*60 + 50
	return within(time.Duration(total/100) * time.Minute)
}

func within(d time.Duration) (time.Duration, error) {
	if d > Max {
		return 0, ErrRange
	}
	return d, nil
}

// small reads digits into a number; ok is false above what Max could need.
func small(s string) (n int, ok bool) {
	for i := range len(s) {
		n = n*10 + int(s[i]-'0')
		if n > int(Max/time.Minute) {
			return 0, false
		}
	}
	return n, true
}

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// Format writes a time as "1.6 h": one decimal, or two where one would not
// give the nearest minute back. Seconds are rounded to the minute, half up.
func Format(d time.Duration) string { return FormatBare(d) + " h" }

// FormatBare is Format without the unit, for a column or a form field: "1.6",
// "0.25". Parse reads it back to the minute.
func FormatBare(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -max(d, -1<<62)
	}
	m := int64((d + time.Minute/2) / time.Minute)
	if m == 0 {
		return "0.0"
	}
	if m%6 == 0 {
		tenths := m / 6
		return sign + strconv.FormatInt(tenths/10, 10) + "." + strconv.FormatInt(tenths%10, 10)
	}
	hundredths := (m*100 + 30) / 60
	f := strconv.FormatInt(100+hundredths%100, 10)[1:]
	return sign + strconv.FormatInt(hundredths/100, 10) + "." + f
}
