package account

import (
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestOnesOwnPasswordIsChangedWithTheOldOne(t *testing.T) {
	h := staffed(t)
	s := h.in("dov", "192.0.2.7")
	me := h.who(s.Token, "")
	from := From{Address: "192.0.2.7", Token: s.Token}
	_, err := h.ChangePassword(t.Context(), me, "wrong", otherPassword, from)
	wantField(t, "a wrong old one", err, "old_password")
	_, err = h.ChangePassword(t.Context(), me, goodPassword, "short", from)
	wantField(t, "a bad new one", err, "password")
	h.in("dov", "192.0.2.7") // neither changed it
	me = key(me, "pw")
	for i := range 3 { // the same request again is the same change
		if _, err := h.ChangePassword(t.Context(), me, goodPassword, otherPassword, from); err != nil {
			t.Errorf("time %d: %v", i+1, err)
		}
	}
	_, err = h.SignIn(t.Context(), "dov", goodPassword, From{Address: "192.0.2.7"})
	wantKind(t, "the old one", err, apperr.Unsigned)
	if _, err := h.SignIn(t.Context(), "dov", otherPassword, From{Address: "192.0.2.7"}); err != nil {
		t.Errorf("the new one: %v", err)
	}
	if n := h.count(`select count(*) from event where kind = 'password set' and staff_id = $1`, h.desk); n != 1 {
		t.Errorf("%d events", n)
	}
}

func TestAStolenSessionCannotTryOldPasswordsForEver(t *testing.T) {
	h := staffed(t)
	s := h.in("dov", "192.0.2.7")
	h.hasher.calls.Store(0)
	for i := range 50 {
		_, err := h.ChangePassword(t.Context(), h.who(s.Token, ""), "wrong", otherPassword, From{Address: "192.0.2.7", Token: s.Token})
		if want := apperr.TooMany; i >= triesHere {
			wantKind(t, "beyond ten", err, want)
		}
	}
	if n := h.hasher.calls.Load(); n != triesHere {
		t.Errorf("%d hashes", n)
	}
}

func TestOnesOwnPINIsChangedAtATabletWithTheOldOne(t *testing.T) {
	h := staffed(t)
	e := h.tablet("Bay 1")
	from := From{Device: e.Secret}
	s, err := h.SignInPIN(t.Context(), h.tech, goodPIN, from)
	if err != nil {
		t.Fatal(err)
	}
	me := h.who(s.Token, e.Secret)
	_, err = h.ChangePIN(t.Context(), me, "0000", "8305", from)
	wantField(t, "a wrong old one", err, "old_pin")
	_, err = h.ChangePIN(t.Context(), me, goodPIN, "1111", from)
	wantField(t, "a trivial one", err, "pin")
	_, err = h.ChangePIN(t.Context(), me, goodPIN, "", from)
	wantField(t, "none", err, "pin")
	off := me
	off.DeviceID = 0
	_, err = h.ChangePIN(t.Context(), off, goodPIN, "8305", from)
	wantKind(t, "off the tablet", err, apperr.Forbidden)
	_, err = h.ChangePassword(t.Context(), me, "x", otherPassword, from)
	wantKind(t, "a password they have not", err, apperr.Forbidden)
	me = key(me, "pin")
	for range 2 {
		if _, err := h.ChangePIN(t.Context(), me, goodPIN, "8305", from); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := h.SignInPIN(t.Context(), h.tech, "8305", from); err != nil {
		t.Errorf("the new one: %v", err)
	}
	_, err = h.ChangePassword(t.Context(), actor.Actor{}, "x", "y", from)
	wantKind(t, "nobody", err, apperr.Unsigned)
}
