package edge

import (
	"fmt"
	"net/http"
	"net/url"
	"runtime/debug"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/httprate"

	"rampside/internal/apperr"
)

// Policy is the Content-Security-Policy of every response: nothing but what
// this server itself serves, no code or style inside a page, and no frame
// around it.
const Policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"

// headers sets, before anything else can answer, what holds for every
// response: errors and static files too.
func headers(https bool) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			h := w.Header()
			h.Set("Content-Security-Policy", Policy)
			h.Set("X-Content-Type-Options", "nosniff")
			h.Set("Referrer-Policy", "same-origin")
			h.Set("X-Frame-Options", "DENY")
			h.Set("Cross-Origin-Opener-Policy", "same-origin")
			h.Set("Cross-Origin-Resource-Policy", "same-origin")
			h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=(), usb=()")
			if https {
				h.Set("Strict-Transport-Security", "max-age=31536000; includeSubDomains")
			}
			next.ServeHTTP(w, r)
		})
	}
}

// sameOrigin refuses a write that a browser makes on behalf of another site.
// A caller that is no browser sends neither header and is let through: it has
// no cookies of ours to abuse.
func sameOrigin(public *url.URL, refuse func(http.ResponseWriter, *http.Request, error)) (func(http.Handler) http.Handler, error) {
	c := http.NewCrossOriginProtection()
	if public.Host != "" {
		if err := c.AddTrustedOrigin(public.Scheme + "://" + public.Host); err != nil {
			return nil, fmt.Errorf("edge: public address: %w", err)
		}
	}
	c.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		refuse(w, r, apperr.New(apperr.Forbidden, "that was sent from another site, so nothing was done; open the page here and send it again"))
	}))
	return c.Handler, nil
}

// recoverPanics turns a panic into a plain fault. A response already begun is
// cut off instead, so that nobody takes half a page for the whole.
func recoverPanics(refuse func(http.ResponseWriter, *http.Request, error)) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
			defer func() {
				p := recover()
				if p == nil {
					return
				}
				if p == http.ErrAbortHandler || ww.Status() != 0 {
					panic(http.ErrAbortHandler)
				}
				refuse(w, r, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
			}()
			next.ServeHTTP(ww, r)
		})
	}
}

// limitBody bounds what a request may carry. A handler that reads further gets
// an error; the connection is closed after it.
func limitBody(limit int64) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.Body != nil {
				r.Body = http.MaxBytesReader(w, r.Body, limit)
			}
			next.ServeHTTP(w, r)
		})
	}
}

// Limit lets each client address through at most n times in a window; what is
// over is refused with TooMany. Put it before a route that is worth guessing
// at. The count is this process's own and is lost with it.
func Limit(n int, window time.Duration, refuse func(http.ResponseWriter, *http.Request, error)) func(http.Handler) http.Handler {
	return limitRate(n, window, refuse)
}

func limitRate(n int, window time.Duration, refuse func(http.ResponseWriter, *http.Request, error)) func(http.Handler) http.Handler {
	return httprate.LimitBy(n, window,
		func(r *http.Request) (string, error) {
			return httprate.CanonicalizeIP(middleware.GetClientIP(r.Context())), nil
		},
		// Only the header that tells when to come back: the others tell a
		// guesser how far to go.
		httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"}),
		httprate.WithLimitHandler(func(w http.ResponseWriter, r *http.Request) {
			wait := w.Header().Get("Retry-After")
			if _, err := strconv.Atoi(wait); err != nil {
				wait = strconv.Itoa(int(window / time.Second))
			}
			refuse(w, r, apperr.New(apperr.TooMany, "too many requests came from your address; please wait %s seconds", wait))
		}),
	)
}
