//go:build !race

package app_test

import (
	"maps"
	"net/http"
	"strings"
	"testing"

	"rampside/internal/app/apptest"
)

// What a browser says of where a request comes from, and whether it is let
// through: the Fetch Metadata headers (W3C Fetch Metadata Request Headers), and
// for browsers without them the Origin header (Fetch standard). A request with
// neither is no browser's, and has no cookie that it did not bring itself.
var origins = []struct {
	name, site, origin string
	passes             bool
}{
	{"the same origin", "same-origin", "", true},
	{"the same origin, by both headers", "same-origin", "self", true},
	{"typed by a person", "none", "", true},
	{"another site", "cross-site", "https://elsewhere.example", false},
	{"another site that says nothing more", "cross-site", "", false},
	{"a neighbour", "same-site", "https://shop.garage.example", false},
	{"a sandbox", "cross-site", "null", false},
	{"an old browser, the same origin", "", "self", true},
	{"an old browser, another site", "", "https://elsewhere.example", false},
	{"an old browser, a sandbox", "", "null", false},
	{"an old browser, our name at another port", "", "other port", false},
	{"neither header", "", "", true},
	{"a word that is none", "same-origin, cross-site", "", false},
}

const crossSite = "sent from another site"

func TestNoPostIsTakenFromAnotherSite(t *testing.T) {
	w := openWorld(t)
	w.spareSecrets()
	c := w.SignIn(w.Owner)
	before := w.books()
	posts, tries := 0, 0
	for _, name := range walked(t, w.Site) {
		pattern, ok := strings.CutPrefix(name, "POST ")
		if !ok || strings.HasPrefix(pattern, "/api/") { // where no cookie is looked at
			continue
		}
		posts++
		for _, o := range origins {
			by := c
			if pattern == "/sign-out" && o.passes {
				by = w.quickly(w.Owner) // it is let through, and works
			}
			// No key: what is let through goes no further.
			r := by.Request(http.MethodPost, w.path(pattern), strings.NewReader("x=y"))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			set(r, o.site, o.origin)
			a := by.Send(r)
			tries++
			refused := a.Status == http.StatusForbidden && strings.Contains(a.Body, crossSite)
			if refused == o.passes || a.Status >= 500 || !o.passes && a.Header.Get("Set-Cookie") != "" {
				t.Errorf("POST %s from %s: %d %s", pattern, o.name, a.Status, a.Says())
			}
		}
	}
	after := w.books()
	delete(before, "event") // of signing out
	delete(after, "event")
	if !maps.Equal(before, after) {
		t.Errorf("it changed %v", changed(before, after))
	}
	t.Logf("%d routes that take posts, %d tries", posts, tries)
	if posts < 60 {
		t.Errorf("only %d routes take posts", posts)
	}
}

func set(r *http.Request, site, origin string) {
	if site != "" {
		r.Header.Set("Sec-Fetch-Site", site)
	}
	switch origin {
	case "":
	case "self":
		r.Header.Set("Origin", "http://"+r.URL.Host)
	case "other port":
		r.Header.Set("Origin", "http://"+r.URL.Hostname()+":1")
	default:
		r.Header.Set("Origin", origin)
	}
}

// A whole form, as it would be sent, from another site: nothing is done.
func TestAWholeFormFromAnotherSiteDoesNothing(t *testing.T) {
	w := openWorld(t)
	f, ok := w.open("/garage/suppliers", forms["/garage/suppliers"][0])
	if !ok {
		return
	}
	before := w.books()
	for _, o := range origins {
		r := f.c.Request(http.MethodPost, f.path, strings.NewReader(f.v.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		set(r, o.site, o.origin)
		if o.passes {
			continue
		}
		if a := f.c.Send(r); a.Status != http.StatusForbidden {
			t.Errorf("from %s: %d", o.name, a.Status)
		}
	}
	if after := w.books(); !maps.Equal(before, after) {
		t.Errorf("it changed %v", changed(before, after))
	}
	if a := f.c.Post(f.path, f.v); a.Status != http.StatusSeeOther {
		t.Errorf("the same form from its own page: %d %s", a.Status, a.Says())
	}
}

// Opening any page, in any of its states, writes nothing: not a row is added,
// taken or changed.
func TestNoPageThatIsOpenedChangesAnything(t *testing.T) {
	w := openWorld(t)
	people := []*apptest.Client{w.SignIn(w.Owner), w.SignIn(w.Posy), w.Nobody(), w.browser("tablet")}
	before := w.books()
	pages := 0
	for _, path := range w.allPages() {
		for _, c := range people {
			for _, method := range []string{http.MethodGet, http.MethodHead} {
				pages++
				if a := c.Send(c.Request(method, path, nil)); a.Status >= 500 {
					t.Errorf("%s %s: %d", method, path, a.Status)
				}
			}
		}
	}
	if after := w.books(); !maps.Equal(before, after) {
		t.Errorf("it changed %v", changed(before, after))
	}
	t.Logf("%d pages opened", pages)
}
