package accountweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rampside/internal/actor"
)

func TestTheOwnerAddsSomebodyWhoThenSignsIn(t *testing.T) {
	s := staffed(t)
	orla := s.in("orla")
	form := orla.get("/staff/new")
	send := func() page {
		return orla.sendFrom(form, "/staff/new", "/staff", "name", "Wren Ashby", "role", "desk", "sign_in", "Wren", "cost_rate", "£18.50",
			"password", another, "pin", "8305")
	}
	send().goes(t, "/staff")
	send().goes(t, "/staff") // pressed twice: the same key
	p := orla.get("/staff")
	p.says(t, http.StatusOK, "Wren Ashby", "Front desk", "wren", "set", "£18.50")
	if n := strings.Count(p.Find("table").Text(), "Wren Ashby"); n != 1 {
		t.Errorf("added %d times", n)
	}
	s.browser().send("/sign-in", "", "sign_in", "wren", "password", another).goes(t, "/")
}

func TestWhatIsWrongWithAnEntryStandsAtItsFieldAndNothingTypedIsLost(t *testing.T) {
	s := staffed(t)
	orla := s.in("orla")
	for _, c := range []struct{ field, value, at string }{
		{"name", "", "name"}, {"name", strings.Repeat("x", 81), "name"}, {"name", "Orla Penhale", "name"}, {"name", "a\x00b", "name"}, {"name", "\xff\xfe", "name"},
		{"role", "", "role"}, {"role", "root", "role"},
		{"sign_in", "or la", "sign_in"}, {"sign_in", "orla", "sign_in"}, {"sign_in", "<script>", "sign_in"},
		{"cost_rate", "-1", "cost_rate"}, {"cost_rate", "lots", "cost_rate"}, {"cost_rate", "1e9", "cost_rate"}, {"cost_rate", "9999999.99", "cost_rate"}, {"cost_rate", "12.345", "cost_rate"}, {"cost_rate", "NaN", "cost_rate"},
		{"password", "", "password"}, {"password", "short", "password"}, {"password", "wrenashby", "password"},
		{"pin", "1234", "pin"}, {"pin", "x", "pin"}, {"pin", "' or 1=1", "pin"},
	} {
		fields := map[string]string{"name": "Wren Ashby", "role": "desk", "sign_in": "wren", "cost_rate": "18.50", "password": another, "pin": "8305", c.field: c.value}
		var flat []string
		for k, v := range fields {
			flat = append(flat, k, v)
		}
		p := orla.send("/staff/new", "/staff", flat...)
		p.problem(t, c.field+" "+c.value, c.at)
		if c.field != "cost_rate" && p.value("cost_rate") != "18.50" || c.field == "cost_rate" && p.value("cost_rate") != c.value {
			t.Errorf("%s %q: the cost came back as %q", c.field, c.value, p.value("cost_rate"))
		}
		if p.value("password") != "" || p.value("pin") != "" || strings.Contains(p.body, another) {
			t.Error("a secret came back")
		}
	}
	if list, err := s.accounts.Users(t.Context(), actor.Command("test")); err != nil || len(list) != 3 {
		t.Errorf("%d on the staff, %v", len(list), err)
	}
}

func TestTwoOwnersAtOneEntrySeeBothVersions(t *testing.T) {
	s := staffed(t)
	one, two := s.in("orla"), s.in("orla")
	a, b := one.get("/staff/2"), two.get("/staff/2")
	one.sendFrom(a, "/staff/2", "/staff/2", "name", "Dov Larkin-Hale").goes(t, "/staff/2")
	p := two.sendFrom(b, "/staff/2", "/staff/2", "name", "Dov L.", "cost_rate", "19")
	p.says(t, http.StatusConflict, "Dov Larkin-Hale")
	if p.value("name") != "Dov L." || p.value("cost_rate") != "19" {
		t.Errorf("what was typed is lost: %q, %q", p.value("name"), p.value("cost_rate"))
	}
	// It is saved over the other from that very page.
	two.sendFrom(p, "/staff/2", "/staff/2").goes(t, "/staff/2")
	one.get("/staff").says(t, http.StatusOK, "Dov L.", "£19.00")
}

func TestAMistakenEditComesBackWithTheVersionItWasMadeFrom(t *testing.T) {
	s := staffed(t)
	one, two := s.in("orla"), s.in("orla")
	mine := one.sendFrom(one.get("/staff/2"), "/staff/2", "/staff/2", "name", "")
	mine.problem(t, "no name", "name")
	two.send("/staff/2", "/staff/2", "name", "Dov Larkin-Hale").goes(t, "/staff/2")
	one.sendFrom(mine, "/staff/2", "/staff/2", "name", "Dov L.").says(t, http.StatusConflict, "Dov Larkin-Hale")
}

func TestTheOwnerSetsPasswordsAndPINsAndEndsSessions(t *testing.T) {
	s := staffed(t)
	orla, dov := s.in("orla"), s.in("dov")
	orla.send("/staff/2", "/staff/2/password", "password", "short").problem(t, "short", "password")
	orla.send("/staff/2", "/staff/2/password", "password", another).goes(t, "/staff/2")
	dov.get("/").goes(t, "/sign-in?next=%2F")
	dov.send("/sign-in", "", "sign_in", "dov", "password", another).goes(t, "/")
	orla.get("/staff/2").says(t, http.StatusOK, "Where they are signed in")
	orla.send("/staff/2", "/staff/2/sessions/end").goes(t, "/staff/2")
	dov.get("/").goes(t, "/sign-in?next=%2F")
	orla.send("/staff/2", "/staff/2/pin").problem(t, "no PIN", "pin")
	orla.send("/staff/2", "/staff/2/pin", "pin", "1111").problem(t, "a trivial PIN", "pin")
	orla.send("/staff/2", "/staff/2/pin", "pin", "8305").goes(t, "/staff/2")
	p := orla.get("/staff/2")
	v := url.Values{"key": {p.value("key")}, "do": {"remove"}}
	orla.post("/staff/2/pin", v).goes(t, "/staff/2")
	if u, err := s.accounts.User(t.Context(), actor.Command("test"), s.desk); err != nil || u.HasPIN {
		t.Errorf("%+v, %v", u, err)
	}
	orla.send("/staff/1", "/staff/1/active", "active", "no").says(t, http.StatusUnprocessableEntity, "the last owner")
	if f := orla.get("/staff/1").Find(`form[action="/staff/1/password"]`); f.Length() != 0 {
		t.Error("the owner's own password can be set without the old one")
	}
}

func TestDeepLinksToNobodyAndByNobodyArePlain(t *testing.T) {
	s := staffed(t)
	orla, dov, tamsin, none := s.in("orla"), s.in("dov"), s.in("tamsin"), s.browser()
	for _, path := range []string{"/staff/999", "/staff/0", "/staff/-1", "/staff/x", "/staff/99999999999999999999", "/staff/1%00", "/staff/2/nothing"} {
		if p := orla.get(path); p.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, p.status)
		}
	}
	for _, path := range []string{"/staff", "/staff/new", "/staff/2", "/tokens"} {
		dov.get(path).says(t, http.StatusForbidden, "Not yours to do")
		tamsin.get(path).says(t, http.StatusForbidden, "Not yours to do")
		none.get(path).goes(t, "/sign-in?next="+url.QueryEscape(path))
	}
	dov.get("/tablets").says(t, http.StatusOK, "Enrol this tablet")
	tamsin.get("/tablets").says(t, http.StatusForbidden)
	for _, b := range []*browser{dov, tamsin, orla} {
		b.get("/my-sessions").says(t, http.StatusOK, "(here)")
	}
	// Names are for enrolled tablets.
	for _, b := range []*browser{none, dov} {
		if p := b.get("/sign-in/1"); p.status != http.StatusForbidden || strings.Contains(p.Find("main").Text(), "Orla") {
			t.Errorf("a name off the tablet: %d", p.status)
		}
		if p := b.post("/sign-in/1", url.Values{"pin": {pin}}); p.status != http.StatusForbidden {
			t.Errorf("a PIN off the tablet: %d", p.status)
		}
	}
}
