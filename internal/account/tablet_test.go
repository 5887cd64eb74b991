package account

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestATabletIsEnrolledListedAndRevoked(t *testing.T) {
	h := staffed(t)
	e := h.tablet("  Bay 1 ")
	if e.Name != "Bay 1" || len(e.Secret) != 43 || !e.Until.After(h.clock.now().Add(300*24*time.Hour)) {
		t.Errorf("%+v", e)
	}
	if _, err := h.SignInPIN(t.Context(), h.tech, goodPIN, From{Device: e.Secret}); err != nil {
		t.Fatal(err)
	}
	list, err := h.Tablets(t.Context(), h.as(h.desk, actor.Desk))
	if err != nil || len(list) != 1 || list[0].Name != "Bay 1" || list[0].EnrolledBy != "Orla Penhale" || list[0].SignedIn != 1 {
		t.Fatalf("%+v, %v", list, err)
	}
	if _, err := h.RevokeTablet(t.Context(), h.as(h.desk, actor.Desk), e.ID); err != nil {
		t.Fatal(err)
	}
	_, err = h.RevokeTablet(t.Context(), h.as(h.desk, actor.Desk), e.ID)
	wantKind(t, "revoked twice", err, apperr.NotFound)
	if list, err = h.Tablets(t.Context(), h.as(h.desk, actor.Desk)); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
	h.tablet("Bay 1") // the name is free again
}

func TestATabletsNameIsCheckedAndItsOwn(t *testing.T) {
	h := staffed(t)
	h.tablet("Bay 1")
	for _, name := range []string{"", " ", "Bay\x001", "\xff", long(61), long(1 << 20), "Bay 1", " Bay  1"} {
		_, err := h.EnrolTablet(t.Context(), h.as(h.owner, actor.Owner), name)
		wantField(t, name, err, "name")
	}
	_, err := h.EnrolTablet(t.Context(), console(), "Bay 2")
	wantKind(t, "from the console, where no tablet is", err, apperr.Forbidden)
}

func TestEnrollingTwiceWithOneKeyIsOneTabletAndTheLastSecretHolds(t *testing.T) {
	h := staffed(t)
	who := key(h.as(h.owner, actor.Owner), "enrol")
	a, err := h.EnrolTablet(t.Context(), who, "Bay 1")
	if err != nil {
		t.Fatal(err)
	}
	b, err := h.EnrolTablet(t.Context(), who, "Bay 1")
	if err != nil {
		t.Fatal(err)
	}
	if a.ID != b.ID || b.Secret == "" {
		t.Errorf("%+v and %+v", a, b)
	}
	if h.who("", b.Secret).DeviceID != a.ID || h.who("", a.Secret).DeviceID != 0 {
		t.Error("the secret that came last is not the one that holds")
	}
}

func TestATabletShowsThoseWithAPINAndOnlyATabletDoes(t *testing.T) {
	h := staffed(t)
	h.add(NewStaff{Name: "Gone Away", Role: actor.Technician, PIN: goodPIN})
	if _, err := h.SetActive(t.Context(), console(), 4, false); err != nil {
		t.Fatal(err)
	}
	at := h.who("", h.tablet("Bay 1").Secret)
	list, err := h.AtTablet(t.Context(), at)
	if err != nil || len(list) != 2 || list[0].Name != "Orla Penhale" || list[1].Name != "Tamsin Roe" {
		t.Errorf("%+v, %v", list, err)
	}
	if p, err := h.PersonAtTablet(t.Context(), at, h.tech); err != nil || p.Name != "Tamsin Roe" {
		t.Errorf("%+v, %v", p, err)
	}
	for _, id := range []actor.StaffID{h.desk, 4, 999, 0, -1} {
		_, err := h.PersonAtTablet(t.Context(), at, id)
		wantKind(t, "no PIN", err, apperr.NotFound)
	}
	for _, who := range []actor.Actor{{}, h.as(h.owner, actor.Owner)} {
		_, err := h.AtTablet(t.Context(), who)
		wantKind(t, "names elsewhere", err, apperr.Forbidden)
		_, err = h.PersonAtTablet(t.Context(), who, h.tech)
		wantKind(t, "a name elsewhere", err, apperr.Forbidden)
	}
}
