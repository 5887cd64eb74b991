package app

import (
	"net"
	"net/http"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are this server's figures for Prometheus.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
}

func newMetrics(d Deps) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "rampside_http_request_seconds",
			Help: "Time to answer, by route, method and status.",
			Buckets: []float64{
				.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10,
			},
		}, []string{"route", "method", "status"}),
	}
	m.registry.MustRegister(
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		m.requests,
		gauge("rampside_unsafe_database_settings",
			"PostgreSQL settings under which saved changes can be lost.",
			func() float64 { return float64(len(d.Warnings)) }),
		poolGauge(d.Pool, "acquired", "Database connections in use.", (*pgxpool.Stat).AcquiredConns),
		poolGauge(d.Pool, "open", "Database connections open.", (*pgxpool.Stat).TotalConns),
		poolGauge(d.Pool, "max", "Database connections allowed.", (*pgxpool.Stat).MaxConns),
	)
	return m
}

func gauge(name, help string, f func() float64) prometheus.Collector {
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, f)
}

func poolGauge(pool *pgxpool.Pool, what, help string, f func(*pgxpool.Stat) int32) prometheus.Collector {
	return gauge("rampside_database_connections_"+what, help, func() float64 { return float64(f(pool.Stat())) })
}

// count times each request under its route's pattern: the path itself would
// make a new series for every card.
func (m *metrics) count(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		defer func() {
			route := chi.RouteContext(r.Context()).RoutePattern()
			if route == "" {
				route = "none"
			}
			m.requests.WithLabelValues(route, knownMethod(r.Method), strconv.Itoa(ww.Status())).
				Observe(time.Since(began).Seconds())
		}()
		next.ServeHTTP(ww, r)
	})
}

// knownMethod keeps invented methods from making series of their own.
func knownMethod(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete:
		return m
	}
	return "other"
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// nearby answers on the main address, to programs on this machine only. A
// request that a proxy on this machine passes on for somebody else carries
// one of the forwarding headers and is not told that there is anything here.
func (m *metrics) nearby(d Deps) http.HandlerFunc {
	h := m.handler()
	return func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.RemoteAddr)
		if ip := net.ParseIP(host); err != nil || ip == nil || !ip.IsLoopback() || forwarded(r) || d.Config.MetricsAddr != "" {
			http.NotFound(w, r)
			return
		}
		h.ServeHTTP(w, r)
	}
}

func forwarded(r *http.Request) bool {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip", "Via"} {
		if r.Header.Get(name) != "" {
			return true
		}
	}
	return false
}
