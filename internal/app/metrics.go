package app

import (
	"net"
	"net/http"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are this server's figures for Prometheus.
type metrics struct {
	registry *prometheus.Registry
}

func newMetrics(d Deps) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
	}
	m.registry.MustRegister(
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
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
