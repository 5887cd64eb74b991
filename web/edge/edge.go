// Package edge is the outer ring that every request passes, pages and API
// alike: it numbers and logs the request, catches a panic, sets the security
// headers, refuses what another site sent, bounds what comes in, packs what
// goes out, and counts it all.
package edge

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/prometheus/client_golang/prometheus"
)

// Options is what the ring is made from. Log, Now and Refuse are required.
type Options struct {
	Log *slog.Logger
	Now func() time.Time
	// PublicURL is the address people type. Its origin is trusted whatever
	// the proxy in front makes of the Host header, and https in it turns on
	// Strict-Transport-Security.
	PublicURL string
	// TrustedProxies are the networks of the proxies in front, such as
	// 10.0.0.0/8. Empty: nobody is believed about whom they speak for.
	TrustedProxies []string
	// Metrics is where the counters are registered; nil counts nothing.
	Metrics prometheus.Registerer
	// PerMinute is the most requests that one client address may make in a
	// minute, 0 for 1200: ten live screens of a busy garage behind one router
	// make a quarter of that.
	PerMinute int
	// BodyLimit is the most a request may carry, in bytes, 0 for 64 MB. Each
	// form sets its own, far lower limit.
	BodyLimit int64
	// Refuse answers a request that the ring turns away or that panicked, with
	// an *apperr.Error or a fault of ours.
	Refuse func(w http.ResponseWriter, r *http.Request, err error)
}

const (
	defaultPerMinute = 1200
	defaultBodyLimit = 64 << 20
)

// Use puts the ring around everything that r serves. Call it on the root
// router, before any route. It fails on an option that cannot be meant.
func Use(r chi.Router, o Options) error {
	if o.Log == nil || o.Now == nil || o.Refuse == nil {
		return fmt.Errorf("edge: Log, Now and Refuse are required")
	}
	public, err := url.Parse(o.PublicURL)
	if err != nil || (o.PublicURL != "" && (public.Host == "" || public.Scheme != "http" && public.Scheme != "https")) {
		return fmt.Errorf("edge: the public address %q is not one like https://garage.example", o.PublicURL)
	}
	address, err := clientAddress(o.TrustedProxies)
	if err != nil {
		return err
	}
	origin, err := sameOrigin(public, o.Refuse)
	if err != nil {
		return err
	}
	pack, err := compress()
	if err != nil {
		return err
	}
	count, err := countRequests(o.Metrics, o.Now)
	if err != nil {
		return err
	}
	if o.PerMinute == 0 {
		o.PerMinute = defaultPerMinute
	}
	if o.BodyLimit == 0 {
		o.BodyLimit = defaultBodyLimit
	}
	r.Use(
		requestID,
		address,
		logRequests(o.Log, o.Now),
		count,
		headers(public.Scheme == "https"),
		pack,
		recoverPanics(o.Refuse),
		limitRate(o.PerMinute, time.Minute, o.Refuse),
		origin,
		limitBody(o.BodyLimit),
		middleware.GetHead,
	)
	return nil
}
