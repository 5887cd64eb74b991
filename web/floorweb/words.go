package floorweb

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"rampside/internal/workday"
)

// joined makes one line of several remarks.
func joined(words []string) string { return strings.Join(words, " · ") }

// sentence begins a remark with a capital and ends it with a stop.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return ""
	}
	s = string(unicode.ToUpper(r)) + s[n:]
	if last, _ := utf8.DecodeLastRuneInString(s); strings.ContainsRune(".!?:", last) {
		return s
	}
	return s + "."
}

// clockIn writes a moment as the clock in loc shows it, with the day unless
// that is today.
func clockIn(t time.Time, loc *time.Location, today workday.Day) string {
	c := workday.FormatClock(workday.ClockOf(t, loc))
	if d := workday.Of(t, loc); d != today {
		return d.Short() + " " + c
	}
	return c
}

// cut is text of at most n characters.
func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}
