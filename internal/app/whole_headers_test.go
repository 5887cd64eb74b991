//go:build !race

package app_test

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/app/apptest"
	"rampside/internal/jobcard/cardtest"
)

// The headers of every answer, whatever it is (OWASP ASVS 5.0, 3.2.1 and
// 3.4.2 to 3.4.6; HSTS at least a year with subdomains, 3.4.1).
var everyHeader = map[string]string{
	"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'",
	"X-Content-Type-Options":       "nosniff",
	"Referrer-Policy":              "same-origin",
	"X-Frame-Options":              "DENY",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Permissions-Policy":           "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}

const hsts = "max-age=31536000; includeSubDomains"

// dressed checks the headers of one answer.
func dressed(t *testing.T, what string, a apptest.Answer, https bool) {
	t.Helper()
	for name, want := range everyHeader {
		if got := a.Header.Values(name); len(got) != 1 || got[0] != want {
			t.Errorf("%s (%d): %s is %q", what, a.Status, name, got)
		}
	}
	if got := a.Header.Get("Strict-Transport-Security"); https && got != hsts || !https && got != "" {
		t.Errorf("%s (%d): Strict-Transport-Security is %q", what, a.Status, got)
	}
	if a.Header.Get("X-Request-Id") == "" {
		t.Errorf("%s (%d) has no number", what, a.Status)
	}
	kind, cache := a.Header.Get("Content-Type"), a.Header.Get("Cache-Control")
	if kind == "" && a.Body != "" {
		t.Errorf("%s (%d) does not say what it is", what, a.Status)
	}
	static := strings.Contains(what, " /static/") && a.Status < 400
	photo := strings.Contains(what, "/photos/") && strings.HasPrefix(kind, "image/jpeg")
	switch {
	case static && cache != "public, max-age=31536000, immutable" && cache != "no-cache",
		photo && cache != "private, max-age=86400, immutable",
		strings.HasSuffix(what, "/openapi.json") && a.Status < 400 && cache != "no-cache",
		!static && !photo && a.Status != http.StatusNotModified && !strings.HasSuffix(what, "/openapi.json") &&
			!strings.HasSuffix(what, "/metrics") && cache != "no-store":
		t.Errorf("%s (%d, %s): Cache-Control is %q", what, a.Status, kind, cache)
	}
	for _, c := range (&http.Response{Header: a.Header}).Cookies() {
		kept(t, what, c, https)
	}
	for _, name := range []string{"Server", "X-Powered-By", "Access-Control-Allow-Origin"} {
		if got := a.Header.Get(name); got != "" {
			t.Errorf("%s: %s is %q", what, name, got)
		}
	}
}

// kept checks one cookie (ASVS 3.3.1 to 3.3.4).
func kept(t *testing.T, what string, c *http.Cookie, https bool) {
	t.Helper()
	prefixed := strings.HasPrefix(c.Name, "__Host-")
	if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.Domain != "" || c.Secure != https || prefixed != https || c.MaxAge == 0 {
		t.Errorf("%s sets the cookie %s", what, c)
	}
}

func TestEveryAnswerOfTheWholeServerIsDressed(t *testing.T) {
	w := openWorld(t)
	owner, posy, nobody := w.SignIn(w.Owner), w.SignIn(w.Posy), w.Nobody()
	program := w.Program(w.Owner)
	byStatus, seen := map[int]int{}, 0
	see := func(what string, a apptest.Answer) {
		seen++
		byStatus[a.Status]++
		dressed(t, what, a, false)
	}
	for _, d := range w.App.Handler().Declared() {
		if d.Pattern == "/live" || d.Pattern == "/sign-out" {
			continue
		}
		path := w.path(strings.Replace(d.Pattern, "*", "none", 1))
		what := d.Method + " " + path
		for _, c := range []*apptest.Client{owner, posy, nobody} {
			see(what, ask(c, d.Method, path))
			see(what, ask(c, d.Method, strings.ReplaceAll(path, "1", "x")))
		}
		see("DELETE "+path, owner.Send(owner.Request(http.MethodDelete, path, nil)))
		see("HEAD "+path, owner.Send(owner.Request(http.MethodHead, path, nil)))
		if d.Method == http.MethodPost {
			r := owner.Request(d.Method, path, strings.NewReader(""))
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			see(what+" from elsewhere", owner.Send(r))
			see(what+" of 100 KB", owner.Post(path, url.Values{"name": {strings.Repeat("x", 100<<10)}}))
		}
	}
	for _, d := range w.App.Handler().DeclaredToPrograms() {
		path := w.path(d.Pattern)
		see(d.Method+" "+path, askAsProgram(program, d.Method, path))
		see(d.Method+" "+path, askAsProgram(nobody, d.Method, path))
		see("PATCH "+path, askAsProgram(program, http.MethodPatch, path))
	}
	for _, path := range []string{"/none", "/static/none", "/cards/%00", "/api/v1/none", "/api/none", "/cards/1/../../x", "//x"} {
		see("GET "+path, owner.Get(path))
	}
	page := owner.Get("/diary")
	files := 0
	for _, src := range append(page.Page().Find("script[src]").Map(attr("src")), page.Page().Find(`link[rel="stylesheet"]`).Map(attr("href"))...) {
		files++
		see("GET "+src, nobody.Get(src))
	}
	photo := owner.Get("/photos/" + w.at["photo"])
	r := owner.Request(http.MethodGet, "/photos/"+w.at["photo"], nil)
	r.Header.Set("If-None-Match", photo.Header.Get("ETag"))
	see("GET /photos/ again", owner.Send(r))
	see("POST /sign-out", w.quickly(w.Desk).Post("/sign-out", nil))
	see("GET /live", stream(t, owner, "/live?topic=garage"))
	t.Logf("%d answers, by status: %v", seen, byStatus)
	for _, status := range []int{200, 303, 304, 401, 403, 404, 405, 413, 422} {
		if byStatus[status] == 0 {
			t.Errorf("no answer had the status %d", status)
		}
	}
	if files < 2 {
		t.Errorf("only %d files of the bundle were found", files)
	}
}

func attr(name string) func(int, *goquery.Selection) string {
	return func(_ int, el *goquery.Selection) string { return el.AttrOr(name, "") }
}

// stream takes the head of an answer that never ends.
func stream(t *testing.T, c *apptest.Client, path string) apptest.Answer {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	res, err := c.Do(c.Request(http.MethodGet, path, nil).WithContext(ctx))
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	_ = res.Body.Close()
	return apptest.Answer{Status: res.StatusCode, Header: res.Header}
}

// Over https the cookies have the prefix that no other host can set, and every
// answer says to stay on https.
func TestOverHTTPSEveryAnswerSaysToStayThere(t *testing.T) {
	s := apptest.Start(t, "RAMPSIDE_URL", "https://jobs.saltmarsh.example")
	nobody := s.Nobody()
	seen := 0
	for _, d := range s.App.Handler().Declared() {
		if d.Method == http.MethodGet && d.Pattern != "/live" {
			seen++
			dressed(t, "GET "+d.Pattern, nobody.Get(strings.ReplaceAll(d.Pattern, "{", "%7B")), true)
		}
	}
	s.SignIn(s.Owner) // with a password from here on
	a := nobody.Post("/sign-in", url.Values{"sign_in": {"wren"}, "password": {cardtest.Password}})
	dressed(t, "POST /sign-in", a, true)
	cookies := (&http.Response{Header: a.Header}).Cookies()
	i := slices.IndexFunc(cookies, func(c *http.Cookie) bool { return c.Name == "__Host-rampside" })
	if i < 0 || cookies[i].MaxAge < 7*24*3600-60 || cookies[i].MaxAge > 7*24*3600 || len(cookies[i].Value) < 22 {
		t.Fatalf("signing in set %v", cookies)
	}
	// Go's jar sends no such cookie over plain http, as no browser would.
	r := nobody.Request(http.MethodPost, "/tablets", strings.NewReader(url.Values{"key": {apptest.Key()}, "name": {"Ramp 1"}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Cookie", cookies[i].Name+"="+cookies[i].Value)
	made := nobody.Send(r)
	dressed(t, "POST /tablets", made, true)
	names := strings.Join(made.Header.Values("Set-Cookie"), "\n")
	if !strings.Contains(names, "__Host-rampside-device=") || made.Header.Get("Clear-Site-Data") == "" {
		t.Errorf("enrolling (%d) set %q", made.Status, names)
	}
	t.Logf("%d answers over https", seen+2)
}

func TestWhoeverIsToldToSlowDownGetsTheHeadersToo(t *testing.T) {
	s := apptest.Empty(t, "RAMPSIDE_PER_MINUTE", "3")
	nobody := s.Nobody()
	last := map[string]int{}
	for range 3 {
		for _, path := range []string{"/sign-in", "/api/v1/me"} {
			a := nobody.Get(path)
			dressed(t, "GET "+path, a, false)
			last[path] = a.Status
		}
	}
	for path, status := range last {
		if status != http.StatusTooManyRequests {
			t.Errorf("%s: %d", path, status)
		}
	}
}
