package edge

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/prometheus/client_golang/prometheus"
)

// countRequests measures every answer by route, method and status. A stream
// lives for minutes by design and would drown the rest, so those are counted
// only while they are open.
func countRequests(to prometheus.Registerer, now func() time.Time) (func(http.Handler) http.Handler, error) {
	if to == nil {
		return func(next http.Handler) http.Handler { return next }, nil
	}
	took := prometheus.NewHistogramVec(prometheus.HistogramOpts{
		Name:    "rampside_http_request_seconds",
		Help:    "Time to answer a request, by route pattern.",
		Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10},
	}, []string{"route", "method", "status"})
	open := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "rampside_http_requests_open",
		Help: "Requests being answered, live streams included.",
	})
	for _, c := range []prometheus.Collector{took, open} {
		if err := to.Register(c); err != nil {
			return nil, err
		}
	}
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			start := now()
			open.Inc()
			defer open.Dec()
			ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
			defer func() {
				if !strings.HasPrefix(ww.Header().Get("Content-Type"), "text/event-stream") {
					took.WithLabelValues(route(r), method(r), strconv.Itoa(status(ww))).Observe(now().Sub(start).Seconds())
				}
			}()
			next.ServeHTTP(ww, r)
		})
	}, nil
}
