package ui

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
)

// Handler answers a request or returns why it could not. An *apperr.Error is
// shown with its own message and status; anything else is a plain 500.
type Handler func(w http.ResponseWriter, r *http.Request) error

// Declared is one route with who may use it. Exactly one of Need and Why is
// set: Why is the reason a public route needs no sign-in.
type Declared struct {
	Method  string
	Pattern string
	Need    actor.Right
	Why     string
}

// Declared lists every route registered through the kit, for the test that
// holds the router to it.
func (k *Kit) Declared() []Declared { return slices.Clone(k.declared) }

// Get registers a page for those with the right. The pattern is the whole
// path: register on the root router or an inline group of it, never inside
// Route or Mount, so that the declaration equals what the router walks.
func (k *Kit) Get(r chi.Router, pattern string, need actor.Right, h Handler) {
	k.guarded(r, http.MethodGet, pattern, need, h)
}

// Post registers a write for those with the right.
func (k *Kit) Post(r chi.Router, pattern string, need actor.Right, h Handler) {
	k.guarded(r, http.MethodPost, pattern, need, h)
}

// Public registers a route that needs no sign-in and says why.
func (k *Kit) Public(r chi.Router, method, pattern, why string, h Handler) {
	if why == "" {
		panic("ui: a public route says why: " + pattern)
	}
	k.declared = append(k.declared, Declared{Method: method, Pattern: pattern, Why: why})
	r.Method(method, pattern, k.adapt(h))
}

func (k *Kit) guarded(r chi.Router, method, pattern string, need actor.Right, h Handler) {
	if need == "" {
		panic("ui: a route says who may: " + pattern)
	}
	k.declared = append(k.declared, Declared{Method: method, Pattern: pattern, Need: need})
	r.Method(method, pattern, k.adapt(func(w http.ResponseWriter, r *http.Request) error {
		if err := Who(r.Context()).Need(need); err != nil {
			return err
		}
		return h(w, r)
	}))
}

func (k *Kit) adapt(h Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			k.Fail(w, r, err)
		}
	})
}
