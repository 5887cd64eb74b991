package garageweb_test

import (
	"maps"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rampside/internal/actor"
	"rampside/web/ui"
)

// Every route that the pages register, as every role and as nobody.
func TestOnlyTheOwnerGetsInAndEverybodyPutsTheirOwnTimeRight(t *testing.T) {
	s := newSite(t)
	a := s.in(s.Posy, "08:30", "")
	routes := 0
	for _, d := range s.kit.Declared() {
		if !strings.HasPrefix(d.Pattern, "/garage") && !strings.HasPrefix(d.Pattern, "/attendance") {
			continue
		}
		routes++
		path := strings.NewReplacer("{operation}", ui.Itoa(s.Brakes), "{labour}", ui.Itoa(s.Labour), "{supplier}", ui.Itoa(s.Supplier),
			"{attendance}", ui.Itoa(a.ID)).Replace(d.Pattern)
		for role, may := range map[string]bool{
			"owner": true, "desk": false, "bram": false, "posy": strings.Contains(d.Pattern, "{attendance}"), "": false,
		} {
			var form url.Values
			if d.Method == http.MethodPost {
				form = again(url.Values{})
			}
			got := s.do(role, d.Method, path, form)
			// An empty form is refused at its fields, or as an edit of another version.
			ok := got.Status == http.StatusOK || got.Status == http.StatusUnprocessableEntity || got.Status == http.StatusConflict
			refused := got.Status == http.StatusForbidden
			if role == "" {
				refused = got.Status == http.StatusUnauthorized || got.Status == http.StatusSeeOther && strings.HasPrefix(got.Location, "/sign-in")
			}
			if may && !ok || !may && !refused {
				t.Errorf("%s %s as %q: %d to %q", d.Method, path, role, got.Status, got.Location)
			}
		}
		if d.Need != actor.ManageGarage && !strings.HasPrefix(d.Pattern, "/attendance") {
			t.Errorf("%s needs only %s", d.Pattern, d.Need)
		}
	}
	if routes < 25 {
		t.Errorf("only %d routes", routes)
	}
}

func TestWhatIsNotThereIsAPlain404(t *testing.T) {
	s := newSite(t)
	for _, path := range []string{"/garage/operations/999", "/garage/labour/999", "/garage/suppliers/999", "/attendance/999",
		"/garage/operations/x", "/garage/labour/-1", "/garage/suppliers/9223372036854775808", "/attendance/0"} {
		if a := s.do("owner", http.MethodGet, path, nil); a.Status != http.StatusNotFound {
			t.Errorf("GET %s: %d", path, a.Status)
		}
		if a := s.post(path, again(url.Values{"name": {"x"}, "rate": {"1"}, "labour_type": {"1"}, "low": {"1"}, "likely": {"1"}, "high": {"1"}, "vat_code": {"standard"}})); a.Status != http.StatusNotFound {
			t.Errorf("POST %s: %d", path, a.Status)
		}
	}
}

// hostile is text that must be kept, shown as it is, and harm nothing; or be
// refused with words.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `'; drop table operation; --`, `../../etc/passwd`, "\x00", "a\x00b",
	"\xff\xfe", "\u202eright to left", strings.Repeat("x", 5000), "-1", "99999999999999999999", "1e400", "NaN", "{{.}}", "%s%n", "٣",
}

func TestNoTextInAnyFieldIsAFault(t *testing.T) {
	s := newSite(t)
	a := s.in(s.Posy, "08:30", "")
	forms := map[string]string{ // where each form stands, by where it posts to
		"/garage/settings": "/garage/settings", "/garage/operations": "/garage/operations/new",
		"/garage/operations/" + ui.Itoa(s.Brakes): "/garage/operations/" + ui.Itoa(s.Brakes),
		"/garage/labour": "/garage/labour", "/garage/labour/" + ui.Itoa(s.Labour): "/garage/labour/" + ui.Itoa(s.Labour),
		"/garage/suppliers": "/garage/suppliers", "/garage/suppliers/" + ui.Itoa(s.Supplier): "/garage/suppliers/" + ui.Itoa(s.Supplier),
		"/garage/vat": "/garage/vat", "/garage/hours": "/garage/hours", "/garage/hours/away": "/garage/hours",
		"/attendance/" + ui.Itoa(a.ID): "/attendance/" + ui.Itoa(a.ID), "/attendance/new": "/attendance/new",
	}
	tried := 0
	for action, page := range forms {
		plain := s.get(page).form(action)
		for name := range plain {
			for _, text := range hostile {
				v := again(maps.Clone(plain))
				v.Set(name, text)
				got := s.post(action, v)
				tried++
				if got.Status == http.StatusSeeOther { // it was taken: the next edit is made from the new version
					plain = s.get(page).form(action)
				}
				if got.Status >= 500 || got.Status < 300 {
					t.Fatalf("%s with %s = %.30q: %d", action, name, text, got.Status)
				}
				if got.Find("script:not([src])").Length() > 0 || got.Find("img").Length() > 0 {
					t.Errorf("%s with %s = %.30q: markup came through", action, name, text)
				}
			}
		}
	}
	if tried < 500 {
		t.Errorf("only %d tried", tried)
	}
	// What was taken is shown as text everywhere it appears.
	s.exec(`update operation set name = $1 || id`, hostile[0])
	s.exec(`update labour_type set name = $1 || id`, hostile[0])
	s.exec(`update supplier set name = $1 || id, phone = $2, email = $2`, hostile[0], hostile[1])
	s.exec(`update staff set name = $1 || id`, hostile[0])
	s.exec(`update garage set name = $1, address = $1, phone = $2, email = $2, vat_number = $2`, hostile[0], hostile[1])
	s.exec(`insert into event (at, staff_name, via, device, kind, subject, detail) values (now(), $1, 'page', $1, $1, $2, jsonb_build_object($1::text, $2::text))`,
		hostile[0], hostile[1])
	for _, page := range []string{"/garage", "/garage/settings", "/garage/operations", "/garage/operations/" + ui.Itoa(s.Brakes), "/garage/labour",
		"/garage/labour/" + ui.Itoa(s.Labour), "/garage/suppliers", "/garage/hours", "/garage/record", "/attendance/" + ui.Itoa(a.ID), "/attendance/new"} {
		got := s.get(page)
		if got.Find("main script, main img").Length() > 0 {
			t.Errorf("%s: markup came through", page)
		}
		if html, _ := got.Html(); !strings.Contains(html, "&lt;script&gt;alert(1)") && !strings.Contains(html, `&#34;&gt;&lt;img`) {
			t.Errorf("%s: shows no hostile text, so nothing was tested", page)
		}
	}
}

func TestAddressesOfTheListsTakeAnything(t *testing.T) {
	s := newSite(t)
	for _, text := range append(hostile, "", "%", "_", `\`) {
		for _, path := range []string{"/garage/operations?q=", "/garage/record?card=", "/garage/record?staff=", "/garage/record?day=", "/garage/record?before=", "/garage/record?verify="} {
			if a := s.do("owner", http.MethodGet, path+url.QueryEscape(text), nil); a.Status >= 500 || a.Status == http.StatusNotFound {
				t.Errorf("%s%.30q: %d", path, text, a.Status)
			}
		}
	}
}

func TestTheSameFormSentTwiceIsOneChange(t *testing.T) {
	s := newSite(t)
	v := s.get("/garage/suppliers").form("/garage/suppliers", "name", "Harbour Motor Factors")
	s.post("/garage/suppliers", v).went("/garage/suppliers")
	s.post("/garage/suppliers", v).went("/garage/suppliers")
	if n := s.count(`select count(*) from supplier where name = 'Harbour Motor Factors'`); n != 1 {
		t.Errorf("%d suppliers", n)
	}
	v.Set("name", "Other Factors")
	if a := s.post("/garage/suppliers", v); a.Status != http.StatusConflict {
		t.Errorf("the same key with other contents: %d", a.Status)
	}
	v.Del("key")
	if a := s.post("/garage/suppliers", v); a.Status != http.StatusUnprocessableEntity {
		t.Errorf("without a key: %d", a.Status)
	}
}
