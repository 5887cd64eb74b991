package post

import (
	"fmt"
	"net/mail"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestAServerThatIsAwayIsTriedForDaysAndThenGivenUp(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	r.box.close()
	start := r.Clock
	for r.one() {
		if s := r.status(); s.State == Waiting {
			r.Clock = s.NextTry
		}
	}
	s := r.status()
	if s.State != Failed || s.Tries < 20 || s.DoneAt.Sub(start) < GiveUp-3*time.Hour || s.Trouble == "" {
		t.Fatalf("%+v", s)
	}
}

func TestAServerThatComesBackGetsWhatWaited(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	at := r.box.at
	r.box.close()
	r.one()
	if s := r.status(); s.State != Waiting || s.Trouble == "" {
		t.Fatalf("%+v", s)
	}
	r.box.listen(at)
	r.Clock = r.Clock.Add(Retry(1))
	r.one()
	if s := r.status(); s.State != Sent {
		t.Errorf("%+v", s)
	}
}

// The one moment in which a letter can go out twice: the other side said yes,
// and the server died before it noted it.
func TestAWorkerKilledBetweenTheYesAndTheNoteSendsTheSameMailAgain(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	type kill struct{}
	r.w.sent = func() { panic(kill{}) }
	func() {
		defer func() {
			if _, ok := recover().(kill); !ok {
				t.Error("it was not killed there")
			}
		}()
		_, _ = r.w.One(t.Context())
	}()
	r.w.sent = nil
	if r.one() {
		t.Error("another server took the letter while it was in hand")
	}
	r.Clock = r.Clock.Add(holdTime)
	r.one()
	got := r.box.letters()
	if len(got) != 2 || r.status().State != Sent {
		t.Fatalf("%d letters, %+v", len(got), r.status())
	}
	ids := map[string]bool{}
	for _, g := range got {
		m, err := mail.ReadMessage(strings.NewReader(g))
		r.OK(err)
		ids[m.Header.Get("Message-Id")] = true
	}
	if len(ids) != 1 || ids[""] {
		t.Errorf("the Message-IDs are %v", ids)
	}
}

func TestAServerThatHangsUpAfterItsYesHasTheLetter(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	r.box.rude = true
	r.one()
	if s := r.status(); s.State != Sent || len(r.box.letters()) != 1 {
		t.Errorf("%+v, %d letters", s, len(r.box.letters()))
	}
}

func TestManyServersSendEachLetterOnce(t *testing.T) {
	r := open(t)
	const letters = 40
	for i := range letters {
		l := plainLetter()
		l.Subject = fmt.Sprintf("Letter %d", i)
		_, err := r.put(l)
		r.OK(err)
	}
	var wait sync.WaitGroup
	for range 6 {
		wait.Go(func() {
			w := &Worker{DB: r.DB, Server: r.box.server(), Log: r.w.Log}
			for {
				done, err := w.One(t.Context())
				if err != nil {
					t.Error(err)
				}
				if err != nil || !done {
					return
				}
			}
		})
	}
	wait.Wait()
	seen := map[string]int{}
	for _, g := range r.box.letters() {
		m, err := mail.ReadMessage(strings.NewReader(g))
		r.OK(err)
		seen[m.Header.Get("Subject")]++
	}
	if len(seen) != letters || len(r.box.letters()) != letters {
		t.Errorf("%d letters came, of %d", len(r.box.letters()), len(seen))
	}
}

// A letter that waited for weeks until mail was set up is tried as long as any
// other: at least four days, RFC 5321, 4.5.4.1.
func TestTheDaysOfALetterCountFromItsFirstTry(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	r.Clock = r.Clock.Add(30 * 24 * time.Hour)
	r.box.close()
	first := r.Clock
	for range 60 {
		r.one()
		s := r.status()
		if s.State == Failed {
			if gone := r.Clock.Sub(first); gone < GiveUp-Retry(9) || gone > GiveUp {
				t.Errorf("given up after %v", gone)
			}
			return
		}
		r.Clock = s.NextTry
	}
	t.Errorf("never given up: %+v", r.status())
}
