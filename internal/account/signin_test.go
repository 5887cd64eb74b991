package account

import (
	"fmt"
	"strings"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestSigningInSaysNothingOfWhatWasWrong(t *testing.T) {
	h := staffed(t)
	gone := h.add(NewStaff{Name: "Once Here", Role: actor.Desk, SignIn: "gone", Password: goodPassword})
	if _, err := h.SetActive(t.Context(), console(), gone, false); err != nil {
		t.Fatal(err)
	}
	h.hasher.calls.Store(0)
	h.hasher.asked = nil
	tries := []struct{ what, signIn, password string }{
		{"wrong password", "orla", "wrong"},
		{"no such sign-in", "nobody", goodPassword},
		{"put out", "gone", goodPassword},
		{"a name and no sign-in", "tamsin", goodPassword},
		{"nothing", "", ""},
		{"a null byte", "or\x00la", goodPassword},
		{"bytes that are no text", "\xff\xfe", "\xff\xfe"},
		{"SQL", "' or 1=1 --", "' or 1=1 --"},
		{"markup", "<script>alert(1)</script>", goodPassword},
		{"a path", "../../etc/passwd", goodPassword},
		{"a very long sign-in", long(1 << 20), goodPassword},
		{"a very long password", "orla", long(1 << 20)},
		{"a long form of the right one", "orla", goodPassword + "\x00"},
		{"right to left", "orla\u202e", goodPassword},
	}
	for i, c := range tries {
		_, err := h.SignIn(t.Context(), c.signIn, c.password, From{Address: fmt.Sprintf("192.0.2.%d", i)})
		if err == nil || err.Error() != errWrongPassword.Error() || !apperr.Is(err, apperr.Unsigned) {
			t.Errorf("%s: %v", c.what, err)
		}
	}
	// One hash each, as costly for nobody as for somebody.
	if n := h.hasher.calls.Load(); n != int64(len(tries)) {
		t.Errorf("%d hashes for %d tries", n, len(tries))
	}
	for _, stored := range h.hasher.asked {
		if stored != nobody && stored != "cheap:"+goodPassword {
			t.Errorf("compared with %q", stored)
		}
	}
}

func TestAPINIsWorthNothingOffItsTablet(t *testing.T) {
	h := staffed(t)
	e := h.tablet("Bay 1")
	for _, device := range []string{"", "made up", e.Secret + "x", strings.ToLower(e.Secret)} {
		_, err := h.SignInPIN(t.Context(), h.tech, goodPIN, From{Address: "192.0.2.7", Device: device})
		wantKind(t, "device "+device, err, apperr.Forbidden)
	}
	if _, err := h.RevokeTablet(t.Context(), h.as(h.desk, actor.Desk), e.ID); err != nil {
		t.Fatal(err)
	}
	_, err := h.SignInPIN(t.Context(), h.tech, goodPIN, From{Address: "192.0.2.7", Device: e.Secret})
	wantKind(t, "a revoked tablet", err, apperr.Forbidden)
	if n := h.hasher.calls.Load(); n != 0 {
		t.Errorf("%d hashes", n)
	}
}

func TestAWrongPersonOrPINSaysTheSame(t *testing.T) {
	h := staffed(t)
	from := From{Device: h.tablet("Bay 1").Secret}
	tries := []struct {
		what string
		id   actor.StaffID
		pin  string
	}{
		{"wrong", h.tech, "0000"}, {"empty", h.tech, ""}, {"the password", h.owner, goodPassword},
		{"nobody", 999, goodPIN}, {"minus one", -1, goodPIN}, {"without a PIN", h.desk, goodPIN},
		{"hostile", h.tech, "\x00\xff' --"}, {"enormous", h.tech, long(1 << 20)},
	}
	for _, c := range tries {
		_, err := h.SignInPIN(t.Context(), c.id, c.pin, from)
		if err == nil || err.Error() != errWrongPIN.Error() || !apperr.Is(err, apperr.Unsigned) {
			t.Errorf("%s: %v", c.what, err)
		}
	}
	if n := h.hasher.calls.Load(); n != int64(len(tries)) {
		t.Errorf("%d hashes for %d tries", n, len(tries))
	}
}

func TestSigningInIsOnRecordWithWhoAndWhere(t *testing.T) {
	h := staffed(t)
	s := h.in("orla", "192.0.2.7")
	if s.Who.StaffID != h.owner || s.Who.Role != actor.Owner || s.Until.Sub(h.clock.now()) != deskLife {
		t.Errorf("%+v until %v", s.Who, s.Until)
	}
	e := h.tablet("Bay 1")
	p, err := h.SignInPIN(t.Context(), h.tech, goodPIN, From{Address: "192.0.2.8", Device: e.Secret})
	if err != nil {
		t.Fatal(err)
	}
	if p.Who.DeviceID != e.ID || p.Who.Device != "Bay 1" || p.Until.Sub(h.clock.now()) != tabletLife {
		t.Errorf("%+v until %v", p.Who, p.Until)
	}
	for _, c := range []struct {
		id           actor.StaffID
		device, with string
	}{{h.owner, "192.0.2.7", "password"}, {h.tech, "Bay 1", "PIN"}} {
		if n := h.count(`select count(*) from event where kind = 'signed in' and staff_id = $1 and device = $2 and detail->>'with' = $3`, c.id, c.device, c.with); n != 1 {
			t.Errorf("%+v: %d events", c, n)
		}
	}
}
