// Package plate reads registration marks: how a mark is written, which layout
// it has, and a key by which any spelling of it finds the car. The layouts are
// the United Kingdom's; a mark of another country is taken as it is typed.
package plate

import (
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxLength is the most letters and figures a mark may have.
const MaxLength = 12

// Errors of Parse, fit to stand beside the field.
var (
	ErrEmpty = errors.New("enter the registration mark")
	ErrLong  = errors.New("a registration mark has at most 12 letters and figures")
	ErrOdd   = errors.New("a registration mark has only letters and figures")
)

// Mark is a registration mark. Compact is how it is stored, letters and
// figures only; Display is how it is written. Note says what may be wrong or
// what is not known, and is empty as a rule. Alternatives are other marks that
// were perhaps meant, as O and 0, I and 1 look alike.
type Mark struct {
	Compact      string
	Display      string
	Layout       Layout
	Note         string
	Alternatives []string
}

// Parse reads a mark in any spelling. Blanks, hyphens, points and case do not
// matter. An O typed for a 0, or an I for a 1, is put right where the layout
// leaves no choice (bd5i smr is BD51 SMR); otherwise the mark stays as typed
// and Alternatives lists what else it may be. Only an empty entry, one that is
// too long and one with other characters are refused.
func Parse(s string) (Mark, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return Mark{}, ErrEmpty
	}
	if len(s) > 10*MaxLength { // room for blanks between letters of any script
		return Mark{}, ErrLong
	}
	for _, r := range s {
		if !inMark(r) && !between(r) || r == utf8.RuneError {
			return Mark{}, ErrOdd
		}
	}
	compact := Normalise(s)
	switch n := utf8.RuneCountInString(compact); {
	case n == 0:
		return Mark{}, ErrEmpty
	case n > MaxLength:
		return Mark{}, ErrLong
	}
	return classify(s, compact), nil
}

func classify(typed, compact string) Mark {
	var as *shape       // the shape it has as typed
	var fixed []string  // marks of dated layouts it may be
	var loose []string  // marks of other layouts it may be
	var fixedAs []shape // their shapes
	for _, s := range shapes {
		if s.exact(compact) {
			as = &s
			continue
		}
		m, ok := s.read(compact)
		switch {
		case !ok || !s.plausible(m):
		case s.dated():
			fixed, fixedAs = append(fixed, s.render(m)), append(fixedAs, s)
		default:
			loose = append(loose, s.render(m))
		}
	}
	if as == nil && len(fixed) == 1 {
		m, _ := fixedAs[0].read(compact)
		return mark(fixedAs[0], m, loose)
	}
	alternatives := append(fixed, loose...)
	if as != nil {
		return mark(*as, compact, alternatives)
	}
	m := Mark{Compact: compact, Display: tidy(typed), Layout: Other, Alternatives: alternatives}
	m.Note = "not a layout of the United Kingdom: kept as typed"
	if len(alternatives) > 0 {
		m.Note = "kept as typed: O and 0, or I and 1, may have been mistaken"
	}
	return m
}

func mark(s shape, compact string, alternatives []string) Mark {
	m := Mark{Compact: compact, Display: s.render(compact), Layout: s.layout, Alternatives: alternatives}
	m.Note = s.doubt(compact)
	if m.Note == "" && s.layout == Prefix && compact[0] == 'Q' {
		m.Note = "Q: the age of the vehicle is not known"
	}
	if _, known := m.Age(); m.Note == "" && s.layout == Current && !known {
		m.Note = "the age number " + compact[2:4] + " has not been issued: look again"
	}
	return m
}

// Normalise leaves the letters and figures of s, in upper case.
func Normalise(s string) string {
	return strings.Map(func(r rune) rune {
		if !inMark(r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, s)
}

// Key is by what a mark is found: Normalise with the letters that look like
// figures turned into them, O into 0 and I into 1. Two marks that differ only
// in those have the same key, so it finds a car but does not identify it. It
// takes any part of a mark too, for a search while typing.
func Key(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case 'O':
			return '0'
		case 'I':
			return '1'
		}
		return r
	}, Normalise(s))
}

// inMark tells whether r may be part of a mark: a letter of any script, since
// cars come from abroad, or a figure.
func inMark(r rune) bool { return r >= '0' && r <= '9' || unicode.IsLetter(r) && r != utf8.RuneError }

// between tells whether r may stand between the parts of a mark.
func between(r rune) bool {
	switch r {
	case ' ', '\t', '\u00a0', '-', '\u2010', '\u2011', '\u2013', '.', '\u00b7', '\u2022':
		return true
	}
	return false
}

// tidy is a mark as typed, in upper case and with single blanks.
func tidy(s string) string {
	return strings.Join(strings.Fields(strings.Map(unicode.ToUpper, s)), " ")
}
