package ui

import (
	"context"
	"net/http"
	"regexp"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

type ctxKey int

const (
	whoKey ctxKey = iota
)

// Who gives the person behind a request; the zero Actor when nobody is
// signed in.
func Who(ctx context.Context) actor.Actor {
	a, _ := ctx.Value(whoKey).(actor.Actor)
	return a
}

// WithWho puts an actor into a context. The session middleware does this;
// tests may.
func WithWho(ctx context.Context, a actor.Actor) context.Context {
	return context.WithValue(ctx, whoKey, a)
}

// keyField is the hidden field, and keyHeader the header, that carries the
// key which makes a write happen once.
const (
	keyField  = "key"
	keyHeader = "Idempotency-Key"
)

var keyShape = regexp.MustCompile(`^[A-Za-z0-9_-]{16,64}$`)

// Writer gives the person behind a write with the write's key, read from the
// form's hidden field or the Idempotency-Key header. A write without one is
// refused: sent twice, it would be two changes.
func Writer(r *http.Request) (actor.Actor, error) {
	key := r.Header.Get(keyHeader)
	if key == "" {
		f := ReadForm(r)
		if f.fatal != nil {
			return actor.Actor{}, f.fatal
		}
		key = f.Get(keyField)
	}
	if !keyShape.MatchString(key) {
		return actor.Actor{}, apperr.New(apperr.Invalid,
			"this form came without the key that keeps it from being saved twice; open the page again and send it from there")
	}
	return Who(r.Context()).WithKey(key), nil
}
