//go:build !race

package app_test

import (
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"

	"rampside/internal/app/apptest"
)

// Every operation of the JSON interface on the whole server: as programs of
// everybody, as nobody, and as an owner's browser, whose cookie is worth
// nothing there. Writes come with a key that is none, so that whoever may is
// refused at its header and nothing is changed.
func TestTheRightsHoldForProgramsToo(t *testing.T) {
	w := openWorld(t)
	maps.Copy(w.at, map[string]string{"key": "displacement_cc", "source": "car", "code": "reduced", "from": "2030-01-01", "after": w.at["line"], "session": "none"})
	callers := map[string]*apptest.Client{
		"nobody": w.Nobody(), "browser": w.browser(""), "owner": w.Program(w.Owner), "desk": w.Program(w.Desk), "technician": w.Program(w.Posy),
	}
	before := w.books()
	there, strangers, operations, table := 0, 0, 0, rights(t)
	for _, d := range w.App.Handler().DeclaredToPrograms() {
		roles := table[d.Method+" "+d.Pattern]
		if roles == "" {
			if d.Need != "" {
				t.Errorf("%s %s needs %s, and by the table nothing", d.Method, d.Pattern, d.Need)
			}
			continue
		}
		operations++
		for _, name := range slices.Sorted(maps.Keys(callers)) {
			known, allowed := name != "nobody" && name != "browser", strings.Contains(roles, name)
			a := askAsProgram(callers[name], d.Method, w.path(d.Pattern))
			there++
			mine := allowed
			if own, ok := ownOnly[d.Pattern]; ok && d.Method == http.MethodGet {
				mine = strings.Contains(own, name)
			}
			switch {
			case !known && a.Status != http.StatusUnauthorized:
				t.Errorf("%s %s as %s: %d %s", d.Method, d.Pattern, name, a.Status, a.Body)
			case known && !mine && a.Status != http.StatusForbidden:
				t.Errorf("%s %s as %s, who may not: %d %s", d.Method, d.Pattern, name, a.Status, a.Body)
			case mine && d.Method == http.MethodGet && a.Status != http.StatusOK && !asks(d.Pattern):
				t.Errorf("%s %s as %s, who may: %d %s", d.Method, d.Pattern, name, a.Status, a.Body)
			case allowed && d.Method != http.MethodGet && a.Status != http.StatusUnprocessableEntity:
				t.Errorf("%s %s as %s, who may, with a bad key: %d %s", d.Method, d.Pattern, name, a.Status, a.Body)
			}
			for _, pattern := range strange(d.Pattern) {
				a := askAsProgram(callers[name], d.Method, w.path(pattern))
				strangers++
				if a.Status < 400 || a.Status >= 500 || !known && a.Status != http.StatusUnauthorized && a.Status != http.StatusNotFound {
					t.Errorf("%s %s as %s: %d %s", d.Method, w.path(pattern), name, a.Status, a.Body)
				}
			}
		}
	}
	if after := w.books(); !maps.Equal(before, after) {
		t.Errorf("looking around changed %v", changed(before, after))
	}
	t.Logf("%d operations as %d kinds of callers: %d tries at what is there, %d at what is not", operations, len(callers), there, strangers)
	if operations < 80 || strangers < 4000 {
		t.Errorf("only %d operations, %d tries", operations, strangers)
	}
}

// asks tells whether an operation is one that is asked something: a search, or
// a calculator, which are refused with nothing to go by.
func asks(pattern string) bool {
	return slices.Contains([]string{"/api/v1/vehicles", "/api/v1/customers", "/api/v1/part-numbers/memory"}, pattern) ||
		strings.HasPrefix(pattern, "/api/v1/calculators/") || pattern == "/api/v1/outlook/promises"
}

func askAsProgram(c *apptest.Client, method, path string) apptest.Answer {
	r := c.Request(method, path, http.NoBody)
	if method != http.MethodGet {
		r.Header.Set("Idempotency-Key", "no key at all")
	}
	return c.Send(r)
}
