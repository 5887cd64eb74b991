package ui

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// clean checks one value as typed: valid text, without control characters
// (but for line breaks and tabs where lines allows them), of at most limit
// characters. It gives the value trimmed, with plain line breaks.
func clean(s string, limit int, lines bool) (string, string) {
	if !utf8.ValidString(s) {
		return "", "this holds characters that are not text; please type it again"
	}
	if lines {
		s = strings.ReplaceAll(s, "\r\n", "\n")
		s = strings.ReplaceAll(s, "\r", "\n")
	}
	s = strings.TrimSpace(s)
	for _, c := range s {
		if lines && (c == '\n' || c == '\t') {
			continue
		}
		if unicode.IsControl(c) || c == '\u2028' || c == '\u2029' || (c >= '\u202A' && c <= '\u202E') || (c >= '\u2066' && c <= '\u2069') {
			return "", "this holds a character that cannot be printed; please type it again"
		}
	}
	if n := utf8.RuneCountInString(s); n > limit {
		return "", "at most " + strconv.Itoa(limit) + " characters, please; this has " + strconv.Itoa(n)
	}
	return s, ""
}
