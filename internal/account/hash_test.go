package account

import (
	"context"
	"crypto/rand"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/apperr"
)

// The encoded strings are from test.c of the reference implementation,
// github.com/P-H-C/phc-winner-argon2, for argon2id version 0x13.
func TestHashesOfTheReferenceImplementationAreRead(t *testing.T) {
	h := argon2id{rand.Reader}
	for _, c := range []struct{ encoded, secret string }{
		{"$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", "password"},
		{"$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4", "password"},
		{"$argon2id$v=19$m=256,t=2,p=2$c29tZXNhbHQ$bQk8UB/VmZZF4Oo79iDXuL5/0ttZwg2f/5U52iv1cDc", "password"},
	} {
		if ok, err := h.Matches(t.Context(), c.encoded, c.secret); err != nil || !ok {
			t.Errorf("%s with %q: %v, %v", c.encoded, c.secret, ok, err)
		}
		if ok, err := h.Matches(t.Context(), c.encoded, c.secret+"x"); err != nil || ok {
			t.Errorf("%s with another secret: %v, %v", c.encoded, ok, err)
		}
	}
}

func TestAHashCostsWhatTheCheatSheetAsksAndSaltsEachTime(t *testing.T) {
	h := argon2id{rand.Reader}
	a, err := h.Hash(t.Context(), goodPassword)
	if err != nil {
		t.Fatal(err)
	}
	b, err := h.Hash(t.Context(), goodPassword)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(a, "$argon2id$v=19$m=19456,t=2,p=1$") || a == b {
		t.Errorf("got %s and %s", a, b)
	}
	if ok, err := h.Matches(t.Context(), b, goodPassword); !ok || err != nil {
		t.Errorf("its own hash: %v, %v", ok, err)
	}
}

func TestNobodysHashCostsTheSameAndMatchesNothing(t *testing.T) {
	p, err := parsePHC(nobody)
	if err != nil || p.kib != hashKiB || p.passes != hashPasses || p.lanes != hashLanes || len(p.sum) != hashBytes || len(p.salt) != saltBytes {
		t.Fatalf("%+v, %v", p, err)
	}
	for _, secret := range []string{"", "0000", goodPassword} {
		if ok, err := (argon2id{rand.Reader}).Matches(t.Context(), nobody, secret); ok || err != nil {
			t.Errorf("%q: %v, %v", secret, ok, err)
		}
	}
}

func TestAStoredHashThatIsNotOursIsAnError(t *testing.T) {
	const salt, sum = "c29tZXNhbHQ", "nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"
	for _, s := range []string{
		"", "$", "plain", "$argon2i$v=19$m=256,t=2,p=1$" + salt + "$" + sum,
		"$argon2id$v=16$m=256,t=2,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=2$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=2,p=1x$" + salt + "$" + sum,
		"$argon2id$v=19$m=4,t=2,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=4000000,t=2,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=0,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=99,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=2,p=0$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=2,p=300$" + salt + "$" + sum,
		"$argon2id$v=19$m=256,t=2,p=1$!!$" + sum,
		"$argon2id$v=19$m=256,t=2,p=1$" + salt + "$" + sum[:8],
		"$argon2id$v=19$m=256,t=2,p=1$" + salt + "$" + sum + "$more",
	} {
		if ok, err := (argon2id{rand.Reader}).Matches(t.Context(), s, "password"); ok || err == nil {
			t.Errorf("%q was taken", s)
		}
	}
}

func TestNoMoreThanTwoHashesAreMadeAtOnce(t *testing.T) {
	var now, most atomic.Int64
	var wg sync.WaitGroup
	for range 20 {
		wg.Go(func() {
			err := inTurn(t.Context(), func() {
				n := now.Add(1)
				for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
				}
				time.Sleep(2 * time.Millisecond)
				now.Add(-1)
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if most.Load() != hashesAtOnce {
		t.Errorf("%d at once", most.Load())
	}
}

func TestWhoeverWaitsForAHashMayGoAway(t *testing.T) {
	release := make(chan struct{})
	var held, done sync.WaitGroup
	for range hashesAtOnce {
		held.Add(1)
		done.Go(func() {
			if err := inTurn(context.Background(), func() { held.Done(); <-release }); err != nil {
				t.Error(err)
			}
		})
	}
	held.Wait()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := inTurn(ctx, func() { t.Error("it had a turn") }); apperr.KindOf(err) != apperr.Internal || err != context.Canceled {
		t.Errorf("got %v", err)
	}
	close(release)
	done.Wait()
}
