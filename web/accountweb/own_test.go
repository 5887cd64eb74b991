package accountweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rampside/internal/apperr"
)

func TestOnesOwnSessionsAreListedAndEnded(t *testing.T) {
	s := staffed(t)
	here, there, third := s.in("dov"), s.in("dov"), s.in("dov")
	p := here.get("/my-sessions")
	if n := p.Find("tbody tr").Length(); n != 3 {
		t.Errorf("%d sessions are listed", n)
	}
	id := p.Find(`button[name=session][value!=""]`).First().AttrOr("value", "")
	here.post("/my-sessions/end", url.Values{"key": {"0123456789abcdef"}, "session": {id}}).goes(t, "/my-sessions")
	here.post("/my-sessions/end", url.Values{"key": {"0123456789abcdee"}, "session": {id}}).says(t, http.StatusNotFound)
	out := 0
	for _, b := range []*browser{there, third} {
		if b.get("/").status == http.StatusSeeOther {
			out++
		}
	}
	if out != 1 {
		t.Errorf("%d of the others are out", out)
	}
	here.post("/my-sessions/end", url.Values{"key": {"0123456789abcded"}}).goes(t, "/my-sessions")
	for _, b := range []*browser{there, third} {
		b.get("/").goes(t, "/sign-in?next=%2F")
	}
	here.get("/my-sessions").says(t, http.StatusOK, "(here)")
	here.post("/my-sessions/end", url.Values{"key": {"0123456789abcdec"}, "session": {"' or 1=1"}}).says(t, http.StatusNotFound)
}

func TestOnesOwnPasswordIsChangedOnThePage(t *testing.T) {
	s := staffed(t)
	b, other := s.in("dov"), s.in("dov")
	b.send("/my-sessions", "/my-sessions/password", "old_password", "wrong", "password", another).problem(t, "wrong old", "old_password")
	b.send("/my-sessions", "/my-sessions/password", "old_password", password, "password", "dovlarkin").problem(t, "own name", "password")
	form := b.get("/my-sessions")
	for range 2 {
		b.sendFrom(form, "/my-sessions", "/my-sessions/password", "old_password", password, "password", another).goes(t, "/my-sessions")
	}
	other.get("/").goes(t, "/sign-in?next=%2F")
	s.browser().send("/sign-in", "", "sign_in", "dov", "password", another).goes(t, "/")
	for range 10 {
		b.send("/my-sessions", "/my-sessions/password", "old_password", "wrong", "password", password)
	}
	b.send("/my-sessions", "/my-sessions/password", "old_password", another, "password", password).says(t, http.StatusTooManyRequests, "Wrong 10 times")
}

func TestOnesOwnPINIsChangedOnTheTablet(t *testing.T) {
	s := staffed(t)
	b := s.enrolled("Ramp 2")
	b.send("/sign-in/3", "", "pin", pin).goes(t, "/")
	b.send("/my-sessions", "/my-sessions/pin", "old_pin", "0000", "pin", "8305").problem(t, "wrong old", "old_pin")
	b.send("/my-sessions", "/my-sessions/pin", "old_pin", pin, "pin", "1234").problem(t, "trivial", "pin")
	b.send("/my-sessions", "/my-sessions/pin", "old_pin", pin, "pin", "8305").goes(t, "/sign-in")
	b.send("/sign-in/3", "", "pin", pin).says(t, http.StatusUnprocessableEntity)
	b.send("/sign-in/3", "", "pin", "8305").goes(t, "/")
}

func TestATokenIsShownOnceAndRevoked(t *testing.T) {
	s := staffed(t)
	orla := s.in("orla")
	for _, c := range []struct{ field, value string }{
		{"name", ""}, {"name", strings.Repeat("x", 61)}, {"name", "a\x00b"}, {"staff_id", ""}, {"staff_id", "999"}, {"staff_id", "x"}, {"days", "7"}, {"days", ""}, {"days", "-1"},
	} {
		fields := map[string]string{"name": "stock program", "staff_id": "2", "days": "90", c.field: c.value}
		orla.send("/tokens", "", "name", fields["name"], "staff_id", fields["staff_id"], "days", fields["days"]).problem(t, c.field+" "+c.value, c.field)
	}
	form := orla.get("/tokens")
	send := func() page {
		return orla.sendFrom(form, "/tokens", "", "name", "stock program", "staff_id", "2", "days", "90")
	}
	p := send()
	p.says(t, http.StatusOK, "Copy it now", "stock program", "Dov Larkin, Front desk")
	secret := p.Find("code.secret").Text()
	if a, err := s.accounts.ActorByToken(t.Context(), secret); err != nil || a.StaffID != s.desk {
		t.Errorf("the token is %+v, %v", a, err)
	}
	if p := send(); p.Find("code.secret").Length() != 0 || strings.Contains(p.body, secret) {
		t.Error("sent again, it is shown again")
	} else {
		p.says(t, http.StatusOK, "was made already")
	}
	if strings.Contains(orla.get("/tokens").body, secret) {
		t.Error("the page shows it later")
	}
	orla.send("/tokens", "/tokens/1/revoke").goes(t, "/tokens")
	if _, err := s.accounts.ActorByToken(t.Context(), secret); !apperr.Is(err, apperr.Unsigned) {
		t.Errorf("revoked: %v", err)
	}
	orla.get("/tokens").says(t, http.StatusOK, "There is no token")
	orla.post("/tokens/1/revoke", url.Values{"key": {"0123456789abcdef"}}).says(t, http.StatusNotFound)
}
