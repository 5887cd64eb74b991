package outlook_test

import (
	"context"
	"log/slog"
	"sync"
	"testing"
	"time"

	"rampside/internal/change"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/outlook"
)

// server is a server with a worker of its own and a screen that follows it.
func (r *rig) server() (screen <-chan live.Change) {
	r.Helper()
	hub := live.NewHub(slog.New(slog.DiscardHandler))
	ctx, cancel := context.WithCancel(r.Context())
	screen, stop := hub.Subscribe(live.Outlook)
	changes, stopChanges := hub.Subscribe(live.All)
	var running sync.WaitGroup
	running.Go(func() { hub.Listen(ctx, r.URL) })
	hear(r.T, screen) // everybody looks once the line stands
	s := outlook.New(&change.DB{Pool: r.DB.Pool, Now: r.DB.Now})
	running.Go(func() { s.Work(ctx, slog.New(slog.NewTextHandler(r.Output(), nil)), changes) })
	r.Cleanup(func() { stop(); stopChanges(); cancel(); running.Wait() })
	return screen
}

func hear(t *testing.T, ch <-chan live.Change) {
	t.Helper()
	select {
	case <-ch:
	case <-time.After(20 * time.Second):
		t.Fatal("nothing was heard within 20 s")
	}
}

func (r *rig) computed() (at time.Time, took int) {
	r.Helper()
	r.OK(r.DB.Pool.QueryRow(r.Context(), `select computed_at, took_ms from outlook`).Scan(&at, &took))
	return at, took
}

func TestATickIsInTheOutlookOfEveryServerByItself(t *testing.T) {
	r := open(t)
	c := r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service), cardtest.Op(r.Check), cardtest.Op(r.Brakes))
	r.refresh()
	before := r.of(c.ID)
	one, two := r.server(), r.server()
	r.on(r.Posy, c.Lines[0])
	for _, screen := range []<-chan live.Change{one, two} {
		hear(t, screen)
	}
	began := time.Now()
	r.Clock = r.Clock.Add(20 * time.Minute)
	r.tick(r.Posy, c.Lines[0])
	for r.today().Newer > 0 { // each change of the tick may be heard by itself
		hear(t, one)
	}
	t.Logf("the tick was in the outlook after %v", time.Since(began).Round(time.Millisecond))
	if after := r.of(c.ID); after.Done != 1 || after.Chance <= before.Chance {
		t.Errorf("done %d, chance %.3f after %.3f", after.Done, after.Chance, before.Chance)
	}
}

func TestTwoServersWorkADayOutOnce(t *testing.T) {
	r := open(t)
	r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service), cardtest.Op(r.Brakes))
	services := []*outlook.Service{r.outlook, outlook.New(r.DB), outlook.New(r.DB), outlook.New(r.DB)}
	for round := range 3 {
		r.car(r.Garage.Day, true, 13, 0, cardtest.Op(r.Check))
		worked := make([]bool, len(services))
		var all sync.WaitGroup
		for i, s := range services {
			all.Go(func() {
				var err error
				if worked[i], err = s.Refresh(t.Context()); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		n := 0
		for _, w := range worked {
			if w {
				n++
			}
		}
		if n != 1 {
			t.Errorf("round %d: worked out %d times", round, n)
		}
	}
}

func TestAnEventThatDoesNotTouchTheDayIsNotWorkedOut(t *testing.T) {
	r := open(t)
	r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service))
	r.refresh()
	r.car(r.Garage.Day.AddDays(3), false, 12, 30, cardtest.Op(r.Service))
	if r.today().Newer == 0 {
		t.Fatal("the booking made no event")
	}
	if r.refresh() {
		t.Error("a booking of another day was worked out for today")
	}
	if n := r.today().Newer; n != 0 {
		t.Errorf("%d events are still newer", n)
	}
}

func TestAnOldOutlookIsWorkedOutWhenSomebodyLooks(t *testing.T) {
	r := open(t)
	r.car(r.Garage.Day, true, 12, 30, cardtest.Op(r.Service))
	screen := r.server()
	hear(t, screen)
	at, _ := r.computed()
	r.Clock = r.Clock.Add(10 * time.Minute)
	if _, err := outlook.New(r.DB).Today(t.Context(), r.Owner); err != nil {
		t.Fatal(err)
	}
	// Another server's page cannot ask this worker, and nothing happened.
	if again, _ := r.computed(); !again.Equal(at) {
		t.Fatal("it was worked out although nobody asked this server")
	}
	if !r.refresh() {
		t.Error("an outlook of ten minutes ago was left as it was")
	}
}
