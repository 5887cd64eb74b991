package edge_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/prometheus/client_golang/prometheus"

	"rampside/internal/apperr"
	"rampside/web/edge"
)

type logbook struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logbook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logbook) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

type rig struct {
	router *chi.Mux
	log    *logbook
}

func newRig(t *testing.T, change func(*edge.Options)) *rig {
	t.Helper()
	g := &rig{router: chi.NewRouter(), log: &logbook{}}
	o := edge.Options{
		Log: slog.New(slog.NewJSONHandler(g.log, nil)), Now: time.Now, PublicURL: "https://jobs.saltmarsh.example",
		Refuse: func(w http.ResponseWriter, _ *http.Request, err error) {
			w.WriteHeader(apperr.KindOf(err).Status())
			_, _ = io.WriteString(w, "refused")
		},
	}
	if change != nil {
		change(&o)
	}
	if err := edge.Use(g.router, o); err != nil {
		t.Fatal(err)
	}
	g.router.Get("/cards/{card}", func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.WriteString(w, middleware.GetClientIP(r.Context()))
	})
	g.router.Post("/cards/{card}", func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.Copy(io.Discard, r.Body); err != nil {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
			return
		}
		w.WriteHeader(http.StatusNoContent)
	})
	g.router.Get("/size/{n}", func(w http.ResponseWriter, r *http.Request) {
		var n int
		_, _ = fmt.Sscan(chi.URLParam(r, "n"), &n)
		w.Header().Set("Content-Type", r.URL.Query().Get("type"))
		_, _ = w.Write(bytes.Repeat([]byte("a"), n))
	})
	g.router.Get("/panic", func(http.ResponseWriter, *http.Request) { panic("a nut fell in") })
	return g
}

func (g *rig) do(method, path string, change func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, http.NoBody)
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	g.router.ServeHTTP(w, r)
	return w
}

// The cases are those of a browser's own Sec-Fetch-Site and Origin headers, as
// the Fetch Metadata and Fetch standards define them.
func TestAWriteFromAnotherSiteIsRefused(t *testing.T) {
	g := newRig(t, nil)
	for _, c := range []struct {
		name, site, origin, host string
		status                   int
	}{
		{"the same page", "same-origin", "https://jobs.saltmarsh.example", "jobs.saltmarsh.example", 204},
		{"typed into the address bar", "none", "", "jobs.saltmarsh.example", 204},
		{"another site", "cross-site", "https://elsewhere.example", "jobs.saltmarsh.example", 403},
		{"a neighbour under the same domain", "same-site", "https://blog.saltmarsh.example", "jobs.saltmarsh.example", 403},
		{"a sandboxed frame", "cross-site", "null", "jobs.saltmarsh.example", 403},
		{"an old browser, the same page", "", "https://jobs.saltmarsh.example", "jobs.saltmarsh.example", 204},
		{"an old browser, another site", "", "https://elsewhere.example", "jobs.saltmarsh.example", 403},
		{"an old browser, no origin to speak of", "", "null", "jobs.saltmarsh.example", 403},
		{"plain http on the garage's network", "", "http://192.168.1.4:8080", "192.168.1.4:8080", 204},
		{"a proxy that gives the host another name", "", "https://jobs.saltmarsh.example", "10.0.0.7:8080", 204},
		{"no browser at all", "", "", "jobs.saltmarsh.example", 204},
	} {
		got := g.do("POST", "/cards/1", func(r *http.Request) {
			r.Host = c.host
			if c.site != "" {
				r.Header.Set("Sec-Fetch-Site", c.site)
			}
			if c.origin != "" {
				r.Header.Set("Origin", c.origin)
			}
		})
		if got.Code != c.status {
			t.Errorf("%s: %d, want %d", c.name, got.Code, c.status)
		}
	}
	if got := g.do("GET", "/cards/1", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }); got.Code != 200 {
		t.Errorf("a link from elsewhere: %d", got.Code)
	}
}

func TestEveryAnswerCarriesTheSecurityHeaders(t *testing.T) {
	g := newRig(t, func(o *edge.Options) { o.PerMinute = 7 })
	answers := map[string]*httptest.ResponseRecorder{
		"page": g.do("GET", "/cards/1", nil), "head": g.do("HEAD", "/cards/1", nil), "missing": g.do("GET", "/none", nil),
		"wrong method": g.do("PUT", "/cards/1", nil), "panic": g.do("GET", "/panic", nil),
		"refused": g.do("POST", "/cards/1", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }),
		"large":   g.do("GET", "/size/9000?type=text/html", func(r *http.Request) { r.Header.Set("Accept-Encoding", "gzip") }),
	}
	answers["slowed down"] = g.do("GET", "/cards/1", nil)
	if answers["slowed down"].Code != http.StatusTooManyRequests || answers["slowed down"].Header().Get("Retry-After") == "" {
		t.Errorf("slowed down: %d, %v", answers["slowed down"].Code, answers["slowed down"].Header())
	}
	for name, a := range answers {
		for h, want := range map[string]string{
			"Content-Security-Policy": edge.Policy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY",
			"Permissions-Policy":        "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
			"Strict-Transport-Security": "max-age=31536000; includeSubDomains", "Cross-Origin-Opener-Policy": "same-origin",
		} {
			if got := a.Header().Get(h); got != want {
				t.Errorf("%s: %s is %q, want %q", name, h, got, want)
			}
		}
		if a.Header().Get("X-Request-Id") == "" {
			t.Errorf("%s has no number", name)
		}
	}
	plain := newRig(t, func(o *edge.Options) { o.PublicURL = "http://192.168.1.4:8080" })
	if got := plain.do("GET", "/cards/1", nil).Header().Get("Strict-Transport-Security"); got != "" {
		t.Errorf("plain http promises %q", got)
	}
}

func TestOnlyATrustedProxySpeaksForSomebodyElse(t *testing.T) {
	for _, c := range []struct {
		name, peer, forwarded, want string
		proxies                     []string
	}{
		{"nobody in front", "203.0.113.5:999", "198.51.100.7", "203.0.113.5", nil},
		{"a proxy in front", "10.0.0.2:999", "198.51.100.7", "198.51.100.7", []string{"10.0.0.0/8"}},
		{"what the client itself put there", "10.0.0.2:999", "1.1.1.1, 198.51.100.7", "198.51.100.7", []string{"10.0.0.0/8"}},
		{"past the proxy", "203.0.113.5:999", "198.51.100.7", "203.0.113.5", []string{"10.0.0.0/8"}},
	} {
		g := newRig(t, func(o *edge.Options) { o.TrustedProxies = c.proxies })
		got := g.do("GET", "/cards/1", func(r *http.Request) {
			r.RemoteAddr = c.peer
			r.Header.Set("X-Forwarded-For", c.forwarded)
		})
		if got.Body.String() != c.want {
			t.Errorf("%s: %q, want %q", c.name, got.Body.String(), c.want)
		}
	}
}

func TestTheRateIsOneAddressesOwn(t *testing.T) {
	g := newRig(t, func(o *edge.Options) { o.PerMinute = 3; o.TrustedProxies = []string{"10.0.0.0/8"} })
	get := func(peer, forwarded string) int {
		return g.do("GET", "/cards/1", func(r *http.Request) {
			r.RemoteAddr = peer + ":1"
			r.Header.Set("X-Forwarded-For", forwarded)
		}).Code
	}
	for i := range 3 {
		if got := get("10.0.0.2", fmt.Sprintf("1.2.3.%d, 198.51.100.7", i)); got != 200 {
			t.Fatalf("request %d: %d", i, got)
		}
	}
	// Another made-up address to the left does not make it another client.
	if got := get("10.0.0.2", "9.9.9.9, 198.51.100.7"); got != 429 {
		t.Errorf("the fourth: %d", got)
	}
	if got := get("10.0.0.2", "198.51.100.8"); got != 200 {
		t.Errorf("somebody else: %d", got)
	}
}

func TestPagesArePackedAndTheRestIsNot(t *testing.T) {
	g := newRig(t, nil)
	for _, c := range []struct {
		path, accept string
		packed       bool
	}{
		{"/size/5000?type=text/html%3B%20charset=utf-8", "gzip", true},
		{"/size/5000?type=application/json", "gzip, br", true},
		{"/size/5000?type=application/problem%2Bjson", "gzip", true},
		{"/size/900?type=text/html", "gzip", false},
		{"/size/5000?type=text/html", "", false},
		{"/size/5000?type=text/html", "zstd", false},
		{"/size/5000?type=text/html", "gzip;q=0", false},
		{"/size/5000?type=image/jpeg", "gzip", false},
		{"/size/5000?type=application/pdf", "gzip", false},
		{"/size/5000?type=text/event-stream", "gzip", false},
	} {
		a := g.do("GET", c.path, func(r *http.Request) { r.Header.Set("Accept-Encoding", c.accept) })
		if got := a.Header().Get("Content-Encoding") == "gzip"; got != c.packed {
			t.Errorf("%s for %q: packed %v, want %v", c.path, c.accept, got, c.packed)
			continue
		}
		var body io.Reader = a.Body
		if c.packed {
			z, err := gzip.NewReader(a.Body)
			if err != nil {
				t.Fatal(err)
			}
			body = z
			if !strings.Contains(a.Header().Get("Vary"), "Accept-Encoding") {
				t.Errorf("%s does not vary", c.path)
			}
		}
		if b, err := io.ReadAll(body); err != nil || strings.Trim(string(b), "a") != "" || len(b) < 900 {
			t.Errorf("%s: %d bytes, %v", c.path, len(b), err)
		}
	}
}

func TestARequestIsBounded(t *testing.T) {
	g := newRig(t, func(o *edge.Options) { o.BodyLimit = 1000 })
	post := func(n int) int {
		return g.do("POST", "/cards/1", func(r *http.Request) { r.Body = io.NopCloser(strings.NewReader(strings.Repeat("a", n))) }).Code
	}
	if a, b := post(1000), post(1001); a != 204 || b != 413 {
		t.Errorf("1000 bytes: %d, 1001 bytes: %d", a, b)
	}
}

func TestTheLogNamesTheRouteAndNothingPrivate(t *testing.T) {
	g := newRig(t, nil)
	g.do("GET", "/cards/41?phone=01632960144", func(r *http.Request) { r.Header.Set("X-Request-Id", "forged\nline") })
	g.do("GET", "/nowhere/01632960144", nil)
	g.do("BREW", "/cards/41", nil)
	got := g.log.String()
	for _, want := range []string{`"route":"/cards/{card}"`, `"method":"GET"`, `"status":200`, `"route":"none"`, `"method":"other"`, `"address":"192.0.2.1"`} {
		if !strings.Contains(got, want) {
			t.Errorf("the log lacks %s: %s", want, got)
		}
	}
	for _, leak := range []string{"01632960144", "/cards/41", "forged", "BREW"} {
		if strings.Contains(got, leak) {
			t.Errorf("the log holds %q", leak)
		}
	}
}

func TestTheCountersAreByRouteAndHaveAnEnd(t *testing.T) {
	reg := prometheus.NewRegistry()
	g := newRig(t, func(o *edge.Options) { o.Metrics = reg })
	for i := range 50 {
		g.do("GET", fmt.Sprintf("/cards/%d", i), nil)
		g.do("GET", fmt.Sprintf("/guess/%d", i), nil)
		g.do(fmt.Sprintf("M%d", i), "/cards/1", nil)
	}
	g.do("GET", "/size/10?type=text/event-stream", nil)
	families, err := reg.Gather()
	if err != nil {
		t.Fatal(err)
	}
	series := map[string]uint64{}
	for _, f := range families {
		if f.GetName() != "rampside_http_request_seconds" {
			continue
		}
		for _, m := range f.GetMetric() {
			var labels []string
			for _, l := range m.GetLabel() {
				labels = append(labels, l.GetValue())
			}
			series[strings.Join(labels, " ")] = m.GetHistogram().GetSampleCount()
		}
	}
	if len(series) != 3 || series["GET /cards/{card} 200"] != 50 {
		t.Errorf("the series are %v", series)
	}
}

func TestAnOptionThatCannotBeMeantStopsTheStart(t *testing.T) {
	good := func() edge.Options {
		return edge.Options{Log: slog.Default(), Now: time.Now, PublicURL: "https://a.example", Refuse: func(http.ResponseWriter, *http.Request, error) {}}
	}
	for name, spoil := range map[string]func(*edge.Options){
		"no log": func(o *edge.Options) { o.Log = nil }, "no refusal": func(o *edge.Options) { o.Refuse = nil },
		"no scheme": func(o *edge.Options) { o.PublicURL = "jobs.example" }, "another scheme": func(o *edge.Options) { o.PublicURL = "ftp://a.example" },
		"a proxy that is no network": func(o *edge.Options) { o.TrustedProxies = []string{"10.0.0.1"} },
	} {
		o := good()
		spoil(&o)
		if err := edge.Use(chi.NewRouter(), o); err == nil {
			t.Errorf("%s: started all the same", name)
		}
	}
	if err := edge.Use(chi.NewRouter(), good()); err != nil {
		t.Errorf("a good one: %v", err)
	}
}
