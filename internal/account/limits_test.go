package account

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestAPlaceIsAnAddressANetworkOrATablet(t *testing.T) {
	for _, c := range []struct {
		address string
		device  actor.DeviceID
		want    place
	}{
		{"192.0.2.7", 0, "192.0.2.7"},
		{"::ffff:192.0.2.7", 0, "192.0.2.7"},
		{"2001:db8:1:2:3:4:5:6", 0, "2001:db8:1:2::/64"},
		{"2001:db8:1:2:ffff::1", 0, "2001:db8:1:2::/64"},
		{"fe80::1%eth0", 0, "fe80::/64"},
		{"", 0, "unknown"}, {"nonsense", 0, "unknown"}, {"192.0.2.7, 198.51.100.1", 0, "unknown"}, {"192.0.2.7:8080", 0, "unknown"},
		{"192.0.2.7", 3, "tablet:3"}, {"", 3, "tablet:3"},
	} {
		if got := placeOf(c.address, c.device); got != c.want {
			t.Errorf("%q, %d: got %q, want %q", c.address, c.device, got, c.want)
		}
	}
}

// guesses makes n wrong tries from as many hands and counts how they end.
func (h *house) guesses(n, hands int, guess func(i int) error) (heard, refused int64) {
	h.t.Helper()
	var wg sync.WaitGroup
	var next, wrong, many atomic.Int64
	for range hands {
		wg.Go(func() {
			for i := next.Add(1); i <= int64(n); i = next.Add(1) {
				switch err := guess(int(i)); apperr.KindOf(err) {
				case apperr.Unsigned:
					wrong.Add(1)
				case apperr.TooMany:
					many.Add(1)
				default:
					h.t.Errorf("guess %d: %v", i, err)
					return
				}
			}
		})
	}
	wg.Wait()
	return wrong.Load(), many.Load()
}

func TestTenThousandGuessesFromOnePlaceAreNotHeard(t *testing.T) {
	h := staffed(t)
	var names []string
	for i := range 20 {
		names = append(names, fmt.Sprintf("person%d", i))
		h.add(NewStaff{Name: fmt.Sprintf("Person %d", i), Role: actor.Desk, SignIn: names[i], Password: goodPassword})
	}
	h.in("person3", "192.0.2.50") // the garage's own place
	h.hasher.calls.Store(0)

	// The address is what the outer ring established. What a browser claims in
	// a header reaches this layer as its agent at most.
	heard, refused := h.guesses(10_000, 16, func(i int) error {
		_, err := h.SignIn(t.Context(), names[i%20], fmt.Sprintf("guess %d", i),
			From{Address: "198.51.100.9", Agent: fmt.Sprintf("X-Forwarded-For: 203.0.113.%d", i%256)})
		return err
	})
	if heard != triesSpray || refused != 10_000-triesSpray || h.hasher.calls.Load() != triesSpray {
		t.Errorf("%d heard, %d refused, %d hashes; want %d heard", heard, refused, h.hasher.calls.Load(), triesSpray)
	}
	for _, n := range names {
		if got := h.count(`select count(*) from sign_in_failure where subject = $1 and address = '198.51.100.9'`, signInSubject(n)); got > triesHere {
			t.Errorf("%s was tried %d times", n, got)
		}
	}
	if n := h.count(`select count(*) from sign_in_failure`); n != triesSpray {
		t.Errorf("%d rows are left of 10000 guesses", n)
	}
	// Everybody else is let in: where they always are, and at a new place.
	h.in("person3", "192.0.2.50")
	h.in("person4", "192.0.2.51")
	// From the attacker's place not even the right password is heard.
	_, err := h.SignIn(t.Context(), names[0], goodPassword, From{Address: "198.51.100.9"})
	wantKind(t, "the right password from the attacker's place", err, apperr.TooMany)
}

func TestTenWrongTriesFromOnePlaceCloseItForThatAccountOnly(t *testing.T) {
	h := staffed(t)
	from := From{Address: "192.0.2.7"}
	for i := range triesHere {
		_, err := h.SignIn(t.Context(), "orla", "wrong", from)
		wantKind(t, fmt.Sprintf("try %d", i+1), err, apperr.Unsigned)
		h.clock.move(time.Minute)
	}
	_, err := h.SignIn(t.Context(), "ORLA ", goodPassword, from)
	wantKind(t, "the eleventh, in capitals and right", err, apperr.TooMany)
	if err == nil || !strings.Contains(err.Error(), "5 minutes") {
		t.Errorf("the first try was ten minutes ago: %v", err)
	}
	if h.hasher.calls.Load() != triesHere {
		t.Errorf("%d hashes", h.hasher.calls.Load())
	}
	h.in("dov", "192.0.2.7")
	h.in("orla", "192.0.2.8")
	// The first of the ten is a quarter of an hour ago.
	h.clock.move(5 * time.Minute)
	h.in("orla", "192.0.2.7")
	if n := h.count(`select count(*) from sign_in_failure where subject = $1`, signInSubject("orla")); n != 0 {
		t.Errorf("%d wrong tries are still counted after the right one", n)
	}
}

func TestABotnetIsHeardAHundredTimesAndDoesNotKeepThePersonOut(t *testing.T) {
	h := staffed(t)
	h.in("orla", "192.0.2.7")
	h.hasher.calls.Store(0)
	heard, _ := h.guesses(3000, 12, func(i int) error {
		_, err := h.SignIn(t.Context(), "orla", "wrong", From{Address: fmt.Sprintf("203.%d.113.%d", i/250, i%250)})
		return err
	})
	if heard != triesStrangers || h.hasher.calls.Load() != triesStrangers {
		t.Errorf("%d heard, %d hashes", heard, h.hasher.calls.Load())
	}
	h.in("orla", "192.0.2.7")
	_, err := h.SignIn(t.Context(), "orla", goodPassword, From{Address: "198.51.100.77"})
	wantKind(t, "a place she was never at, while it lasts", err, apperr.TooMany)
	// On a tablet of the garage she is at home, too.
	if _, err := h.SignIn(t.Context(), "orla", goodPassword, From{Address: "198.51.100.77", Device: h.tablet("Bay 1").Secret}); err != nil {
		t.Errorf("at an enrolled tablet: %v", err)
	}
	h.clock.move(triesWithin)
	h.in("orla", "198.51.100.77")
}

func TestAnIPv6NetworkIsOnePlace(t *testing.T) {
	h := staffed(t)
	heard, _ := h.guesses(200, 8, func(i int) error {
		_, err := h.SignIn(t.Context(), "orla", "wrong", From{Address: fmt.Sprintf("2001:db8:9:9::%x", rand.Uint32()&0xffff)})
		return err
	})
	if heard != triesHere {
		t.Errorf("%d heard", heard)
	}
}

func TestASignInThatNobodyHasIsCountedLikeAnyOther(t *testing.T) {
	h := staffed(t)
	ask := func(name string) []string {
		var said []string
		for range triesHere + 1 {
			_, err := h.SignIn(t.Context(), name, "wrong", From{Address: "192.0.2.7"})
			said = append(said, err.Error())
		}
		return said
	}
	if a, b := ask("orla"), ask("nobody-at-all"); strings.Join(a, "|") != strings.Join(b, "|") {
		t.Errorf("one can tell them apart:\n%v\n%v", a, b)
	}
}

func TestFiveWrongPINsLockThePersonOnThatTabletUntilSomebodyClearsIt(t *testing.T) {
	h := staffed(t)
	one, two := h.tablet("Bay 1"), h.tablet("Bay 2")
	at := func(e Enrolled) From { return From{Address: "192.0.2.7", Device: e.Secret} }
	heard, refused := h.guesses(2000, 12, func(i int) error {
		_, err := h.SignInPIN(t.Context(), h.tech, fmt.Sprintf("%04d", i), at(one))
		return err
	})
	if heard != triesPIN || refused != 2000-triesPIN || h.hasher.calls.Load() != triesPIN {
		t.Errorf("%d heard, %d refused, %d hashes", heard, refused, h.hasher.calls.Load())
	}
	_, err := h.SignInPIN(t.Context(), h.tech, goodPIN, at(one))
	wantKind(t, "the right PIN on the locked tablet", err, apperr.TooMany)
	if _, err := h.SignInPIN(t.Context(), h.tech, goodPIN, at(two)); err != nil {
		t.Errorf("on the other tablet: %v", err)
	}
	if _, err := h.SignInPIN(t.Context(), h.owner, goodPIN, at(one)); err != nil {
		t.Errorf("somebody else on the locked tablet: %v", err)
	}
	if p, err := h.User(t.Context(), console(), h.tech); err != nil || !p.PINLocked || p.PINTries != triesPIN {
		t.Errorf("the owner sees %+v, %v", p, err)
	}
	if l, err := h.LockedPINs(t.Context(), h.as(h.desk, actor.Desk)); err != nil || len(l) != 1 || l[0].ID != h.tech {
		t.Errorf("the desk sees %+v, %v", l, err)
	}
	_, err = h.ClearPINLock(t.Context(), h.as(h.tech, actor.Technician), h.tech)
	wantKind(t, "a technician clears it", err, apperr.Forbidden)
	if _, err := h.ClearPINLock(t.Context(), h.as(h.desk, actor.Desk), h.tech); err != nil {
		t.Fatalf("the desk clears it: %v", err)
	}
	if _, err := h.SignInPIN(t.Context(), h.tech, goodPIN, at(one)); err != nil {
		t.Errorf("after it was cleared: %v", err)
	}
}

func TestALockedPINOpensByItselfAfterAQuarterOfAnHourThreeTimesADay(t *testing.T) {
	h := staffed(t)
	at := From{Device: h.tablet("Bay 1").Secret}
	total := 0
	for range 20 {
		for {
			_, err := h.SignInPIN(t.Context(), h.tech, "0000", at)
			if apperr.Is(err, apperr.TooMany) {
				break
			}
			wantKind(t, "a wrong PIN", err, apperr.Unsigned)
			total++
		}
		h.clock.move(triesWithin)
	}
	if total != triesPINDay {
		t.Errorf("%d wrong PINs were heard in five hours", total)
	}
	_, err := h.SignInPIN(t.Context(), h.tech, goodPIN, at)
	wantKind(t, "after fifteen in a day", err, apperr.TooMany)
	h.clock.move(pinDay)
	if _, err := h.SignInPIN(t.Context(), h.tech, goodPIN, at); err != nil {
		t.Errorf("the next day: %v", err)
	}
}

func TestATryThatWasNeverJudgedIsNotCounted(t *testing.T) {
	h := staffed(t)
	h.hasher.failing.Store(true)
	for range 3 * triesHere {
		_, err := h.SignIn(t.Context(), "orla", goodPassword, From{Address: "192.0.2.7"})
		wantKind(t, "while the hasher fails", err, apperr.Internal)
	}
	h.hasher.failing.Store(false)
	h.in("orla", "192.0.2.7")
}

func TestTheDoorThatShutsIsOnRecordOnceAndEachGuessIsNot(t *testing.T) {
	h := staffed(t)
	h.guesses(300, 8, func(int) error {
		_, err := h.SignIn(t.Context(), "orla", "wrong", From{Address: "198.51.100.9"})
		return err
	})
	if n := h.count(`select count(*) from event where kind = 'sign-in held' and staff_id = $1 and device = '198.51.100.9'`, h.owner); n != 1 {
		t.Errorf("%d events of the closed door", n)
	}
	for range 3 {
		_, err := h.SignIn(t.Context(), "orla", "wrong", From{Address: "192.0.2.7"})
		wantKind(t, "a slip", err, apperr.Unsigned)
	}
	h.in("orla", "192.0.2.7")
	if n := h.count(`select (detail->>'wrong_tries')::int from event where kind = 'signed in' and staff_id = $1`, h.owner); n != 3 {
		t.Errorf("the sign-in is on record with %d wrong tries before it", n)
	}
}
