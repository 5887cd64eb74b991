package ui

import (
	"errors"
	"net/http"

	"rampside/internal/apperr"
)

// Stale is what the page of an edit that came too late shows.
type Stale struct {
	// Thing is what was edited, in the words of the page: "line".
	Thing string
	// Action is where the edit is posted again, and Back where the thing is
	// seen as it stands.
	Action string
	Back   string
	// Version is the version that stands now.
	Version int64
	Rows    []StaleRow
	// Keep are further fields that the form needs, carried along unseen.
	Keep []Carried
}

// Carried is a hidden field of a form.
type Carried struct{ Name, Value string }

// StaleRow is one field in both versions.
type StaleRow struct {
	Name   string
	Label  string
	Theirs string
	Yours  string
	// Long makes it a field of several lines; Options a choice.
	Long    bool
	Options []Option
}

func (r StaleRow) theirs() string {
	if r.Theirs == "" {
		return "nothing"
	}
	return r.Theirs
}

func (r StaleRow) differs() bool { return r.Theirs != r.Yours }

func (r StaleRow) class() string {
	if r.differs() {
		return "differs"
	}
	return "same"
}

// IsStale gives the record as it stands now when err says that an edit came
// too late.
func IsStale[T any](err error) (T, bool) {
	var zero T
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict || e.Current == nil {
		return zero, false
	}
	now, ok := e.Current.(T)
	return now, ok
}

// Stale answers a post with both versions, at 409.
func (k *Kit) Stale(w http.ResponseWriter, r *http.Request, s Stale) error {
	s.Action, s.Back = LocalPath(s.Action), LocalPath(s.Back)
	return k.Render(w, r, http.StatusConflict, stalePage(k.Page(r, "Changed meanwhile", ""), s))
}
