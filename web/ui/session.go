package ui

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/chi/v5/middleware"

	"rampside/internal/actor"
	"rampside/static"
)

// Presented is what a browser shows to be recognised.
type Presented struct {
	// Token is the session cookie's value, empty when there is none.
	Token string
	// Device is the enrolled tablet's cookie's value, empty when there is none.
	Device string
	// Address is the client's address, and Agent its User-Agent header.
	Address string
	Agent   string
}

// Sessions tells who stands behind what a browser presents. A token that is
// unknown, expired or ended gives the zero Actor and no error: an error is a
// fault of ours. An enrolled tablet at which nobody is signed in gives an
// Actor with DeviceID and Device set and no Role.
type Sessions interface {
	Actor(ctx context.Context, p Presented) (actor.Actor, error)
}

const deviceCookie = "rampside-device"

func (k *Kit) sessionCookie() string { return k.prefixed("rampside") }
func (k *Kit) deviceCookie() string  { return k.prefixed(deviceCookie) }

// prefixed gives the name that browsers accept only from this very host over
// https, where we are on https.
func (k *Kit) prefixed(name string) string {
	if k.secure {
		return "__Host-" + name
	}
	return name
}

// Session is the middleware that finds out who is asking. It goes after the
// outer ring, which knows the client's address and the request's id.
func (k *Kit) Session(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// The bundle is the same for everybody.
		if strings.HasPrefix(r.URL.Path, static.Prefix) {
			next.ServeHTTP(w, r)
			return
		}
		p := k.Presented(r)
		var who actor.Actor
		if p.Token != "" || p.Device != "" {
			var err error
			if who, err = k.sessions.Actor(r.Context(), p); err != nil {
				k.Fail(w, r, err)
				return
			}
		}
		who.Via = actor.ViaPage
		who.RequestID = middleware.GetReqID(r.Context())
		if who.Device == "" {
			who.Device = p.Address
		}
		next.ServeHTTP(w, r.WithContext(WithWho(r.Context(), who)))
	})
}

// Presented reads the cookies and the rest of what Sessions needs.
func (k *Kit) Presented(r *http.Request) Presented {
	return Presented{
		Token:   cookieValue(r, k.sessionCookie()),
		Device:  cookieValue(r, k.deviceCookie()),
		Address: middleware.GetClientIP(r.Context()),
		Agent:   r.UserAgent(),
	}
}

// tokenMax bounds what is taken as a token before it is hashed and looked up.
const tokenMax = 200

func cookieValue(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil || len(c.Value) > tokenMax {
		return ""
	}
	return c.Value
}

// SetSession hands the browser its session token until the time given.
func (k *Kit) SetSession(w http.ResponseWriter, token string, until time.Time) {
	k.setCookie(w, k.sessionCookie(), token, until)
}

// ClearSession takes the session back and asks the browser to forget the
// pages it saw.
func (k *Kit) ClearSession(w http.ResponseWriter) {
	k.setCookie(w, k.sessionCookie(), "", time.Time{})
	w.Header().Set("Clear-Site-Data", `"cache"`)
}

// SetDevice makes this browser an enrolled tablet; a zero until undoes it.
func (k *Kit) SetDevice(w http.ResponseWriter, token string, until time.Time) {
	k.setCookie(w, k.deviceCookie(), token, until)
}

// setCookie sets or, with a zero until, removes a cookie. Age is given in
// seconds besides the date, for tablets whose clock is wrong.
func (k *Kit) setCookie(w http.ResponseWriter, name, value string, until time.Time) {
	c := &http.Cookie{
		Name: name, Value: value, Path: "/", HttpOnly: true, Secure: k.secure, SameSite: http.SameSiteLaxMode,
	}
	if until.IsZero() {
		c.MaxAge = -1
	} else {
		c.Expires = until
		c.MaxAge = max(1, int(until.Sub(k.now())/time.Second))
	}
	http.SetCookie(w, c)
}
