package edge

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// requestID numbers a request. The number is always ours: one sent along by
// the client would let it write into the log what it likes.
func requestID(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := rand.Text()[:12]
		w.Header().Set("X-Request-Id", id)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), middleware.RequestIDKey, id)))
	})
}

// clientAddress finds the address a request comes from: the peer's, or what
// the trusted proxies say of it.
func clientAddress(proxies []string) (func(http.Handler) http.Handler, error) {
	for _, p := range proxies {
		if _, err := netip.ParsePrefix(p); err != nil {
			return nil, fmt.Errorf("edge: the trusted proxy %q is not a network such as 10.0.0.0/8: %w", p, err)
		}
	}
	if len(proxies) == 0 {
		return middleware.ClientIPFromRemoteAddr, nil
	}
	return middleware.ClientIPFromXFF(proxies...), nil
}

// logRequests writes one line for each request when it is answered. It names
// the route and never the path or the query: those may hold what is nobody's
// business.
func logRequests(log *slog.Logger, now func() time.Time) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			start := now()
			ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
			// Deferred, so that a response cut off half-way has its line too.
			defer func() {
				log.LogAttrs(r.Context(), slog.LevelInfo, "request",
					slog.String("request_id", middleware.GetReqID(r.Context())),
					slog.String("method", method(r)),
					slog.String("route", route(r)),
					slog.Int("status", status(ww)),
					slog.Int("bytes", ww.BytesWritten()),
					slog.Duration("took", now().Sub(start)),
					slog.String("address", middleware.GetClientIP(r.Context())),
				)
			}()
			next.ServeHTTP(ww, r)
		})
	}
}

// route gives the pattern that a request matched, never its path: a metric or
// a log line for each path ever tried has no end.
func route(r *http.Request) string {
	if c := chi.RouteContext(r.Context()); c != nil {
		if p := c.RoutePattern(); p != "" {
			return p
		}
	}
	return "none"
}

// method gives a request's method, or "other" for one that a client made up.
func method(r *http.Request) string {
	switch r.Method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return r.Method
	}
	return "other"
}

// status gives what was answered; a handler that wrote nothing answered 200.
func status(w middleware.WrapResponseWriter) int {
	if s := w.Status(); s != 0 {
		return s
	}
	return http.StatusOK
}
