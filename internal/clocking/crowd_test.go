package clocking_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/jobcard"
)

// crowd runs f for 0 to n-1 at once and gives what each returned.
func crowd(n int, f func(i int) error) []error {
	errs := make([]error, n)
	var wg sync.WaitGroup
	start := make(chan struct{})
	for i := range n {
		wg.Go(func() {
			<-start
			errs[i] = f(i)
		})
	}
	close(start)
	wg.Wait()
	return errs
}

func TestFiftyHandsClockingOnePersonOnNeverOverlap(t *testing.T) {
	s := clocktest.Open(t)
	s.Clock = clocking.New(&change.DB{Pool: s.DB.Pool, Now: time.Now}) // real time, so that spans have a length
	var lines []jobcard.LineID
	for range 5 {
		_, ls := s.Car(t, s.Line("One"), s.Line("Two"))
		lines = append(lines, ls...)
	}
	const taps = 50
	for i, err := range crowd(taps, func(i int) error {
		_, err := s.Clock.ClockOn(t.Context(), s.Posy.WithKey(fmt.Sprintf("tap-%d", i)), clocking.OnInput{LineID: lines[i%len(lines)]})
		return err
	}) {
		if err != nil {
			t.Errorf("tap %d: %v", i, err)
		}
	}
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during) and not voided`); n != 1 {
		t.Errorf("%d are open", n)
	}
	if n := s.Count(t, `select count(*) from clocking a join clocking b on a.id < b.id and a.staff_id = b.staff_id and a.during && b.during
		where not a.voided and not b.voided`); n != 0 {
		t.Errorf("%d pairs overlap", n)
	}
	if n := s.Count(t, `select count(*) from line where work_state = 'in hand'`); n != 1 {
		t.Errorf("%d lines are in hand", n)
	}
	if n := s.Count(t, `select count(*) from line l join clocking k on k.line_id = l.id
		where l.work_state = 'in hand' and upper_inf(k.during) and not k.voided`); n != 1 {
		t.Error("the line in hand is another than the one clocked on to")
	}
}

func TestFiftyPeopleMayWorkOnOneLine(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("All hands"))
	hands := make([]actor.Actor, 50)
	for i := range hands {
		hands[i] = s.Hire(t, fmt.Sprintf("Hand %d", i), actor.Technician)
	}
	for i, err := range crowd(len(hands), func(i int) error {
		_, err := s.Clock.ClockOn(t.Context(), hands[i], clocking.OnInput{LineID: ls[0]})
		return err
	}) {
		if err != nil {
			t.Errorf("hand %d: %v", i, err)
		}
	}
	if n := len(s.Sheet(t, card).Clocked[ls[0]].On); n != len(hands) {
		t.Errorf("%d are on", n)
	}
	s.Pass(time.Hour)
	ticked := 0
	for _, err := range crowd(8, func(i int) error {
		_, err := s.Clock.Tick(t.Context(), hands[i], clocking.LineInput{LineID: ls[0]})
		return err
	}) {
		switch {
		case err == nil:
			ticked++
		case !apperr.Is(err, apperr.Conflict):
			t.Error(err)
		}
	}
	if ticked != 1 {
		t.Errorf("%d ticks won", ticked)
	}
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during)`); n != 0 {
		t.Errorf("%d are still on", n)
	}
}

func TestPeopleCrossingBetweenTwoCardsDoNotLockEachOtherOut(t *testing.T) {
	s := clocktest.Open(t)
	s.Clock = clocking.New(&change.DB{Pool: s.DB.Pool, Now: time.Now})
	_, a := s.Car(t, s.Line("Here"))
	_, b := s.Car(t, s.Line("There"))
	ends := []jobcard.LineID{a[0], b[0]}
	hands := make([]actor.Actor, 12)
	for i := range hands {
		hands[i] = s.Hire(t, fmt.Sprintf("Hand %d", i), actor.Technician)
	}
	for i, err := range crowd(len(hands), func(i int) error {
		for round := range 10 {
			if _, err := s.Clock.ClockOn(t.Context(), hands[i], clocking.OnInput{LineID: ends[(i+round)%2]}); err != nil {
				return fmt.Errorf("round %d: %w", round, err)
			}
		}
		return nil
	}) {
		if err != nil {
			t.Errorf("hand %d: %v", i, err)
		}
	}
	if n := s.Count(t, `select count(distinct staff_id) from clocking where upper_inf(during) and not voided`); n != len(hands) {
		t.Errorf("%d are on", n)
	}
}

func TestTheSameTapSentTwiceIsOneClocking(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	who := s.Posy.WithKey("a-key-of-the-tablet")
	got := make([]clocking.On, 10)
	for i, err := range crowd(len(got), func(i int) (err error) {
		got[i], err = s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: ls[0]})
		return err
	}) {
		if err != nil || got[i] != got[0] {
			t.Errorf("%d: %+v, %v", i, got[i], err)
		}
	}
	s.Pass(time.Minute)
	s.On(t, s.Posy, ls[1])
	// A tap that comes late, by bad Wi-Fi, does not clock on again.
	s.Pass(time.Minute)
	if again, err := s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: ls[0]}); err != nil || again != got[0] {
		t.Errorf("%+v, %v", again, err)
	}
	if n := s.Count(t, `select count(*) from clocking`); n != 2 {
		t.Errorf("%d clockings", n)
	}
	if _, err := s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: ls[1]}); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("the same key for another line: %v", err)
	}
}
