package account

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestATokenHasTheRightsOfItsPersonUntilItEnds(t *testing.T) {
	h := staffed(t)
	m, err := h.CreateToken(t.Context(), h.as(h.owner, actor.Owner), NewToken{Name: " stock  program ", StaffID: h.desk, Days: 30})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(m.Secret, "rmp_") || len(m.Secret) != 47 || m.Name != "stock program" {
		t.Errorf("%+v", m)
	}
	a, err := h.ActorByToken(t.Context(), m.Secret)
	if err != nil || a.StaffID != h.desk || a.Role != actor.Desk || a.Via != actor.ViaAPI || a.Device != "stock program" || a.DeviceID != 0 {
		t.Errorf("%+v, %v", a, err)
	}
	list, err := h.Tokens(t.Context(), h.as(h.owner, actor.Owner))
	if err != nil || len(list) != 1 || list[0].Staff != "Dov Larkin" || list[0].LastUsed == nil || list[0].Expired {
		t.Errorf("%+v, %v", list, err)
	}
	for _, tok := range []string{"", "rmp_", m.Secret[4:], m.Secret + "x", strings.ToUpper(m.Secret), "\x00", "rmp_\xff", "rmp_" + long(1<<16), "rmp_' or true--"} {
		_, err := h.ActorByToken(t.Context(), tok)
		wantKind(t, tok[:min(len(tok), 20)], err, apperr.Unsigned)
	}
	if a := h.who(m.Secret, ""); a.Known() {
		t.Error("a program's token is no session")
	}
	h.clock.move(30*24*time.Hour - time.Second)
	if _, err := h.ActorByToken(t.Context(), m.Secret); err != nil {
		t.Errorf("a second before its end: %v", err)
	}
	h.clock.move(time.Second)
	_, err = h.ActorByToken(t.Context(), m.Secret)
	wantKind(t, "at its end", err, apperr.Unsigned)
}

func TestARevokedTokenAndOneOfSomebodyPutOutAreWorthNothing(t *testing.T) {
	h := staffed(t)
	mk := func() MadeToken {
		m, err := h.CreateToken(t.Context(), console(), NewToken{Name: "program", StaffID: h.desk})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	a, b := mk(), mk()
	if _, err := h.RevokeToken(t.Context(), console(), a.ID); err != nil {
		t.Fatal(err)
	}
	_, err := h.ActorByToken(t.Context(), a.Secret)
	wantKind(t, "revoked", err, apperr.Unsigned)
	_, err = h.RevokeToken(t.Context(), console(), a.ID)
	wantKind(t, "revoked twice", err, apperr.NotFound)
	h.clock.move(9 * 365 * 24 * time.Hour) // one without an end
	if _, err := h.ActorByToken(t.Context(), b.Secret); err != nil {
		t.Errorf("nine years on: %v", err)
	}
	for _, active := range []bool{false, true} {
		if _, err := h.SetActive(t.Context(), console(), h.desk, active); err != nil {
			t.Fatal(err)
		}
		_, err = h.ActorByToken(t.Context(), b.Secret)
		wantKind(t, fmt.Sprintf("its person active: %v", active), err, apperr.Unsigned)
	}
}

func TestWhatIsWrongWithANewTokenIsSaidAtItsField(t *testing.T) {
	h := staffed(t)
	gone := h.add(NewStaff{Name: "Gone Away", Role: actor.Technician})
	if _, err := h.SetActive(t.Context(), console(), gone, false); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		field string
		in    NewToken
	}{
		{"name", NewToken{StaffID: h.desk}}, {"name", NewToken{Name: long(61), StaffID: h.desk}}, {"name", NewToken{Name: "a\x00b", StaffID: h.desk}},
		{"staff_id", NewToken{Name: "program"}}, {"staff_id", NewToken{Name: "program", StaffID: 999}}, {"staff_id", NewToken{Name: "program", StaffID: gone}},
		{"days", NewToken{Name: "program", StaffID: h.desk, Days: -1}}, {"days", NewToken{Name: "program", StaffID: h.desk, Days: 1 << 40}},
	} {
		_, err := h.CreateToken(t.Context(), console(), c.in)
		wantField(t, fmt.Sprintf("%+v", c.in), err, c.field)
	}
}

func TestTheSameRequestIsOneTokenAndItsSecretIsToldOnce(t *testing.T) {
	h := staffed(t)
	who := key(h.as(h.owner, actor.Owner), "token")
	var mu sync.Mutex
	told := 0
	var wg sync.WaitGroup
	for range 10 {
		wg.Go(func() {
			m, err := h.CreateToken(t.Context(), who, NewToken{Name: "program", StaffID: h.desk})
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			if m.Secret != "" {
				told++
			}
		})
	}
	wg.Wait()
	if n := h.count(`select count(*) from api_token`); n != 1 || told != 1 {
		t.Errorf("%d tokens, told %d times", n, told)
	}
}

func TestNoSecretIsKeptAnywhereAsItIs(t *testing.T) {
	h := staffed(t)
	owner := h.as(h.owner, actor.Owner)
	e, err := h.EnrolTablet(t.Context(), key(owner, "a"), "Bay 1")
	if err != nil {
		t.Fatal(err)
	}
	m, err := h.CreateToken(t.Context(), key(owner, "b"), NewToken{Name: "program", StaffID: h.desk})
	if err != nil {
		t.Fatal(err)
	}
	s := h.in("orla", "192.0.2.7")
	if _, err := h.SetPassword(t.Context(), key(owner, "c"), h.desk, otherPassword); err != nil {
		t.Fatal(err)
	}
	if _, err := h.SetPIN(t.Context(), key(owner, "d"), h.desk, "83051"); err != nil {
		t.Fatal(err)
	}
	_, err = h.SignIn(t.Context(), otherPassword, goodPassword, From{Address: "192.0.2.7"}) // typed into the wrong field
	wantKind(t, "a password for a sign-in", err, apperr.Unsigned)
	secrets := []string{e.Secret, m.Secret, m.Secret[4:], s.Token, goodPassword, otherPassword, "83051"}
	for _, table := range []string{"event", "write_key", "session", "device", "api_token", "sign_in_failure", "sign_in_place"} {
		var all string
		if err := h.pool.QueryRow(t.Context(), `select coalesce(string_agg(x::text, e'\n'), '') from `+table+` x`).Scan(&all); err != nil {
			t.Fatal(err)
		}
		if all == "" {
			t.Errorf("%s is empty, and proves nothing", table)
		}
		for _, secret := range secrets {
			if strings.Contains(all, secret) || strings.Contains(all, fmt.Sprintf("%x", secret)) {
				t.Errorf("%s holds %q", table, secret)
			}
		}
	}
}
