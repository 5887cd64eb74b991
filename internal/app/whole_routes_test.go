//go:build !race

package app_test

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/app/apptest"
	"rampside/web/ui"
)

// walked lists the routes of a running server as the router has them: method,
// a blank and the pattern.
func walked(t *testing.T, s *apptest.Site) []string {
	t.Helper()
	var out []string
	err := chi.Walk(s.App.Handler(), func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		out = append(out, method+" "+route)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestEveryRouteSaysWhoMayAndIsThere(t *testing.T) {
	s := apptest.Empty(t)
	declared, table := map[string]bool{}, rights(t)
	public := 0
	// by holds a right that is asked for to the roles of the table. The matrix
	// below would not see one that is too small where the service asks again.
	by := func(name string, need actor.Right) {
		for _, role := range []actor.Role{actor.Owner, actor.Desk, actor.Technician} {
			listed := strings.Contains(" "+table[name]+" ", " "+string(role)+" ")
			if has := need != "" && (actor.Actor{Role: role}).May(need); has != listed {
				t.Errorf("%s asks for the right to %s: %s has it, %v; by the table, %v", name, need, role, has, listed)
			}
		}
	}
	for _, d := range s.App.Handler().Declared() {
		name := d.Method + " " + d.Pattern
		if declared[name] {
			t.Errorf("%s is declared twice", name)
		}
		declared[name] = true
		if (d.Need == "") == (d.Why == "") {
			t.Errorf("%s needs %q and is public because of %q", name, d.Need, d.Why)
		}
		by(name, d.Need)
		if d.Why != "" {
			public++
		}
		if _, ok := forms[d.Pattern]; d.Method == http.MethodPost && !ok {
			t.Errorf("%s has no entry in the table of forms", name)
		}
	}
	pages := len(declared)
	for _, d := range s.App.Handler().DeclaredToPrograms() {
		name := d.Method + " " + d.Pattern
		if declared[name] || (d.Need == "") == (d.Why == "") || !strings.HasPrefix(d.Pattern, "/api/") {
			t.Errorf("%s needs %q and is public because of %q", name, d.Need, d.Why)
		}
		declared[name] = true
		by(name, d.Need)
		if d.Why != "" {
			public++
		}
	}
	found := walked(t, s)
	for _, name := range found {
		if !declared[name] {
			t.Errorf("%s does not say who may", name)
		}
		if _, ok := table[name]; !ok {
			t.Errorf("%s is not in the table of rights", name)
		}
	}
	for name := range table {
		if !declared[name] {
			t.Errorf("the table of rights has %s, which is no route", name)
		}
	}
	for name := range declared {
		if !slices.Contains(found, name) {
			t.Errorf("%s is declared and not there", name)
		}
	}
	for pattern := range forms {
		if !declared["POST "+pattern] {
			t.Errorf("the table of forms has %s, which is no route", pattern)
		}
	}
	t.Logf("%d routes, %d of them pages; %d are public, each with its reason", len(found), pages, public)
	if pages < 110 || len(found) < pages+80 || public > 20 {
		t.Errorf("%d routes and %d of them public: is the walk right?", len(found), public)
	}
}

// ownOnly are routes to read where the right is for one's own, with those who
// may look at what is there: the technician's time, and the spare's sessions.
var ownOnly = map[string]string{
	"/attendance/{attendance}": "owner technician", "/api/v1/attendance/{attendance}": "owner technician",
	"/api/v1/staff/{staff}/sessions": "owner",
}

// The bad numbers an address can have. What is no number is a page that does
// not exist, for those who may look.
var badIDs = []string{"999999", "x", "0", "-1", "99999999999999999999", "9223372036854775808", "%00", "%ff", "..%2f..", "1%20or%201=1", "1;2", "٣", "1.0", "0x1"}

// Every route that is not public, as everybody, with things that are there and
// with all kinds of addresses that are not: the answer is what the right says.
func TestTheRightsHoldOnEveryRoute(t *testing.T) {
	w := openWorld(t)
	people := map[string]*apptest.Client{
		"nobody": w.Nobody(), "tablet": w.browser("tablet"), "technician": w.SignIn(w.Posy), "desk": w.SignIn(w.Desk), "owner": w.SignIn(w.Owner),
	}
	w.tablet() // the browser's own is not to be revoked
	w.spareSignedIn()
	tries, routes, table := map[string]int{}, 0, rights(t)
	before := w.books()
	for _, d := range w.App.Handler().Declared() {
		roles := table[d.Method+" "+d.Pattern]
		if roles == "" {
			if d.Need != "" {
				t.Errorf("%s %s needs %s, and by the table nothing", d.Method, d.Pattern, d.Need)
			}
			continue
		}
		routes++
		for _, role := range slices.Sorted(maps.Keys(people)) {
			c, allowed := people[role], strings.Contains(" "+roles+" ", " "+role+" ")
			known := role != "nobody" && role != "tablet"
			here, mine := ask(c, d.Method, w.path(d.Pattern)), allowed
			if own, ok := ownOnly[d.Pattern]; ok {
				mine = strings.Contains(own, role)
			}
			tries["there"]++
			switch {
			case !known && !turnedAway(d, here):
				t.Errorf("%s %s as %s: %d to %q", d.Method, d.Pattern, role, here.Status, here.Location)
			case known && !mine && here.Status != http.StatusForbidden:
				t.Errorf("%s %s as %s, who may not: %d", d.Method, d.Pattern, role, here.Status)
			case mine && !answered(d, here):
				t.Errorf("%s %s as %s, who may: %d %s", d.Method, d.Pattern, role, here.Status, here.Says())
			}
			for _, pattern := range strange(d.Pattern) {
				a := ask(c, d.Method, w.path(pattern))
				tries["not there"]++
				ok := a.Status == http.StatusNotFound
				switch {
				case !known: // or the path is no path of ours any more
					ok = ok || turnedAway(d, a)
				case !allowed:
					ok = ok || a.Status == http.StatusForbidden
				case d.Method == http.MethodPost:
					// Without a key nothing is looked up.
					ok = ok || a.Status == http.StatusUnprocessableEntity
				}
				if !ok {
					t.Errorf("%s %s as %s: %d %s", d.Method, w.path(pattern), role, a.Status, a.Says())
				}
			}
		}
	}
	if after := w.books(); !maps.Equal(before, after) {
		t.Errorf("looking around changed %v", changed(before, after))
	}
	t.Logf("%d routes as %d kinds of people: %d tries at what is there, %d at what is not", routes, len(people), tries["there"], tries["not there"])
	if tries["there"] < 400 || tries["not there"] < 3000 {
		t.Errorf("too few: %v", tries)
	}
}

// ask sends a request that can change nothing: a post comes without its key.
func ask(c *apptest.Client, method, path string) apptest.Answer {
	if method == http.MethodPost {
		return c.Post(path, url.Values{})
	}
	return c.Send(c.Request(method, path, nil))
}

// turnedAway tells the answer that somebody gets who has not signed in.
func turnedAway(d ui.Declared, a apptest.Answer) bool {
	if d.Method == http.MethodGet {
		return a.Status == http.StatusSeeOther && strings.HasPrefix(a.Location, "/sign-in?next=")
	}
	return a.Status == http.StatusUnauthorized
}

// answered tells the answer of a route to those who may use it, when the thing
// is there and a post has no key.
func answered(d ui.Declared, a apptest.Answer) bool {
	switch {
	case d.Pattern == "/": // leads on
		return a.Status == http.StatusSeeOther
	case d.Pattern == "/cards/{card}/handover.pdf": // the car is still here
		return a.Status == http.StatusNotFound
	case d.Pattern == "/live": // without a topic
		return a.Status == http.StatusUnprocessableEntity
	case d.Method == http.MethodPost:
		return a.Status == http.StatusUnprocessableEntity
	}
	return a.Status == http.StatusOK
}

// strange gives a pattern with each parameter made bad in turn.
func strange(pattern string) []string {
	var out []string
	for i, r := range pattern {
		if r != '{' {
			continue
		}
		end := i + strings.IndexByte(pattern[i:], '}') + 1
		for _, bad := range badIDs {
			out = append(out, pattern[:i]+bad+pattern[end:])
		}
		out = append(out, pattern[:i]+"../.."+pattern[end:])
	}
	return out
}

// What is one person's own is not another's, though both have the right.
func TestNobodyPutsSomebodyElsesTimesRight(t *testing.T) {
	w := openWorld(t)
	bram := w.quickly(w.Bram)
	for _, path := range []string{"/floor/clockings/" + w.at["clocking"], "/attendance/" + w.at["attendance"]} {
		f := w.browser("posy").Get(path)
		v := values(formTo(f.Page(), path, path, nil))
		v.Set("reason", "not mine")
		v.Set("key", apptest.Key())
		if a := bram.Get(path); a.Status != http.StatusForbidden && a.Status != http.StatusNotFound {
			t.Errorf("GET %s: %d", path, a.Status)
		}
		if a := bram.Post(path, v); a.Status != http.StatusForbidden && a.Status != http.StatusNotFound {
			t.Errorf("POST %s: %d %s", path, a.Status, a.Says())
		}
	}
	// One's own sessions are ended by their names, which are no guess.
	mine := w.browser("posy").Get("/my-sessions")
	w.session(w.Bram)
	theirs, ok := bram.Get("/my-sessions").Page().Find(`button[name="session"]`).First().Attr("value")
	if mine.Status != http.StatusOK || !ok {
		t.Fatalf("the pages of sessions: %d, %v", mine.Status, ok)
	}
	a := w.browser("posy").Post("/my-sessions/end", url.Values{"key": {apptest.Key()}, "session": {theirs}})
	if a.Status != http.StatusNotFound || bram.Get("/my-sessions").Status != http.StatusOK {
		t.Errorf("ending somebody else's session: %d", a.Status)
	}
}

// A whole form, filled in and with its key, sent to what is not there: a 404
// that does nothing. So is a line or a part by the number of another card.
func TestAWholeFormForWhatIsNotThereIsNotFound(t *testing.T) {
	w := openWorld(t)
	card, _ := w.card()
	other := ui.Itoa(card)
	tries := 0
	for _, pattern := range slices.Sorted(maps.Keys(forms)) {
		for _, e := range forms[pattern] {
			if !strings.Contains(pattern, "{") || e.by == "tablet" {
				continue
			}
			f, ok := w.open(pattern, e)
			if !ok {
				continue
			}
			before := w.books()
			var paths []string
			for name := range w.at {
				if strings.Contains(pattern, "{"+name+"}") {
					paths = append(paths, w.path(strings.Replace(pattern, "{"+name+"}", "999999", 1)))
				}
			}
			if strings.HasPrefix(pattern, "/cards/{card}/") && strings.Count(pattern, "{") > 1 {
				paths = append(paths, w.path(strings.Replace(pattern, "{card}", other, 1)))
			}
			for _, path := range paths {
				g := f
				g.path = path
				f.v.Set("key", apptest.Key())
				tries++
				if a := g.send(t, f.v); a.Status != http.StatusNotFound {
					t.Errorf("POST %s (%s): %d to %q %s", path, pattern, a.Status, a.Location, a.Says())
				}
			}
			if after := w.books(); !maps.Equal(before, after) {
				t.Errorf("POST %s: it changed %v", pattern, changed(before, after))
			}
		}
	}
	t.Logf("%d whole forms for what is not there", tries)
	if tries < 50 {
		t.Errorf("only %d tries", tries)
	}
}
