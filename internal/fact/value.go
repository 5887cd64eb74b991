package fact

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ValueMax is the most characters that a value takes.
const ValueMax = 80

// Clean checks a value and gives it in the one form in which it is kept and
// compared: figures without unit or idle noughts, choices in the vocabulary's
// words, codes in capitals, dates as 2019-03-14, 2019-03 or 2019. The error's
// words are fit to stand beside the field.
func (k Key) Clean(value string) (string, error) {
	v, err := line(value)
	if err != nil {
		return "", err
	}
	if v == "" {
		return "", fmt.Errorf("please give the %s", strings.ToLower(k.Label))
	}
	switch k.Kind {
	case Number:
		return k.number(v)
	case Choice:
		return k.choice(v)
	case Date:
		return partDate(v)
	case Tyre:
		return tyreSize(v)
	case Pattern:
		return studPattern(v)
	case Chassis:
		return chassis(v)
	}
	return strings.ToUpper(v), nil
}

// line is one line of real text with its blanks made single spaces.
func line(s string) (string, error) {
	if !utf8.ValidString(s) {
		return "", errors.New("this holds characters that are not text; please type it again")
	}
	shown := false
	for _, c := range s {
		if c == '\t' {
			continue
		}
		if unicode.IsControl(c) || c == '\u2028' || c == '\u2029' || c == '\uFEFF' ||
			(c >= '\u202A' && c <= '\u202E') || (c >= '\u2066' && c <= '\u2069') {
			return "", errors.New("this holds a character that cannot be printed; please type it again")
		}
		shown = shown || !unicode.IsSpace(c) && !unicode.Is(unicode.Cf, c)
	}
	if !shown {
		return "", nil
	}
	if n := utf8.RuneCountInString(strings.TrimSpace(s)); n > ValueMax {
		return "", fmt.Errorf("at most %d characters, please; this has %d", ValueMax, n)
	}
	return strings.Join(strings.Fields(s), " "), nil
}

// choice takes an option in any case, or the only one that begins with what
// was typed.
func (k Key) choice(v string) (string, error) {
	var near []string
	for _, o := range k.Options {
		if strings.EqualFold(o, v) {
			return o, nil
		}
		if strings.HasPrefix(strings.ToLower(o), strings.ToLower(v)) {
			near = append(near, o)
		}
	}
	if len(near) == 1 {
		return near[0], nil
	}
	return "", fmt.Errorf("one of these, please: %s", strings.Join(k.Options, ", "))
}

// Agree tells whether two cleaned values can both be true: they are equal, or
// one is the less exact form of the other (2019 and 2019-03; a tyre size with
// and without its load index; the end of a chassis number and all of it).
func (k Key) Agree(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	return a == b || k.Finer(b, a)
}

// Finer tells whether the cleaned value a says the same as b and more.
func (k Key) Finer(a, b string) bool {
	switch k.Kind {
	case Date:
		return strings.HasPrefix(a, b+"-")
	case Tyre:
		return strings.HasPrefix(a, b+" ")
	case Chassis:
		return len(a) > len(b) && strings.HasSuffix(a, b)
	}
	return false
}

// Shown is a cleaned value as a page writes it, with its unit.
func (k Key) Shown(value string) string {
	if k.Kind == Date {
		return shownDate(value)
	}
	return value + spaced(k.Unit)
}
