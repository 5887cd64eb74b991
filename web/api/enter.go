package api

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"unicode/utf8"

	"github.com/go-chi/chi/v5/middleware"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

type whoKey struct{}

// whoAsks is the actor that the guard let in.
func whoAsks(ctx context.Context) actor.Actor {
	who, _ := ctx.Value(whoKey{}).(actor.Actor)
	return who
}

const (
	keyHeader = "Idempotency-Key"
	// keyMax leaves room for the token's name before the key, within what is
	// kept of a key.
	keyMax = 120
)

// enter tells who asks, with the key of the write, or why they may not; who
// they are is told even then, where it is known, for the log. The address is looked at last: it tells a stranger nothing.
func (a *API) enter(r *http.Request, o operation) (actor.Actor, error) {
	token, err := tokenOf(r)
	if err != nil {
		return actor.Actor{}, err
	}
	who, err := a.Accounts.ActorByToken(r.Context(), token)
	if err != nil {
		return actor.Actor{}, err
	}
	who.RequestID = middleware.GetReqID(r.Context())
	if err := who.Need(o.need); err != nil {
		return who, err
	}
	if err := plainAddress(r.URL); err != nil {
		return who, err
	}
	if !o.writes() {
		return who, nil
	}
	key, err := keyOf(r, who)
	return who.WithKey(key), err
}

func tokenOf(r *http.Request) (string, error) {
	scheme, token, ok := strings.Cut(strings.TrimSpace(r.Header.Get("Authorization")), " ")
	if !ok || !strings.EqualFold(scheme, "Bearer") || strings.TrimSpace(token) == "" {
		return "", apperr.New(apperr.Unsigned, "send a token: Authorization: Bearer rmp_…")
	}
	return strings.TrimSpace(token), nil
}

// keyOf gives the write's key, empty when there is none. It is kept behind the
// token's name: two programs that count from one do not meet, and neither
// meets a page.
func keyOf(r *http.Request, who actor.Actor) (string, error) {
	all := r.Header.Values(keyHeader)
	if len(all) == 0 {
		return "", nil
	}
	key := strings.TrimSpace(all[0])
	odd := func(c rune) bool { return c < '!' || c > '~' }
	if len(all) > 1 || key == "" || len(key) > keyMax || strings.ContainsFunc(key, odd) {
		return "", headerError(keyHeader, "one key of 1 to 120 visible characters without blanks, such as a UUID")
	}
	return "api:" + who.Device + ":" + key, nil
}

// plainAddress refuses an address that is not text: it would be looked for in
// the database.
func plainAddress(u *url.URL) error {
	q, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return malformed("the address holds parameters that cannot be read")
	}
	if !isText(u.Path) {
		return apperr.New(apperr.NotFound, "there is nothing at this address")
	}
	for name, values := range q {
		if !isText(name) {
			return malformed("the address holds parameters that are not text")
		}
		for _, v := range values {
			if !isText(v) {
				return parameterError(name, "this holds characters that are not text")
			}
		}
		if len(values) > 1 {
			return parameterError(name, "this was given more than once")
		}
	}
	return nil
}

func isText(s string) bool { return utf8.ValidString(s) && !strings.ContainsRune(s, 0) }

// asked is a request with whoever asks in it.
func asked(r *http.Request, who actor.Actor) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), whoKey{}, who))
}
