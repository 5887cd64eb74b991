package ui_test

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/web/ui"
)

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestARouteIsOpenOnlyToThoseItSays(t *testing.T) {
	s := newSite(t)
	for _, c := range []struct {
		role, method, path string
		status             int
	}{
		{"", "GET", "/open", 200},
		{"", "GET", "/diary", 303},
		{"", "POST", "/diary", 401},
		{"unknown-token", "GET", "/diary", 303},
		{"technician", "GET", "/diary", 200},
		{"technician", "POST", "/diary", 403},
		{"technician", "GET", "/garage", 403},
		{"desk", "POST", "/diary", 303},
		{"desk", "GET", "/garage", 403},
		{"owner", "GET", "/garage", 200},
		{"owner", "GET", "/nowhere", 404},
		{"", "GET", "/nowhere", 404},
		{"owner", "DELETE", "/diary", 405},
		{"broken", "GET", "/diary", 500},
		{strings.Repeat("x", 5000), "GET", "/diary", 303},
	} {
		if got := s.as(t, c.role, c.method, c.path, nil).StatusCode; got != c.status {
			t.Errorf("%s %s as %.10q: %d, want %d", c.method, c.path, c.role, got, c.status)
		}
	}
}

func TestEveryRouteDeclaresWhoMay(t *testing.T) {
	s := newSite(t)
	declared := map[string]ui.Declared{}
	for _, d := range s.kit.Declared() {
		if (d.Need == "") == (d.Why == "") {
			t.Errorf("%s %s: needs a right or a reason to be public, and not both", d.Method, d.Pattern)
		}
		declared[d.Method+" "+d.Pattern] = d
	}
	err := chi.Walk(s.router, func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if route == "/static/*" {
			return nil
		}
		if _, ok := declared[method+" "+route]; !ok {
			return fmt.Errorf("%s %s is registered without saying who may", method, route)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestARouteThatDoesNotSayWhoMayIsRefusedAtStart(t *testing.T) {
	s := newSite(t)
	h := func(http.ResponseWriter, *http.Request) error { return nil }
	for name, register := range map[string]func(){
		"no right":  func() { s.kit.Get(chi.NewRouter(), "/x", "", h) },
		"no reason": func() { s.kit.Public(chi.NewRouter(), "GET", "/x", "", h) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: registered all the same", name)
				}
			}()
			register()
		}()
	}
}

func TestWhoeverMustSignInComesBackToThePageTheyWanted(t *testing.T) {
	s := newSite(t)
	res := s.as(t, "", "GET", "/diary?day=2026-10-05&who=a%20b", nil)
	to, err := url.Parse(res.Header.Get("Location"))
	if err != nil || to.Path != "/sign-in" || to.Query().Get("next") != "/diary?day=2026-10-05&who=a%20b" {
		t.Errorf("sent to %q", res.Header.Get("Location"))
	}
	// A script that draws the page anew is told so instead.
	for header, value := range map[string]string{"X-Redraw": "1", "Sec-Fetch-Mode": "cors"} {
		res := s.as(t, "", "GET", "/diary", func(r *http.Request) { r.Header.Set(header, value) })
		if res.StatusCode != http.StatusUnauthorized {
			t.Errorf("with %s: %d, want 401", header, res.StatusCode)
		}
	}
}

func TestAnAddressThatLeadsElsewhereBecomesTheFrontPage(t *testing.T) {
	for in, want := range map[string]string{
		"/cards/12?x=1#y": "/cards/12?x=1#y", "/": "/", "": "/", "cards": "/",
		"//elsewhere.example": "/", "https://elsewhere.example/": "/", `/\elsewhere.example`: "/", `\/elsewhere.example`: "/",
		"/a\r\nSet-Cookie: x=1": "/", "/\t/elsewhere.example": "/", "javascript:alert(1)": "/", "/" + strings.Repeat("a", 3000): "/",
	} {
		if got := ui.LocalPath(in); got != want {
			t.Errorf("LocalPath(%.40q) = %q, want %q", in, got, want)
		}
	}
}

func TestAnErrorIsAPageWithItsStatusAndItsWords(t *testing.T) {
	s := newSite(t)
	for path, kind := range kinds {
		res := s.as(t, "owner", "GET", path, nil)
		if res.StatusCode != kind.Status() {
			t.Errorf("%s: %d, want %d", path, res.StatusCode, kind.Status())
		}
		page := body(t, res)
		if !strings.Contains(page, "The message of "+path) || !strings.Contains(page, "Saltmarsh Lane Garage") {
			t.Errorf("%s does not say what went wrong inside the frame: %.300s", path, page)
		}
		if res.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s may be stored", path)
		}
	}
	if got := s.as(t, "owner", "GET", "/too-many", nil).Header.Get("Retry-After"); got == "" {
		t.Error("429 without saying when to come back")
	}
}

func TestAFaultOfOursShowsItsNumberAndNothingElse(t *testing.T) {
	s := newSite(t)
	for _, path := range []string{"/fault", "/panic"} {
		res := s.as(t, "owner", "GET", path, nil)
		page := body(t, res)
		id := res.Header.Get("X-Request-Id")
		if res.StatusCode != 500 || id == "" || !strings.Contains(page, id) {
			t.Errorf("%s: %d, and the number %q is not on the page", path, res.StatusCode, id)
		}
		for _, leak := range []string{"deadline", "a nut fell in", "goroutine", ".go:"} {
			if strings.Contains(page, leak) {
				t.Errorf("%s tells everybody %q", path, leak)
			}
		}
		if n := strings.Count(s.log.String(), `"msg":"request failed","request_id":"`+id); n != 1 {
			t.Errorf("%s: logged %d times, want once", path, n)
		}
	}
	if !strings.Contains(s.log.String(), "a nut fell in") {
		t.Error("the log does not say what the panic was")
	}
}

func TestARefusalIsLoggedWithWhoWasRefused(t *testing.T) {
	s := newSite(t)
	s.as(t, "technician", "GET", "/garage", nil)
	if l := s.log.String(); !strings.Contains(l, `"msg":"request refused"`) || !strings.Contains(l, `"staff_id":3`) {
		t.Errorf("the log says: %s", l)
	}
}

func TestNavigationOffersOnlyWhatSomebodyMaySee(t *testing.T) {
	s := newSite(t)
	for role, want := range map[string]string{"owner": "Diary Book in Floor Day’s end Garage", "desk": "Diary Book in Floor Day’s end", "technician": "Diary Floor"} {
		if got := strings.Join(texts(t, body(t, s.as(t, role, "GET", "/diary", nil)), "nav li"), " "); got != want {
			t.Errorf("%s is offered %q, want %q", role, got, want)
		}
	}
	if got := texts(t, body(t, s.as(t, "", "GET", "/open", nil)), "nav li"); len(got) != 0 {
		t.Errorf("nobody is offered %q", got)
	}
}

func TestAnEnrolledTabletIsKnownBeforeAnybodySignsIn(t *testing.T) {
	s := newSite(t)
	var seen actor.Actor
	s.kit.Public(s.router, "GET", "/who", "tells who is asking", func(_ http.ResponseWriter, r *http.Request) error {
		seen = ui.Who(r.Context())
		return nil
	})
	s.as(t, "", "GET", "/who", func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "rampside-device", Value: "tablet"}) })
	if seen.DeviceID != 9 || seen.Known() || seen.Via != actor.ViaPage || seen.RequestID == "" {
		t.Errorf("the tablet is %+v", seen)
	}
	s.as(t, "desk", "GET", "/who", nil)
	if seen.StaffID != 2 || seen.Device != "127.0.0.1" {
		t.Errorf("the desk is %+v", seen)
	}
}
