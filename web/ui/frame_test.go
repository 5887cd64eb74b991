package ui_test

import (
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/web/edge"
	"rampside/web/ui"
)

func serve(t *testing.T, srv *http.Server) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go func() { _ = srv.Serve(l) }()
	t.Cleanup(func() { _ = srv.Close() })
	return l.Addr().String()
}

func (s *site) post(t *testing.T, role, path string, pairs ...string) *http.Response {
	t.Helper()
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return s.as(t, role, "POST", path, func(r *http.Request) {
		body := strings.NewReader(v.Encode())
		r.Body = io.NopCloser(body)
		r.ContentLength = int64(body.Len())
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	})
}

const someKey = "3f1c8a52-6f0f-4f5e-9a43-0a4de3c6c001"

func TestEveryAnswerOfEveryRouteCarriesTheSecurityPolicy(t *testing.T) {
	s := newSite(t)
	n := 0
	err := chi.Walk(s.router, func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if route == "/live" || method != "GET" && method != "POST" {
			return nil
		}
		for _, role := range []string{"", "technician", "owner"} {
			if route == "/panic-late" && role != "" {
				continue
			}
			res := s.as(t, role, method, strings.Replace(route, "*", "app.css", 1), nil)
			if res.Header.Get("Content-Security-Policy") != edge.Policy || res.Header.Get("X-Content-Type-Options") != "nosniff" {
				t.Errorf("%s %s as %q: %v", method, route, role, res.Header)
			}
			n++
		}
		return nil
	})
	if err != nil || n < 40 {
		t.Fatalf("walked %d answers: %v", n, err)
	}
}

func TestHalfAPageIsCutOffAndNotTakenForTheWhole(t *testing.T) {
	s := newSite(t)
	req, err := http.NewRequestWithContext(t.Context(), "GET", s.URL+"/panic-late", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: "rampside", Value: "owner"})
	res, err := http.DefaultTransport.RoundTrip(req)
	if err == nil {
		defer res.Body.Close()
		b := make([]byte, 100)
		for err == nil {
			_, err = res.Body.Read(b)
		}
		if err.Error() == "EOF" {
			t.Error("the half page came to a proper end")
		}
	}
}

func TestTheSessionCookieIsForThisServerAlone(t *testing.T) {
	for name, secure := range map[string]bool{"rampside": false, "__Host-rampside": true} {
		s := newSite(t, func(o *ui.Options, _ *edge.Options) { o.Secure = secure })
		s.kit.Public(s.router, "POST", "/in", "signs in", func(w http.ResponseWriter, _ *http.Request) error {
			s.kit.SetSession(w, "owner", time.Now().Add(time.Hour))
			return nil
		})
		s.kit.Public(s.router, "POST", "/out", "signs out", func(w http.ResponseWriter, _ *http.Request) error {
			s.kit.ClearSession(w)
			return nil
		})
		c := s.as(t, "", "POST", "/in", nil).Cookies()[0]
		if c.Name != name || c.Secure != secure || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.Domain != "" || c.MaxAge < 3590 {
			t.Errorf("secure %v: %+v", secure, c)
		}
		out := s.as(t, "", "POST", "/out", nil)
		if c := out.Cookies()[0]; c.Name != name || c.MaxAge >= 0 || out.Header.Get("Clear-Site-Data") == "" {
			t.Errorf("signing out: %+v", c)
		}
		// The other name is not ours, so a page elsewhere cannot plant it.
		other := map[string]string{"rampside": "__Host-rampside", "__Host-rampside": "rampside"}[name]
		got := s.as(t, "", "GET", "/diary", func(r *http.Request) { r.AddCookie(&http.Cookie{Name: other, Value: "owner"}) })
		if got.StatusCode != 303 {
			t.Errorf("%s was taken where %s is ours", other, name)
		}
	}
}

func TestTheWordAfterAChangeIsShownOnce(t *testing.T) {
	s := newSite(t)
	res := s.post(t, "desk", "/record", "key", someKey, "version", "1", "at", "16:40")
	if res.StatusCode != 303 || res.Header.Get("Location") != "/record" {
		t.Fatalf("%d to %q", res.StatusCode, res.Header.Get("Location"))
	}
	flash := res.Cookies()[0]
	show := func(redraw bool) *http.Response {
		return s.as(t, "desk", "GET", "/record", func(r *http.Request) {
			r.AddCookie(flash)
			if redraw {
				r.Header.Set("X-Redraw", "1")
			}
		})
	}
	// A page drawn anew behind the person's back does not use it up.
	if len(show(true).Cookies()) != 0 {
		t.Error("a redraw took the word away")
	}
	page := show(false)
	if c := page.Cookies(); len(c) != 1 || c[0].Name != flash.Name || c[0].MaxAge >= 0 {
		t.Errorf("the cookie stays: %v", c)
	}
	if got := texts(t, body(t, page), ".flash"); len(got) != 1 || got[0] != "Promise noted" {
		t.Errorf("the page says %q", got)
	}
	for _, bad := range []string{"%%%", "PHNjcmlwdD4", "AAAA", strings.Repeat("QUFB", 300)} {
		res := s.as(t, "desk", "GET", "/record", func(r *http.Request) { r.AddCookie(&http.Cookie{Name: flash.Name, Value: bad}) })
		if p := body(t, res); res.StatusCode != 200 || strings.Contains(p, "<script>") {
			t.Errorf("a made-up cookie %q: %d", bad, res.StatusCode)
		}
	}
}

func TestDayOrNightIsRememberedAndComesBackToThePage(t *testing.T) {
	s := newSite(t)
	res := s.post(t, "", "/light", "light", "night", "back", "/open?x=1")
	if res.StatusCode != 303 || res.Header.Get("Location") != "/open?x=1" {
		t.Fatalf("%d to %q", res.StatusCode, res.Header.Get("Location"))
	}
	page := parse(t, body(t, s.as(t, "", "GET", "/open", func(r *http.Request) { r.AddCookie(res.Cookies()[0]) })))
	if got, _ := page.Find("html").Attr("data-light"); got != "night" {
		t.Errorf("the page is by %q", got)
	}
	if got := page.Find(`[aria-pressed=true]`).Text(); got != "Night" {
		t.Errorf("pressed is %q", got)
	}
	if res := s.post(t, "", "/light", "light", "device"); res.Cookies()[0].MaxAge >= 0 || res.Header.Get("Location") != "/" {
		t.Errorf("as the device: %v", res.Cookies())
	}
	if got := s.post(t, "", "/light", "light", "disco").StatusCode; got != 422 {
		t.Errorf("disco: %d", got)
	}
	if got := s.post(t, "", "/light", "light", "day", "back", "//elsewhere.example").Header.Get("Location"); got != "/" {
		t.Errorf("sent to %q", got)
	}
}

func TestTheSameFormTwiceIsOneChange(t *testing.T) {
	s := newSite(t)
	for range 3 {
		if got := s.post(t, "desk", "/record", "key", someKey, "version", "1", "at", "16:40").StatusCode; got != 303 {
			t.Errorf("%d", got)
		}
	}
	if n := s.record.writeCount(); n != 1 {
		t.Errorf("written %d times", n)
	}
	keys := map[string]bool{}
	for range 5 {
		key, _ := parse(t, body(t, s.as(t, "desk", "GET", "/record", nil))).Find("main input[name=key]").Attr("value")
		if len(key) != 36 || keys[key] {
			t.Errorf("the page's key is %q", key)
		}
		keys[key] = true
	}
}

func TestAnEditThatComesTooLateShowsBothAndLosesNothing(t *testing.T) {
	s := newSite(t)
	s.post(t, "owner", "/record", "key", someKey, "version", "1", "at", "15:00")
	late := s.post(t, "desk", "/record", "key", someKey[:35]+"2", "version", "1", "at", "16:40, she says")
	page := body(t, late)
	if late.StatusCode != 409 || !strings.Contains(page, "15:00") {
		t.Fatalf("%d: %.500s", late.StatusCode, page)
	}
	doc := parse(t, page)
	if v, _ := doc.Find("main input[name=at]").Attr("value"); v != "16:40, she says" {
		t.Errorf("what was typed is now %q", v)
	}
	version, _ := doc.Find("main input[name=version]").Attr("value")
	if version != "2" {
		t.Errorf("the page goes over version %q", version)
	}
	if again := s.post(t, "desk", "/record", "key", someKey[:35]+"3", "version", version, "at", "16:40, she says"); again.StatusCode != 303 {
		t.Errorf("saved over it: %d", again.StatusCode)
	}
	if got := s.record.read().Note; got != "16:40, she says" {
		t.Errorf("it reads %q", got)
	}
}

func TestAFormThatIsRefusedComesBackFilledIn(t *testing.T) {
	s := newSite(t)
	for typed, says := range map[string]string{"": "Please fill this in", "never": "That is no time to promise", strings.Repeat("x", 41): "At most 40 characters"} {
		res := s.post(t, "desk", "/record", "key", someKey, "version", "1", "at", typed)
		doc := parse(t, body(t, res))
		in := doc.Find("#f-at")
		v, _ := in.Attr("value")
		by, _ := in.Attr("aria-describedby")
		invalid, _ := in.Attr("aria-invalid")
		if res.StatusCode != 422 || v != typed || invalid != "true" || !strings.Contains(by, "f-at-problem") {
			t.Errorf("%.10q: %d, shown %.10q, described by %q", typed, res.StatusCode, v, by)
		}
		if got := strings.TrimSpace(doc.Find("#f-at-problem").Text()); !strings.HasPrefix(got, says) {
			t.Errorf("%.10q: says %q", typed, got)
		}
		if to, _ := doc.Find(".problems a").Attr("href"); to != "#f-at" {
			t.Errorf("%.10q: the list leads to %q", typed, to)
		}
	}
}

func TestWhatWasTypedIsOnTheErrorPageButNeverASecret(t *testing.T) {
	s := newSite(t)
	s.kit.Public(s.router, "POST", "/refuse", "always refuses", func(_ http.ResponseWriter, r *http.Request) error {
		f := ui.ReadForm(r)
		f.Fail("note", "not this")
		return f.Err()
	})
	page := body(t, s.post(t, "", "/refuse", "note", "brakes squeal", "parts.0.unit_price", "12", "password", "hunter22", "pin", "4711", "new_pin", "0815", "key", someKey))
	for _, want := range []string{"brakes squeal", "parts 1, unit price", "note: not this"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, leak := range []string{"hunter22", "4711", "0815", someKey} {
		if strings.Contains(page, leak) {
			t.Errorf("the page shows %q", leak)
		}
	}
}
