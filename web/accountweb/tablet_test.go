package accountweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// enrolled is a browser that somebody of the desk made a tablet.
func (s *site) enrolled(name string) *browser {
	s.t.Helper()
	b := s.in("dov")
	b.send("/tablets", "/tablets", "name", name).goes(s.t, "/sign-in")
	return b
}

func TestATabletIsEnrolledAndPeopleSignInByNameAndPIN(t *testing.T) {
	s := staffed(t)
	b := s.in("dov")
	b.send("/tablets", "/tablets", "name", " ").problem(t, "no name", "name")
	b.send("/tablets", "/tablets", "name", "Ramp 2").goes(t, "/sign-in")
	// Whoever enrolled it is no longer signed in there.
	b.get("/diary").goes(t, "/sign-in?next=%2Fdiary")
	p := b.get("/sign-in?next=/diary")
	p.says(t, http.StatusOK, "This is Ramp 2", "Orla Penhale", "Tamsin Roe", "This tablet is enrolled")
	if strings.Contains(p.Find("main").Text(), "Dov") {
		t.Error("somebody without a PIN is offered")
	}
	link := p.Find(`a:contains("Tamsin Roe")`).AttrOr("href", "")
	pad := b.get(link)
	if pad.Find(`input[name=pin][inputmode=numeric][type=password]`).Length() != 1 {
		t.Error("the number keys are not asked for")
	}
	b.send(link, "", "pin", "0000").says(t, http.StatusUnprocessableEntity, "That is not your PIN")
	b.send(link, "", "pin", pin).goes(t, "/diary")
	b.get("/diary").says(t, http.StatusOK, "front of Tamsin Roe")
	// The next one takes over without anybody signing out.
	b.get("/sign-in").says(t, http.StatusOK, "Tamsin Roe is signed in")
	b.send("/sign-in/1", "", "pin", pin).goes(t, "/")
	b.get("/").says(t, http.StatusOK, "front of Orla Penhale")
	// The owner manages no staff here, even signed in.
	b.get("/staff").says(t, http.StatusOK, "This is a workshop tablet")
	if f := b.get("/staff/2").Find("main form"); f.Length() != 0 {
		t.Errorf("%d forms about staff on a tablet", f.Length())
	}
	b.post("/staff/2/password", url.Values{"key": {"0123456789abcdef"}, "password": {another}}).says(t, http.StatusForbidden, "not on a workshop tablet")
	b.post("/sign-out", nil).goes(t, "/sign-in")
	b.get("/sign-in").says(t, http.StatusOK, "This is Ramp 2")
	for _, id := range []string{"2", "999", "x", "0"} {
		if p := b.get("/sign-in/" + id); p.status != http.StatusNotFound {
			t.Errorf("person %s: %d", id, p.status)
		}
	}
	// A password works, too.
	b.send("/sign-in?with=password", "/sign-in", "sign_in", "dov", "password", password).goes(t, "/")
}

func TestALockedPINIsOpenedByTheDesk(t *testing.T) {
	s := staffed(t)
	b := s.enrolled("Ramp 2")
	for range 5 {
		b.send("/sign-in/3", "", "pin", "0000").says(t, http.StatusUnprocessableEntity)
	}
	p := b.send("/sign-in/3", "", "pin", pin)
	p.says(t, http.StatusTooManyRequests, "ask the front desk or the owner")
	dov := s.in("dov")
	dov.get("/tablets").says(t, http.StatusOK, "Tamsin Roe gave a tablet the wrong PIN too often")
	dov.send("/tablets", "/tablets/unlock/3").goes(t, "/tablets")
	b.send("/sign-in/3", "", "pin", pin).goes(t, "/")
	dov.post("/tablets/unlock/999", url.Values{"key": {"0123456789abcdef"}}).says(t, http.StatusNotFound)
	// The owner does it from the person's page, and comes back there.
	for range 5 {
		b.send("/sign-in/3", "", "pin", "0000")
	}
	orla := s.in("orla")
	orla.get("/staff").says(t, http.StatusOK, "locked")
	orla.send("/staff/3", "/tablets/unlock/3").goes(t, "/staff/3")
	orla.post("/tablets/unlock/3", url.Values{"key": {"0123456789abcdee"}, "back": {"//evil.example"}}).goes(t, "/")
}

func TestARevokedTabletIsAnOrdinaryBrowserAgain(t *testing.T) {
	s := staffed(t)
	b := s.enrolled("Ramp 2")
	b.send("/sign-in/3", "", "pin", pin).goes(t, "/")
	dov := s.in("dov")
	dov.send("/tablets", "/tablets/1/revoke").goes(t, "/tablets")
	dov.get("/tablets").says(t, http.StatusOK, "No tablet is enrolled yet")
	b.get("/").goes(t, "/sign-in?next=%2F")
	b.get("/sign-in").says(t, http.StatusOK, "Password")
	if p := b.get("/sign-in/3"); p.status != http.StatusForbidden {
		t.Errorf("a PIN on it: %d", p.status)
	}
	// From the tablet itself, by the owner's PIN.
	b = s.enrolled("Ramp 3")
	b.send("/sign-in/1", "", "pin", pin).goes(t, "/")
	b.get("/tablets").says(t, http.StatusOK, "(this one)", "This is Ramp 3")
	b.send("/tablets", "/tablets/2/revoke").goes(t, "/sign-in")
	b.get("/sign-in").says(t, http.StatusOK, "Password")
	b.post("/tablets/2/revoke", url.Values{"key": {"0123456789abcdef"}}).says(t, http.StatusUnauthorized)
}

func TestATabletThatIsUsedStaysEnrolled(t *testing.T) {
	s := staffed(t)
	b := s.enrolled("Ramp 2")
	s.ahead.Store(int64(300 * 24 * time.Hour))
	p := b.send("/sign-in/3", "", "pin", pin)
	p.goes(t, "/")
	for _, c := range (&http.Response{Header: p.header}).Cookies() {
		if c.Name == "rampside-device" && c.MaxAge > 399*24*3600 && c.HttpOnly {
			return
		}
	}
	t.Errorf("the tablet's cookie is not renewed: %v", p.header["Set-Cookie"])
}
