// Package apperr is the one kind of error that a person may read: what went
// wrong in their words, and at which field. Everything else is a fault of
// ours, logged where it is handled and shown as a plain 500.
package apperr

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Kind says whose move it is, and so which HTTP status a page or the API
// answers with.
type Kind int

// The kinds. Any error that is not an *Error counts as Internal.
const (
	Internal  Kind = iota // a fault of ours: 500
	Invalid               // the input is wrong: 422
	NotFound              // there is no such thing: 404
	Conflict              // it changed meanwhile, or exists already: 409
	Forbidden             // not yours to do: 403
	Unsigned              // sign in first: 401
	TooMany               // slow down: 429
	TooLarge              // more than we take: 413
)

// Error carries a message for a person. Fields maps a form field's name to
// the message that belongs beside it.
type Error struct {
	Kind    Kind
	Message string
	Fields  map[string]string
	Cause   error
	// Current is set on a stale edit: the record as it stands now, so that
	// the page can show both versions.
	Current any
}

func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Message)
	for _, f := range slices.Sorted(maps.Keys(e.Fields)) {
		fmt.Fprintf(&b, "; %s: %s", f, e.Fields[f])
	}
	if e.Cause != nil {
		fmt.Fprintf(&b, " (%v)", e.Cause)
	}
	return b.String()
}

// Unwrap gives the cause, which a person never sees.
func (e *Error) Unwrap() error { return e.Cause }

// New makes an error of a kind with a message.
func New(k Kind, format string, args ...any) *Error {
	return &Error{Kind: k, Message: fmt.Sprintf(format, args...)}
}

// Field makes an Invalid error for one field.
func Field(name, format string, args ...any) *Error {
	msg := fmt.Sprintf(format, args...)
	return &Error{Kind: Invalid, Message: msg, Fields: map[string]string{name: msg}}
}

// NoSuch makes a NotFound error: NoSuch("card") reads "there is no such card".
func NoSuch(thing string) *Error { return New(NotFound, "there is no such %s", thing) }

// Stale makes the Conflict of an edit made from an older version; current is
// the record as it stands now.
func Stale(thing string, current any) *Error {
	e := New(Conflict, "somebody changed this %s while you had it open", thing)
	e.Current = current
	return e
}

// KindOf tells an error's kind; Internal for anything that is not ours.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}

// Is tells whether err is of kind k.
func Is(err error, k Kind) bool { return err != nil && KindOf(err) == k }

// Fields collects messages by field while a form is read.
type Fields map[string]string

// Add notes a message unless the field has one already: the first says most.
func (f Fields) Add(name, format string, args ...any) {
	if _, ok := f[name]; !ok {
		f[name] = fmt.Sprintf(format, args...)
	}
}

// Err gives an Invalid error when any field has a message, else nil.
func (f Fields) Err() error {
	if len(f) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Message: "please look at the fields marked below", Fields: f}
}

// Merge takes the field messages of err, if it is an Invalid *Error, into f
// under prefix, and reports whether it was one.
func (f Fields) Merge(prefix string, err error) bool {
	var e *Error
	if !errors.As(err, &e) || e.Kind != Invalid {
		return false
	}
	for k, v := range e.Fields {
		f.Add(prefix+k, "%s", v)
	}
	return true
}
