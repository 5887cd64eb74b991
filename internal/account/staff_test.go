package account

import (
	"errors"
	"strings"
	"sync"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func good() NewStaff {
	return NewStaff{Name: "Wren Ashby", Role: actor.Desk, SignIn: "wren", Password: goodPassword, PIN: goodPIN, CostRate: 1850}
}

func TestWhatIsWrongWithANewEntryIsSaidAtItsField(t *testing.T) {
	h := staffed(t)
	for _, c := range []struct {
		what, field string
		spoil       func(*NewStaff)
	}{
		{"no name", "name", func(in *NewStaff) { in.Name = " \t\u200b " }},
		{"a long name", "name", func(in *NewStaff) { in.Name = long(81) }},
		{"an enormous name", "name", func(in *NewStaff) { in.Name = long(1 << 20) }},
		{"a null byte", "name", func(in *NewStaff) { in.Name = "Wren\x00" }},
		{"no text", "name", func(in *NewStaff) { in.Name = "Wren \xff" }},
		{"turned around", "name", func(in *NewStaff) { in.Name = "Wren \u202eybhsA" }},
		{"a name there is", "name", func(in *NewStaff) { in.Name = "  Orla   Penhale " }},
		{"no role", "role", func(in *NewStaff) { in.Role = "" }},
		{"a role there is not", "role", func(in *NewStaff) { in.Role = "root" }},
		{"an owner without a sign-in", "sign_in", func(in *NewStaff) { in.Role = actor.Owner; in.SignIn = "" }},
		{"a password without a sign-in", "sign_in", func(in *NewStaff) { in.SignIn = "" }},
		{"a sign-in with a blank", "sign_in", func(in *NewStaff) { in.SignIn = "wren ashby" }},
		{"a sign-in of one letter", "sign_in", func(in *NewStaff) { in.SignIn = "w" }},
		{"a long sign-in", "sign_in", func(in *NewStaff) { in.SignIn = long(65) }},
		{"a hostile sign-in", "sign_in", func(in *NewStaff) { in.SignIn = "<b>'--" }},
		{"a sign-in with a null byte", "sign_in", func(in *NewStaff) { in.SignIn = "wr\x00en" }},
		{"a sign-in that looks like another", "sign_in", func(in *NewStaff) { in.SignIn = "wrеn" }}, // a Cyrillic е
		{"a sign-in there is, in capitals", "sign_in", func(in *NewStaff) { in.SignIn = "ORLA" }},
		{"a negative rate", "cost_rate", func(in *NewStaff) { in.CostRate = -1 }},
		{"a rate beyond all", "cost_rate", func(in *NewStaff) { in.CostRate = 100_000_001 }},
		{"a sign-in without a password", "password", func(in *NewStaff) { in.Password = "" }},
		{"a short password", "password", func(in *NewStaff) { in.Password = "short" }},
		{"a common password", "password", func(in *NewStaff) { in.Password = "Password1" }},
		{"the own name for a password", "password", func(in *NewStaff) { in.Password = "wren-ashby-wren" }},
		{"a short PIN", "pin", func(in *NewStaff) { in.PIN = "12" }},
		{"a trivial PIN", "pin", func(in *NewStaff) { in.PIN = "1234" }},
		{"a PIN of letters", "pin", func(in *NewStaff) { in.PIN = "abcd" }},
	} {
		in := good()
		c.spoil(&in)
		_, err := h.CreateUser(t.Context(), console(), in)
		wantField(t, c.what, err, c.field)
	}
	if n := h.count(`select count(*) from staff`); n != 3 {
		t.Errorf("%d on the staff after all these", n)
	}
	if _, err := h.CreateUser(t.Context(), console(), good()); err != nil {
		t.Errorf("the good one: %v", err)
	}
}

func TestTheGaragesNameIsNoPassword(t *testing.T) {
	h := staffed(t)
	if _, err := h.pool.Exec(t.Context(), `insert into garage (name) values ('Saltmarsh Lane Garage')`); err != nil {
		t.Fatal(err)
	}
	in := good()
	in.Password = "Saltmarsh2026"
	_, err := h.CreateUser(t.Context(), console(), in)
	wantField(t, "the garage's name", err, "password")
	_, err = h.SetPassword(t.Context(), console(), h.desk, "saltmarsh-lane!")
	wantField(t, "the garage's name, set later", err, "password")
}

func TestAnEntryComesBackAsItWasWritten(t *testing.T) {
	h := staffed(t)
	in := good()
	in.Name, in.SignIn = "  Wren \t Ashby", " WREN"
	id := h.add(in)
	p, err := h.User(t.Context(), console(), id)
	if err != nil {
		t.Fatal(err)
	}
	if p.Name != "Wren Ashby" || p.SignIn != "wren" || p.Role != actor.Desk || p.CostRate != 1850 || !p.HasPassword || !p.HasPIN || !p.Active || p.Version != 1 {
		t.Errorf("%+v", p)
	}
	if q, err := h.UserBySignIn(t.Context(), console(), "Wren"); err != nil || q.ID != id {
		t.Errorf("by sign-in: %+v, %v", q, err)
	}
	for _, s := range []string{"", "nobody", "\x00", "\xff", long(1000)} {
		_, err := h.UserBySignIn(t.Context(), console(), s)
		wantKind(t, "by sign-in "+s, err, apperr.NotFound)
	}
	_, err = h.User(t.Context(), console(), 999)
	wantKind(t, "nobody", err, apperr.NotFound)
	all, err := h.Users(t.Context(), console())
	if err != nil || len(all) != 4 {
		t.Errorf("%+v, %v", all, err)
	}
	people, err := People(t.Context(), h.pool)
	if err != nil || len(people) != 4 || people[0].Name != "Dov Larkin" {
		t.Errorf("%+v, %v", people, err)
	}
}

func TestAnEditFromAnOldVersionIsRefusedWithTheEntryAsItIs(t *testing.T) {
	h := staffed(t)
	edit := EditStaff{ID: h.desk, Version: 1, Name: "Dov Larkin-Hale", Role: actor.Desk, SignIn: "dov", CostRate: 1700}
	if _, err := h.EditUser(t.Context(), console(), edit); err != nil {
		t.Fatal(err)
	}
	edit.Name = "Somebody Else"
	_, err := h.EditUser(t.Context(), console(), edit)
	wantKind(t, "the old version", err, apperr.Conflict)
	var e *apperr.Error
	if !errors.As(err, &e) {
		t.Fatal(err)
	}
	if now, ok := e.Current.(Staff); !ok || now.Name != "Dov Larkin-Hale" || now.Version != 2 {
		t.Errorf("current is %+v", e.Current)
	}
	edit.Version, edit.Name = 2, "Orla Penhale"
	_, err = h.EditUser(t.Context(), console(), edit)
	wantField(t, "a name there is", err, "name")
	edit.ID, edit.Name = 999, "Nobody"
	_, err = h.EditUser(t.Context(), console(), edit)
	wantKind(t, "nobody", err, apperr.NotFound)
}

func TestTheLastOwnerStays(t *testing.T) {
	h := staffed(t)
	demote := EditStaff{ID: h.owner, Version: 1, Name: "Orla Penhale", Role: actor.Desk, SignIn: "orla"}
	_, err := h.EditUser(t.Context(), console(), demote)
	wantField(t, "demoted", err, "role")
	_, err = h.SetActive(t.Context(), console(), h.owner, false)
	wantField(t, "put out", err, "role")
	second := h.add(NewStaff{Name: "Second Owner", Role: actor.Owner, SignIn: "second", Password: goodPassword})
	// Both at once: one must stay.
	var wg sync.WaitGroup
	for _, id := range []actor.StaffID{h.owner, second} {
		wg.Go(func() { _, _ = h.SetActive(t.Context(), console(), id, false) })
	}
	wg.Wait()
	if n := h.count(`select count(*) from staff where role = 'owner' and active`); n != 1 {
		t.Errorf("%d owners are left", n)
	}
}

func TestWhoeverIsPutOutAndLetInAgainHasOldSecretsAndNoOldSessions(t *testing.T) {
	h := staffed(t)
	s := h.in("dov", "192.0.2.7")
	for _, active := range []bool{false, false, true} {
		if _, err := h.SetActive(t.Context(), console(), h.desk, active); err != nil {
			t.Fatal(err)
		}
	}
	if h.who(s.Token, "").Known() {
		t.Error("the old session is back")
	}
	h.in("dov", "192.0.2.7")
	if n := h.count(`select count(*) from event where kind = 'staff deactivated'`); n != 1 {
		t.Errorf("%d events of one change", n)
	}
}

// The rights of every write, by role and on a tablet.
func TestWhoMayDoWhat(t *testing.T) {
	h := staffed(t)
	e := h.tablet("Bay 1")
	owner, desk, tech := h.as(h.owner, actor.Owner), h.as(h.desk, actor.Desk), h.as(h.tech, actor.Technician)
	ownerAtTablet := owner
	ownerAtTablet.DeviceID = e.ID
	ctx := t.Context()
	forOwner, forDesk := "owner", "owner desk tablet"
	for _, c := range []struct {
		what, may string
		do        func(actor.Actor) error
	}{
		{"add staff", forOwner, func(a actor.Actor) error { _, err := h.CreateUser(ctx, a, NewStaff{}); return err }},
		{"edit staff", forOwner, func(a actor.Actor) error { _, err := h.EditUser(ctx, a, EditStaff{}); return err }},
		{"put out", forOwner, func(a actor.Actor) error { _, err := h.SetActive(ctx, a, 999, false); return err }},
		{"set a password", forOwner, func(a actor.Actor) error { _, err := h.SetPassword(ctx, a, 999, "x"); return err }},
		{"set a PIN", forOwner, func(a actor.Actor) error { _, err := h.SetPIN(ctx, a, 999, "x"); return err }},
		{"make a token", forOwner, func(a actor.Actor) error { _, err := h.CreateToken(ctx, a, NewToken{}); return err }},
		{"revoke a token", forOwner, func(a actor.Actor) error { _, err := h.RevokeToken(ctx, a, 999); return err }},
		{"list tokens", "owner tablet", func(a actor.Actor) error { _, err := h.Tokens(ctx, a); return err }},
		{"list staff", "owner tablet", func(a actor.Actor) error { _, err := h.Users(ctx, a); return err }},
		{"see somebody", "owner tablet", func(a actor.Actor) error { _, err := h.User(ctx, a, 999); return err }},
		{"find by sign-in", "owner tablet", func(a actor.Actor) error { _, err := h.UserBySignIn(ctx, a, "x"); return err }},
		{"others' sessions", "owner tablet", func(a actor.Actor) error { _, err := h.Sessions(ctx, a, 999, ""); return err }},
		{"end others' sessions", "owner tablet", func(a actor.Actor) error { _, err := h.EndSessions(ctx, a, 999, ""); return err }},
		{"end another's session", "owner tablet", func(a actor.Actor) error { _, err := h.EndSession(ctx, a, 999, "x"); return err }},
		{"list locked PINs", forDesk, func(a actor.Actor) error { _, err := h.LockedPINs(ctx, a); return err }},
		{"list tablets", forDesk, func(a actor.Actor) error { _, err := h.Tablets(ctx, a); return err }},
		{"revoke a tablet", forDesk, func(a actor.Actor) error { _, err := h.RevokeTablet(ctx, a, 999); return err }},
		{"clear a PIN lock", forDesk, func(a actor.Actor) error { _, err := h.ClearPINLock(ctx, a, 999); return err }},
		{"enrol a tablet", "owner desk", func(a actor.Actor) error {
			_, err := h.EnrolTablet(ctx, a, "")
			if apperr.Is(err, apperr.Conflict) { // it is one
				return apperr.New(apperr.Forbidden, "")
			}
			return err
		}},
	} {
		for role, who := range map[string]actor.Actor{"owner": owner, "desk": desk, "technician": tech, "tablet": ownerAtTablet} {
			err := c.do(who)
			may := strings.Contains(" "+c.may+" ", " "+role+" ")
			if got := !apperr.Is(err, apperr.Forbidden); got != may || apperr.Is(err, apperr.Unsigned) {
				t.Errorf("%s by %s: %v", c.what, role, err)
			}
		}
		wantKind(t, c.what+" by nobody", c.do(actor.Actor{}), apperr.Unsigned)
		wantKind(t, c.what+" at a tablet by nobody", c.do(actor.Actor{DeviceID: e.ID, Device: e.Name}), apperr.Unsigned)
	}
	_, err := h.SetPassword(ctx, owner, h.owner, otherPassword)
	wantKind(t, "one's own password without the old one", err, apperr.Forbidden)
}

func TestTheSameRequestTenTimesAtOnceIsOneEntry(t *testing.T) {
	h := staffed(t)
	who := key(h.as(h.owner, actor.Owner), "add")
	ids := make([]actor.StaffID, 10)
	var wg sync.WaitGroup
	for i := range ids {
		wg.Go(func() {
			id, err := h.CreateUser(t.Context(), who, good())
			if err != nil {
				t.Error(err)
			}
			ids[i] = id
		})
	}
	wg.Wait()
	for _, id := range ids {
		if id == 0 || id != ids[0] {
			t.Errorf("the answers differ: %v", ids)
			break
		}
	}
	if n := h.count(`select count(*) from event where kind = 'staff added' and staff_id = $1`, h.owner); n != 1 {
		t.Errorf("%d events", n)
	}
}
