package apperr

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Line checks a line of text that somebody typed, by whatever door it came:
// real text, nothing unprintable, at most limit characters. It gives the text
// trimmed, with every run of blanks made one space, or "" with a message at
// the field.
func (f Fields) Line(name, s string, limit int) string {
	return strings.Join(strings.Fields(f.text(name, s, limit, false)), " ")
}

// Prose is Line for text of several lines; its line breaks are kept.
func (f Fields) Prose(name, s string, limit int) string {
	return strings.TrimSpace(f.text(name, s, limit, true))
}

// Must notes that a field was left empty; what names the thing, as in
// "please give the name".
func (f Fields) Must(name, value, what string) {
	if value == "" {
		f.Add(name, "please give %s", what)
	}
}

func (f Fields) text(name, s string, limit int, prose bool) string {
	if !utf8.ValidString(s) {
		f.Add(name, "this holds characters that are not text; please type it again")
		return ""
	}
	if prose {
		s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	}
	shown := false
	for _, c := range s {
		if c == '\t' || prose && c == '\n' {
			continue
		}
		if unprintable(c) {
			f.Add(name, "this holds a character that cannot be printed; please type it again")
			return ""
		}
		shown = shown || !unicode.IsSpace(c) && !unicode.Is(unicode.Cf, c)
	}
	if !shown {
		return ""
	}
	if n := utf8.RuneCountInString(strings.TrimSpace(s)); n > limit {
		f.Add(name, "at most %d characters, please; this has %d", limit, n)
		return ""
	}
	return s
}

// unprintable are the characters that no field takes: controls, and those
// that turn the direction of the text around them.
func unprintable(c rune) bool {
	return unicode.IsControl(c) || c == '\u2028' || c == '\u2029' || c == '\uFEFF' ||
		(c >= '\u202A' && c <= '\u202E') || (c >= '\u2066' && c <= '\u2069')
}
