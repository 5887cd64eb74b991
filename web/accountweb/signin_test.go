package accountweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

func TestTheFirstStartAsksForTheGarageAndItsOwner(t *testing.T) {
	s := open(t)
	b := s.browser()
	b.get("/").goes(t, "/sign-in?next=%2F")
	b.get("/sign-in").goes(t, "/welcome")
	for _, c := range []struct{ field, value string }{
		{"garage", ""}, {"garage", strings.Repeat("x", 200)}, {"garage", "a\x00b"}, {"name", ""}, {"name", "\xff"},
		{"sign_in", ""}, {"sign_in", "two words"}, {"password", ""}, {"password", "short"}, {"password", "Password1"},
	} {
		fields := map[string]string{"garage": "Saltmarsh Lane Garage", "name": "Orla Penhale", "sign_in": "orla", "password": password, c.field: c.value}
		var flat []string
		for k, v := range fields {
			flat = append(flat, k, v)
		}
		p := b.send("/welcome", "", flat...)
		p.problem(t, c.field+" "+c.value, c.field)
		if strings.Contains(p.body, password) {
			t.Error("the password comes back")
		}
		if c.field != "name" && p.value("name") != "Orla Penhale" {
			t.Error("what was typed is lost")
		}
	}
	form := b.get("/welcome")
	send := func() page {
		return b.sendFrom(form, "/welcome", "", "garage", "Saltmarsh Lane Garage", "name", "Orla Penhale", "sign_in", "orla", "password", password)
	}
	send().goes(t, "/")
	b.get("/").says(t, http.StatusOK, "front of Orla Penhale")
	send().goes(t, "/") // an impatient second press
	b.get("/welcome").goes(t, "/sign-in")
	late := s.browser()
	late.sendFrom(form, "/welcome", "", "garage", "Mine", "name", "Intruder", "sign_in", "intruder", "password", another).
		says(t, http.StatusConflict, "has its owner already")
	var n int
	if err := s.db.Pool.QueryRow(t.Context(), `select count(*) from staff join garage on garage.name = 'Saltmarsh Lane Garage'`).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d owners, %v", n, err)
	}
}

func TestAWrongPasswordKeepsTheSignInAndNotThePassword(t *testing.T) {
	s := staffed(t)
	b := s.browser()
	const said = "That sign-in and password do not go together"
	for _, c := range []struct{ signIn, password string }{
		{"orla", "wrong-guess-7"}, {"nobody", password}, {"<script>alert(1)</script>", "wrong-guess-7"}, {"", ""}, {"or\x00la", "wrong-guess-7"}, {"\xff", "\xff"},
		{strings.Repeat("x", 30_000), "wrong-guess-7"},
	} {
		p := b.send("/sign-in", "", "sign_in", c.signIn, "password", c.password)
		p.says(t, http.StatusUnprocessableEntity, said)
		if got, want := p.value("sign_in"), strings.ToValidUTF8(strings.ReplaceAll(c.signIn, "\x00", "\uFFFD"), "\uFFFD"); got != want {
			t.Errorf("%.30q came back as %.30q", want, got)
		}
		if strings.Contains(p.body, "wrong-guess-7") || strings.Contains(p.body, "<script>alert") || p.value("password") != "" {
			t.Error("the password came back, or markup did")
		}
	}
	for range 9 {
		b.send("/sign-in", "", "sign_in", "orla", "password", "wrong")
	}
	p := b.send("/sign-in", "", "sign_in", "orla", "password", password)
	p.says(t, http.StatusTooManyRequests, "Wrong 10 times from here", "minutes")
	if p.value("sign_in") != "orla" {
		t.Error("the sign-in is lost")
	}
	b.post("/sign-in", url.Values{"sign_in": {strings.Repeat("x", 1<<20)}}).says(t, http.StatusRequestEntityTooLarge)
}

func TestPasswordManagersAndPasteAreWelcome(t *testing.T) {
	s := open(t)
	b := s.browser()
	w := b.get("/welcome")
	if w.Find(`input[name=sign_in][autocomplete=username]`).Length() != 1 || w.Find(`input[name=password][autocomplete=new-password][type=password]`).Length() != 1 {
		t.Error("the first start does not say what its fields are")
	}
	s = staffed(t)
	p := s.browser().get("/sign-in")
	if p.Find(`input[name=sign_in][autocomplete=username]`).Length() != 1 || p.Find(`input[name=password][autocomplete=current-password][type=password]`).Length() != 1 {
		t.Error("the sign-in does not say what its fields are")
	}
	if p.Find("[onpaste]").Length() != 0 || p.Find("input[maxlength][type=password]").Length() != 0 {
		t.Error("something stands in the way of pasting")
	}
}

func TestSigningInGoesOnToAPageOfOursOnly(t *testing.T) {
	s := staffed(t)
	for next, want := range map[string]string{
		"/diary": "/diary", "/diary?day=2026-10-05": "/diary?day=2026-10-05", "": "/", "/": "/",
		"//evil.example": "/", "https://evil.example/": "/", `/\evil.example`: "/", "javascript:alert(1)": "/",
		"/sign-in": "/", "/sign-in?next=/sign-in": "/", "/sign-in/3": "/", "/a\r\nSet-Cookie: x=y": "/", "diary": "/",
	} {
		b := s.browser()
		b.send("/sign-in?next="+url.QueryEscape(next), "/sign-in", "sign_in", "dov", "password", password).goes(t, want)
		// And for somebody who is signed in already.
		b.get("/sign-in?next="+url.QueryEscape(next)).goes(t, want)
		// What was put into the form itself is not believed either.
		b.post("/sign-in", url.Values{"sign_in": {"dov"}, "password": {password}, "next": {next}}).goes(t, want)
	}
}

func TestTheSessionsCookieIsForThisServerOnly(t *testing.T) {
	s := staffed(t)
	b := s.browser()
	p := b.send("/sign-in", "", "sign_in", "orla", "password", password)
	var found *http.Cookie
	for _, c := range (&http.Response{Header: p.header}).Cookies() {
		if c.Name == "rampside" {
			found = c
		}
	}
	if found == nil || !found.HttpOnly || found.SameSite != http.SameSiteLaxMode || found.Path != "/" || found.Domain != "" || found.MaxAge < 6*24*3600 {
		t.Errorf("%+v", found)
	}
	// Another site cannot sign anybody in, or out.
	for _, path := range []string{"/sign-in", "/sign-out"} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL+path, strings.NewReader("sign_in=orla"))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		req.Header.Set("Origin", "https://evil.example")
		if p := b.do(req); p.status != http.StatusForbidden {
			t.Errorf("%s from another site: %d", path, p.status)
		}
	}
	b.get("/").says(t, http.StatusOK, "front of Orla")
}

func TestAfterSigningOutTheOldCookieIsWorthNothing(t *testing.T) {
	s := staffed(t)
	b := s.in("orla")
	u, err := url.Parse(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	stolen := s.browser()
	stolen.Jar.SetCookies(u, b.Jar.Cookies(u))
	stolen.get("/staff").says(t, http.StatusOK, "Who works here")
	form := b.get("/staff/new")

	p := b.post("/sign-out", url.Values{})
	p.goes(t, "/sign-in")
	if !strings.Contains(p.header.Get("Clear-Site-Data"), "cache") {
		t.Error("the browser keeps the pages it saw")
	}
	b.post("/sign-out", url.Values{}).goes(t, "/sign-in") // twice is no offence
	for who, b := range map[string]*browser{"the browser itself, going back": b, "a stolen cookie": stolen} {
		b.get("/staff").goes(t, "/sign-in?next=%2Fstaff")
		if p := b.sendFrom(form, "/staff/new", "/staff", "name", "Wren Ashby"); p.status != http.StatusUnauthorized {
			t.Errorf("%s: %d", who, p.status)
		}
	}
	if h := form.header.Get("Cache-Control"); h != "no-store" {
		t.Errorf("pages may be kept: %q", h)
	}
}

func TestSomebodyPutOutIsOutOnTheNextRequest(t *testing.T) {
	s := staffed(t)
	dov, orla := s.in("dov"), s.in("orla")
	orla.send("/staff/2", "/staff/2/active", "active", "no").goes(t, "/staff/2")
	dov.get("/").goes(t, "/sign-in?next=%2F")
	dov.send("/sign-in", "", "sign_in", "dov", "password", password).says(t, http.StatusUnprocessableEntity, "do not go together")
	orla.get("/staff").says(t, http.StatusOK, "Who worked here", "Dov Larkin")
	orla.send("/staff/2", "/staff/2/active", "active", "yes").goes(t, "/staff/2")
	s.in("dov")
}
