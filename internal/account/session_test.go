package account

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg/pgtest"
)

func TestATokenIsLongRandomAndKeptAsItsFingerprintOnly(t *testing.T) {
	h := staffed(t)
	seen := map[string]bool{}
	for range 50 {
		tok := h.in("orla", "192.0.2.7").Token
		if len(tok) != 43 || seen[tok] {
			t.Fatalf("token %q", tok)
		}
		seen[tok] = true
		if n := h.count(`select count(*) from session where position($1::text::bytea in token_sha256) > 0 or length(token_sha256) <> 32`, tok); n != 0 {
			t.Error("the token itself is kept")
		}
	}
}

func TestASessionIsItsPersonWithTheRoleTheyHaveNow(t *testing.T) {
	h := staffed(t)
	s := h.in("dov", "192.0.2.7")
	a := h.who(s.Token, "")
	if a.StaffID != h.desk || a.Name != "Dov Larkin" || a.Role != actor.Desk || a.DeviceID != 0 || a.Device != "" {
		t.Errorf("%+v", a)
	}
	_, err := h.EditUser(t.Context(), console(), EditStaff{ID: h.desk, Version: 1, Name: "Dov Larkin", Role: actor.Technician, SignIn: "dov"})
	if err != nil {
		t.Fatal(err)
	}
	if a := h.who(s.Token, ""); a.Role != actor.Technician {
		t.Errorf("a minute after the change: %+v", a)
	}
}

func TestNothingButALiveTokenIsAnybody(t *testing.T) {
	h := staffed(t)
	live := h.in("orla", "192.0.2.7").Token
	for _, tok := range []string{"", "x", live + "x", live[1:], strings.ToUpper(live), " " + live, "\x00", "\xff", long(1 << 16), "' or true --", fmt.Sprintf("%x", fingerprint(live))} {
		if a := h.who(tok, ""); a != (actor.Actor{}) {
			t.Errorf("%.40q is %+v", tok, a)
		}
	}
	if a := h.who(live, ""); !a.Known() {
		t.Error("the live one is nobody")
	}
}

// Each case ends a session in its own way; the token is then worth nothing.
func TestAnEndedSessionIsNobodysAtOnce(t *testing.T) {
	type at struct {
		*house
		first SignedIn
	}
	for _, c := range []struct {
		how string
		end func(at) error
	}{
		{"signed out", func(h at) error { return h.SignOut(h.t.Context(), h.who(h.first.Token, ""), h.first.Token) }},
		{"put out", func(h at) error { _, err := h.SetActive(h.t.Context(), console(), h.desk, false); return err }},
		{"a new password from the owner", func(h at) error {
			_, err := h.SetPassword(h.t.Context(), h.as(h.owner, actor.Owner), h.desk, otherPassword)
			return err
		}},
		{"their own new password, set elsewhere", func(h at) error {
			other := h.in("dov", "192.0.2.99")
			_, err := h.ChangePassword(h.t.Context(), h.who(other.Token, ""), goodPassword, otherPassword, From{Token: other.Token})
			if h.who(other.Token, "").StaffID != h.desk {
				h.t.Error("the session that changed it ended, too")
			}
			return err
		}},
		{"the sign-in taken away", func(h at) error {
			_, err := h.EditUser(h.t.Context(), console(), EditStaff{ID: h.desk, Version: 1, Name: "Dov Larkin", Role: actor.Desk})
			return err
		}},
		{"ended by its owner", func(h at) error {
			list, err := h.Sessions(h.t.Context(), h.as(h.desk, actor.Desk), h.desk, "")
			if err != nil || len(list) != 1 {
				return fmt.Errorf("%d sessions, %w", len(list), err)
			}
			_, err = h.EndSession(h.t.Context(), h.as(h.desk, actor.Desk), h.desk, list[0].ID)
			return err
		}},
		{"all ended by the garage's owner", func(h at) error {
			_, err := h.EndSessions(h.t.Context(), h.as(h.owner, actor.Owner), h.desk, "")
			return err
		}},
		{"signed in again in the same browser", func(h at) error {
			s, err := h.SignIn(h.t.Context(), "dov", goodPassword, From{Address: "192.0.2.7", Token: h.first.Token})
			if s.Token == h.first.Token {
				h.t.Error("the token is the same")
			}
			return err
		}},
		{"the browser became a tablet", func(h at) error {
			e := h.tablet("Bay 1")
			if a := h.who(h.first.Token, e.Secret); a.Known() || a.DeviceID != e.ID {
				h.t.Errorf("on the tablet it is %+v", a)
			}
			return h.SignOut(h.t.Context(), h.as(h.desk, actor.Desk), h.first.Token)
		}},
		{"twelve hours idle", func(h at) error { h.clock.move(deskIdle); return nil }},
		{"seven days of use", func(h at) error {
			for range 7 * 4 {
				if !h.who(h.first.Token, "").Known() {
					return fmt.Errorf("it ended while it was in use, at %v", h.clock.now())
				}
				h.clock.move(6 * time.Hour)
			}
			return nil
		}},
	} {
		t.Run(c.how, func(t *testing.T) {
			t.Parallel()
			h := staffed(t)
			first := h.in("dov", "192.0.2.7")
			if h.who(first.Token, "").StaffID != h.desk {
				t.Fatal("it is nobody's to begin with")
			}
			if err := c.end(at{h, first}); err != nil {
				t.Fatal(err)
			}
			if a := h.who(first.Token, ""); a.Known() {
				t.Errorf("it is still %+v", a)
			}
		})
	}
}

func TestATabletsSessionIsBoundToTheTabletAndShorter(t *testing.T) {
	h := staffed(t)
	one, two := h.tablet("Bay 1"), h.tablet("Bay 2")
	in := func() string {
		s, err := h.SignInPIN(t.Context(), h.tech, goodPIN, From{Device: one.Secret})
		if err != nil {
			t.Fatal(err)
		}
		return s.Token
	}
	tok := in()
	if a := h.who(tok, one.Secret); a.StaffID != h.tech || a.DeviceID != one.ID || a.Device != "Bay 1" {
		t.Errorf("at its tablet: %+v", a)
	}
	if a := h.who(tok, ""); a.Known() {
		t.Errorf("stolen to a browser: %+v", a)
	}
	if a := h.who(tok, two.Secret); a.Known() || a.DeviceID != two.ID {
		t.Errorf("stolen to another tablet: %+v", a)
	}
	if a := h.who("", one.Secret); a.Known() || a.DeviceID != one.ID || a.Device != "Bay 1" || a.Role != "" {
		t.Errorf("nobody signed in at it: %+v", a)
	}
	h.clock.move(tabletIdle)
	if a := h.who(tok, one.Secret); a.Known() || a.DeviceID != one.ID {
		t.Errorf("four hours idle: %+v", a)
	}
	tok = in()
	for range 5 {
		h.clock.move(3 * time.Hour)
		if !h.who(tok, one.Secret).Known() {
			t.Fatal("it ended while it was in use")
		}
	}
	h.clock.move(time.Hour)
	if h.who(tok, one.Secret).Known() {
		t.Error("sixteen hours of use and still on")
	}
	tok = in()
	if _, err := h.SetPIN(t.Context(), console(), h.tech, "8305"); err != nil {
		t.Fatal(err)
	}
	if h.who(tok, one.Secret).Known() {
		t.Error("a new PIN and still on")
	}
	s, err := h.SignInPIN(t.Context(), h.tech, "8305", From{Device: one.Secret})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.RevokeTablet(t.Context(), h.as(h.desk, actor.Desk), one.ID); err != nil {
		t.Fatal(err)
	}
	if a := h.who(s.Token, one.Secret); a != (actor.Actor{}) {
		t.Errorf("on a revoked tablet: %+v", a)
	}
}

// trips counts the round trips that a pool makes.
type trips struct{ n atomic.Int64 }

func (c *trips) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	c.n.Add(1)
	return ctx
}
func (*trips) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}
func (c *trips) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	c.n.Add(1)
	return ctx
}
func (*trips) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (*trips) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}

func TestKnowingWhoItIsTakesOneRoundTripAndOnceAMinuteTwo(t *testing.T) {
	cfg, err := pgxpool.ParseConfig(pgtest.URL(t))
	if err != nil {
		t.Fatal(err)
	}
	c := &trips{}
	cfg.ConnConfig.Tracer = c
	pool, err := pgxpool.NewWithConfig(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	clk := newClock(time.Date(2026, 10, 5, 8, 0, 0, 0, time.UTC))
	h := &house{t: t, pool: pool, clock: clk, hasher: &cheap{}}
	h.Service = New(&change.DB{Pool: pool, Now: clk.now}, Options{Hasher: h.hasher})
	h.owner = h.add(NewStaff{Name: "Orla", Role: actor.Owner, SignIn: "orla", Password: goodPassword, PIN: goodPIN})
	e := h.tablet("Bay 1")
	s, err := h.SignInPIN(t.Context(), h.owner, goodPIN, From{Device: e.Secret})
	if err != nil {
		t.Fatal(err)
	}
	ask := func() int64 {
		before := c.n.Load()
		if !h.who(s.Token, e.Secret).Known() {
			t.Fatal("nobody")
		}
		return c.n.Load() - before
	}
	var got []int64
	for range 130 {
		got = append(got, ask())
		clk.move(time.Second)
	}
	total := int64(0)
	for _, n := range got {
		total += n
	}
	// 130 seconds hold the turn of two minutes.
	if total != 132 {
		t.Errorf("%d round trips for 130 requests: %v", total, got)
	}
	if n := h.count(`select count(*) from session where last_seen_at = $1`, clk.now().Add(-10*time.Second)); n != 1 {
		t.Error("the session's last use is not the minute's")
	}
	if n := h.count(`select count(*) from device where last_seen_at = $1`, clk.now().Add(-10*time.Second)); n != 1 {
		t.Error("the tablet's last use is not the minute's")
	}
}

func TestOnesOwnSessionsAreSeenAndEndedAndNobodyElses(t *testing.T) {
	h := staffed(t)
	a, b := h.in("dov", "192.0.2.7"), h.in("dov", "192.0.2.8")
	theirs := h.in("orla", "192.0.2.9")
	me := h.who(a.Token, "")
	list, err := h.Sessions(t.Context(), me, h.desk, a.Token)
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	current := 0
	for _, s := range list {
		if s.Current {
			current++
		}
		if s.Agent != "test browser" || s.ExpiresAt.Sub(s.Created) != deskLife {
			t.Errorf("%+v", s)
		}
	}
	if current != 1 {
		t.Errorf("%d of them are the one that asks", current)
	}
	_, err = h.Sessions(t.Context(), me, h.owner, "")
	wantKind(t, "the desk looks at the owner's", err, apperr.Forbidden)
	_, err = h.EndSessions(t.Context(), me, h.owner, "")
	wantKind(t, "the desk ends the owner's", err, apperr.Forbidden)
	owners, err := h.Sessions(t.Context(), h.as(h.owner, actor.Owner), h.owner, "")
	if err != nil || len(owners) != 1 {
		t.Fatalf("%+v, %v", owners, err)
	}
	_, err = h.EndSession(t.Context(), me, h.desk, owners[0].ID)
	wantKind(t, "the owner's session as one's own", err, apperr.NotFound)
	for _, id := range []string{"", "zz", owners[0].ID + "00", "%", long(5000)} {
		_, err = h.EndSession(t.Context(), me, h.desk, id)
		wantKind(t, "session "+id, err, apperr.NotFound)
	}
	if _, err := h.EndSessions(t.Context(), me, h.desk, a.Token); err != nil {
		t.Fatal(err)
	}
	if !h.who(a.Token, "").Known() || h.who(b.Token, "").Known() || !h.who(theirs.Token, "").Known() {
		t.Error("not just the others of one's own ended")
	}
}

func TestOldSessionsAndTriesDoNotPileUp(t *testing.T) {
	h := staffed(t)
	for i := range 120 {
		h.in("orla", fmt.Sprintf("192.0.2.%d", i%20))
		h.clock.move(time.Second)
	}
	if n := h.count(`select count(*) from session where staff_id = $1`, h.owner); n > sessionsMax+1 {
		t.Errorf("%d sessions", n)
	}
	_, err := h.SignIn(t.Context(), "nobody", "wrong", From{Address: "192.0.2.7"})
	wantKind(t, "nobody", err, apperr.Unsigned)
	h.clock.move(placeKept + time.Hour)
	h.in("orla", "192.0.2.200")
	if s, f, p := h.count(`select count(*) from session`), h.count(`select count(*) from sign_in_failure`), h.count(`select count(*) from sign_in_place`); s != 1 || f != 0 || p != 1 {
		t.Errorf("months later there are %d sessions, %d wrong tries and %d places", s, f, p)
	}
}
