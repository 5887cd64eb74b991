package fitment_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// fresh judges a part by what is in the database now.
func (b *bench) fresh(p fitment.PartFit, c *fitment.CardFit) jobcard.Verdict {
	if p.Put == nil || p.Put.Rule == "" || !p.Put.Holds {
		return jobcard.Unchecked
	}
	switch fit.Judge(p.Rule(), fitment.KnownOf(c.Facts, c.VIN)).Truth {
	case fit.True:
		return jobcard.Fits
	case fit.False:
		return jobcard.DoesNotFit
	}
	return jobcard.CannotTell
}

// writeFact changes a fact straight in the database, again after a deadlock.
func (b *bench) writeFact(key, value string) error {
	for {
		_, err := b.DB.Pool.Exec(b.t.Context(), `update vehicle_fact set value = $3 where vehicle_id = $1 and key = $2`, b.Car, key, value)
		if !pg.Again(err) {
			return err
		}
	}
}

// One changes what is known of the car while another changes the part: its
// conditions, or its number. Whoever commits last, the verdict that stands is
// the one that follows from what stands. Once through services that judge, and
// once with the facts changed by a door that locks and judges nothing, where
// the verdict falls back.
func TestAFactAndAPartChangedAtOnceLeaveNoStaleVerdict(t *testing.T) {
	for name, follows := range map[string]bool{"judged anew": true, "falls back": false} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			id := b.part("Thermostat housing", "TH-1604")
			b.put(id, "engine layout is V")
			b.know("engine_layout", "V", vehicle.FromCar)
			layouts := []string{"V", "inline"}
			for round := range 30 {
				now, was := layouts[(round+1)%2], layouts[round%2]
				rule := "engine layout is " + layouts[round/2%2]
				version := b.look(id).PutVersion()
				var wg sync.WaitGroup
				for _, f := range []func() error{
					func() error {
						if !follows {
							return b.writeFact("engine_layout", now)
						}
						_, err := b.Vehicles.SetFact(t.Context(), b.Desk, vehicle.FactEdit{
							VehicleID: b.Car, FactInput: vehicle.FactInput{Key: "engine_layout", Value: now, Source: vehicle.FromCar}, Was: was,
						})
						return err
					},
					func() error {
						_, err := b.fit.Put(t.Context(), b.Posy, fitment.PutInput{PartID: id, Version: version, Rule: rule})
						return err
					},
					func() error {
						_, err := b.fit.ReadBox(t.Context(), b.Bram, fitment.BoxInput{PartID: id, Number: fmt.Sprintf("TH-%d", round%3), Take: true})
						return err
					},
				} {
					wg.Go(func() {
						if err := f(); err != nil && !apperr.Is(err, apperr.Conflict) {
							t.Error(err)
						}
					})
				}
				wg.Wait()
				c, err := b.fit.Card(t.Context(), b.Desk, b.card)
				b.OK(err)
				p, _ := c.Part(id)
				want := b.fresh(p, c)
				if p.Verdict != want && (follows || p.Verdict != jobcard.Unchecked) {
					t.Fatalf("round %d: %s stands where %s follows from %q and %s", round, p.Verdict, want, p.Put.Rule, now)
				}
			}
		})
	}
}

// A verdict has been reasoned and is not committed yet when a fact changes by a
// door that locks nothing: the change waits, and then the verdict falls back.
func TestAFactThatChangesBetweenAVerdictAndItsCommitWaitsForIt(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.know("engine_layout", "V", vehicle.FromCar)
	judged, goOn := make(chan struct{}), make(chan struct{})
	slow := fitment.New(&change.DB{Pool: b.DB.Pool, Now: b.DB.Now, Follow: func(ctx context.Context, tx *change.Tx, what []change.Touched) error {
		err := fitment.Follow(ctx, tx, what)
		close(judged)
		<-goOn
		return err
	}})
	var wg sync.WaitGroup
	wg.Go(func() {
		_, err := slow.Put(t.Context(), b.Posy, fitment.PutInput{PartID: id, Rule: "engine layout is V"})
		if err != nil {
			t.Error(err)
		}
	})
	<-judged
	written := make(chan error, 1)
	go func() { written <- b.writeFact("engine_layout", "inline") }()
	for waiting := false; !waiting; {
		select {
		case err := <-written:
			t.Errorf("the fact was written beside the verdict that rests on it: %v", err)
			waiting = true
		default:
			b.OK(b.DB.Pool.QueryRow(t.Context(), `select exists (select from pg_stat_activity
				where datname = current_database() and wait_event_type = 'Lock')`).Scan(&waiting))
		}
	}
	close(goOn)
	wg.Wait()
	if !t.Failed() {
		b.OK(<-written)
	}
	if p := b.look(id); p.Verdict != jobcard.Unchecked || !p.FellBack {
		t.Errorf("%s stands, fell back: %t", p.Verdict, p.FellBack)
	}
	_, err := b.fit.Judge(t.Context(), b.Posy, b.card)
	b.OK(err)
	b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
}
