package ui

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"rampside/internal/apperr"
	"rampside/internal/money"
)

// shortMax bounds, in characters, what is taken for a number, a date or a
// choice before it is read.
const shortMax = 64

// Str reads one line of text of at most limit characters, trimmed.
func (f *Form) Str(name string, limit int) string { return f.text(name, limit, false) }

// Text reads text of several lines, of at most limit characters, trimmed.
func (f *Form) Text(name string, limit int) string { return f.text(name, limit, true) }

func (f *Form) text(name string, limit int, lines bool) string {
	s, problem := clean(f.Values.Get(f.prefix+name), limit, lines)
	if problem != "" {
		f.Fail(name, "%s", problem)
	}
	return s
}

// Required notes every named field that was left empty.
func (f *Form) Required(names ...string) {
	for _, n := range names {
		if strings.TrimSpace(f.Get(n)) == "" {
			f.Fail(n, "please fill this in")
		}
	}
}

// Bool reads a checkbox: ticked, or not there at all.
func (f *Form) Bool(name string) bool {
	switch f.Str(name, shortMax) {
	case "", "off", "false", "no", "0":
		return false
	}
	return true
}

// Int reads a whole number between low and high; empty is 0 without a message,
// so ask Required where it is.
func (f *Form) Int(name string, low, high int) int {
	s := f.Str(name, shortMax)
	if s == "" {
		return 0
	}
	n, err := strconv.Atoi(strings.TrimPrefix(s, "+"))
	if err != nil {
		f.Fail(name, "a whole number, please, such as %d", max(low, min(high, 3)))
		return 0
	}
	if n < low || n > high {
		f.Fail(name, "between %d and %d, please", low, high)
		return 0
	}
	return n
}

// ID reads an identity that a page of ours put into the form; empty is 0.
func (f *Form) ID(name string) int64 {
	s := f.Str(name, shortMax)
	if s == "" {
		return 0
	}
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 1 {
		f.Fail(name, "please choose one from the list")
		return 0
	}
	return n
}

// IDs reads the identities ticked in a list of at most limit.
func (f *Form) IDs(name string, limit int) []int64 {
	var ids []int64
	for _, s := range f.Strs(name, limit, shortMax) {
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil || n < 1 {
			f.Fail(name, "please choose from the list")
			return nil
		}
		ids = append(ids, n)
	}
	return ids
}

// Strs reads the non-empty values of a field that may come more than once, at
// most count of them, each at most limit characters.
func (f *Form) Strs(name string, count, limit int) []string {
	vs := f.Values[f.prefix+name]
	if len(vs) > count {
		f.Fail(name, "at most %d, please", count)
		return nil
	}
	var out []string
	for _, v := range vs {
		s, problem := clean(v, limit, false)
		if problem != "" {
			f.Fail(name, "%s", problem)
			return nil
		}
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// OneOf reads a choice: one of the words allowed, or empty when none was made.
func OneOf[T ~string](f *Form, name string, allowed ...T) T {
	s := T(f.Str(name, shortMax))
	if s == "" || slices.Contains(allowed, s) {
		return s
	}
	f.Fail(name, "please choose one from the list")
	return ""
}

// OneOf is the reader of the same name for plain strings.
func (f *Form) OneOf(name string, allowed ...string) string { return OneOf(f, name, allowed...) }

// Read reads a field with a parser of the field's own kind, such as
// money.Parse. Empty gives the zero value. The parser's error is shown at the
// field, so its words are for a person.
func Read[T any](f *Form, name string, parse func(string) (T, error)) T {
	var zero T
	s := f.Str(name, shortMax)
	if s == "" {
		return zero
	}
	v, err := parse(s)
	if err == nil {
		return v
	}
	var e *apperr.Error
	if errors.As(err, &e) {
		f.Fail(name, "%s", e.Message)
	} else {
		f.Fail(name, "%s", err.Error())
	}
	return zero
}

// Money reads an amount as people type it; empty is 0 without a message.
func (f *Form) Money(name string) money.Minor { return Read(f, name, money.Parse) }

// Rate reads a percentage; empty is 0 without a message.
func (f *Form) Rate(name string) money.Rate { return Read(f, name, money.ParseRate) }

// Quantity reads a quantity, in thousandths; empty is 0 without a message.
func (f *Form) Quantity(name string) int64 { return Read(f, name, money.ParseQuantity) }

// PathID reads an identity out of the address. What is no identity is a page
// that does not exist.
func PathID[T ~int64](r *http.Request, param string) (T, error) {
	n, err := strconv.ParseInt(chi.URLParam(r, param), 10, 64)
	if err != nil || n < 1 {
		return 0, apperr.New(apperr.NotFound, "there is no such page")
	}
	return T(n), nil
}
