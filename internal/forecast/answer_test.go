package forecast_test

import (
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
	"rampside/internal/forecast/score"
)

func TestTheChanceOfOneLineIsThatOfItsLaw(t *testing.T) {
	r := learn.Fit(nil, learn.Start).Ratio("brakes", "", "", 0)
	for _, h := range []float64{1.5, 2, 3, 3.9} {
		got := chance(t, oneLine(opening.Add(time.Duration(h*float64(time.Hour)))))
		// A spread that is itself not known makes the tails a little heavier.
		if want := 1 - r.Survives(h/2); math.Abs(got-want) > 0.012 {
			t.Errorf("by %g hours the chance is %g, by the law %g", h, got, want)
		}
	}
}

func TestALineThatHasRunIsConditionedOnIt(t *testing.T) {
	r := learn.Fit(nil, learn.Start).Ratio("brakes", "", "", 0)
	d := oneLine(opening.Add(90 * time.Minute))
	l := &d.Cars[0].Lines[0]
	for _, spent := range []float64{0.5, 2, 3} {
		l.Spent, l.On = spent, []int64{1}
		// The car's own share is learned from the same line, so the law's cut is
		// the answer.
		want := 1 - r.Survives((spent+1.5)/2)/r.Survives(spent/2)
		if got := chance(t, d); math.Abs(got-want) > 0.03 {
			t.Errorf("after %g hours the chance of 1.5 more is %g, by the law %g", spent, got, want)
		}
	}
	l.Done = true
	if got := chance(t, d); got != 1 {
		t.Errorf("with all done the chance is %g", got)
	}
}

func TestWhatHappensMovesTheChanceTheWayItShould(t *testing.T) {
	promise := clock(12, 0)
	base := chance(t, oneLine(promise))
	change := func(f func(*forecast.Day, *forecast.Line)) float64 {
		d := oneLine(promise)
		f(&d, &d.Cars[0].Lines[0])
		return chance(t, d)
	}
	if got := change(func(_ *forecast.Day, l *forecast.Line) { l.Snag = true }); got > base-0.2 {
		t.Errorf("a snag takes it from %g to %g", base, got)
	}
	if got := change(func(_ *forecast.Day, l *forecast.Line) { l.Parts = []forecast.Part{{Due: clock(10, 0)}} }); got > base-0.2 {
		t.Errorf("a part that is due at ten takes it from %g to %g", base, got)
	}
	reliable := change(func(_ *forecast.Day, l *forecast.Line) {
		l.Parts = []forecast.Part{{Due: clock(9, 0), OnTime: 100}}
	})
	unreliable := change(func(_ *forecast.Day, l *forecast.Line) {
		l.Parts = []forecast.Part{{Due: clock(9, 0), Late: 50, Never: 50}}
	})
	if reliable < unreliable+0.2 {
		t.Errorf("who keeps to time gives %g, who does not %g", reliable, unreliable)
	}
	if got := change(func(_ *forecast.Day, l *forecast.Line) { l.Parts = []forecast.Part{{NotComing: true}} }); got != 0 {
		t.Errorf("without its part the chance is %g", got)
	}
	if got := change(func(_ *forecast.Day, l *forecast.Line) { f := forecast.UsualFinds; l.Finds = &f }); got > base-0.02 {
		t.Errorf("what may be found takes it from %g to %g", base, got)
	}
	if got := change(func(d *forecast.Day, _ *forecast.Line) {
		d.Technicians[0].Spans[0].From = clock(10, 0)
	}); got > base-0.2 {
		t.Errorf("somebody who comes at ten takes it from %g to %g", base, got)
	}
	if got := change(func(_ *forecast.Day, l *forecast.Line) { l.Skill = "welding" }); got != 0 {
		t.Errorf("with nobody who can the chance is %g", got)
	}
}

func TestSomebodyClockedOnAtTwoLinesIsAtOne(t *testing.T) {
	d := oneLine(clock(17, 0))
	l := &d.Cars[0].Lines[0]
	l.On = []int64{1}
	d.Cars = append(d.Cars, forecast.Car{ID: 2, Promise: clock(17, 0), Lines: []forecast.Line{{ID: 21, Operation: "oil", Estimate: law.Single(1), Spent: 0.2, On: []int64{1}}}})
	o := engine(t, d, certain(), forecast.Options{}).Look()
	if h := o.Cars[1].Half.At.Sub(opening).Hours(); math.Abs(h-2.8) > 0.02 {
		t.Errorf("the second car is finished after %g hours", h)
	}
	// Somebody who has gone home is at none: the line waits for who can.
	d.Technicians[0].Spans = nil
	d.Technicians = append(d.Technicians, forecast.Technician{ID: 5, Spans: hoursOf()})
	if h := engine(t, d, certain(), forecast.Options{}).Look().Cars[0].Half.At.Sub(opening).Hours(); math.Abs(h-2) > 0.02 {
		t.Errorf("the first car is finished after %g hours", h)
	}
}

func TestALineOfTheSameCarThatTookLongWarnsOfTheNext(t *testing.T) {
	with := func(took float64) float64 {
		d := oneLine(clock(11, 30))
		d.Cars[0].Lines = append(d.Cars[0].Lines, forecast.Line{ID: 12, Operation: "exhaust", Estimate: law.Single(2), Done: true, Spent: took})
		return chance(t, d)
	}
	if slow, quick := with(4.5), with(1.6); slow > quick-0.02 {
		t.Errorf("after a slow line the chance is %g, after a quick one %g", slow, quick)
	}
}

func TestTheSameDayAndSeedGiveTheSameAnswer(t *testing.T) {
	d := anyDay(3, 3, 4, 3)
	a, b := engine(t, d, nil, forecast.Options{Seed: 9}).Look(), engine(t, d.Clone(), nil, forecast.Options{Seed: 9}).Look()
	if !reflect.DeepEqual(a, b) {
		t.Error("the same day is answered twice and differently")
	}
	c := engine(t, d, nil, forecast.Options{Seed: 10}).Look()
	for k := range a.Cars {
		if math.Abs(a.Cars[k].Chance-c.Cars[k].Chance) > 4*a.Cars[k].Error+0.002 {
			t.Errorf("another seed gives %g for %g", c.Cars[k].Chance, a.Cars[k].Chance)
		}
	}
}

func TestAnAnswerAgreesWithItself(t *testing.T) {
	o := engine(t, anyDay(8, 3, 5, 4), nil, forecast.Options{Seed: 2, Points: law.Quick}).Look()
	sum := 0.0
	for _, a := range o.Cars {
		sum += a.Chance
		within := 0
		for _, m := range a.Dots {
			if !m.Beyond && !m.At.After(a.Promise) {
				within++
			}
		}
		if math.Abs(float64(within)-20*a.Chance) > 0.51 {
			t.Errorf("car %d: %d dots of 20 before the promise, chance %g", a.Car, within, a.Chance)
		}
		if !a.Ninety.Beyond && (a.Eighty.At.After(a.Ninety.At) || a.Half.At.After(a.Eighty.At)) {
			t.Errorf("car %d: %v, %v, %v", a.Car, a.Half, a.Eighty, a.Ninety)
		}
		shares := 0.0
		for _, c := range a.Causes {
			shares += c.Share
		}
		if a.Chance < 1 && math.Abs(shares-1) > 1e-9 {
			t.Errorf("car %d: the shares of its risk sum to %g", a.Car, shares)
		}
	}
	if math.Abs(sum-o.OnTime) > 1e-9 || o.AllDone < 0 || o.AllDone > 1 || !o.Young || o.Draws != law.Quick.N {
		t.Errorf("%g on time of %g, all done %g", o.OnTime, sum, o.AllDone)
	}
	if len(o.Turns) != 20 {
		t.Errorf("%d lines have their turn", len(o.Turns))
	}
}

func TestTheCauseOfBeingLateIsTheOneThatWasPutIn(t *testing.T) {
	d := oneLine(clock(12, 30))
	d.Cars[0].Lines[0].Parts = []forecast.Part{{Due: clock(9, 0), Never: 60}}
	if c := engine(t, d, nil, forecast.Options{}).Look().Cars[0].Causes; len(c) == 0 || c[0].Kind != forecast.LatePart || c[0].Line != 11 || c[0].Share < 0.6 {
		t.Errorf("%+v", c)
	}
	d = oneLine(clock(9, 30)) // an hour for what takes two
	if c := engine(t, d, nil, forecast.Options{}).Look().Cars[0].Causes; c[0].Kind != forecast.Booked {
		t.Errorf("%+v", c)
	}
	d = oneLine(clock(12, 0))
	d.Cars = append([]forecast.Car{{ID: 2, Lines: []forecast.Line{{ID: 21, Operation: "clutch", Estimate: law.Single(1)}}}}, d.Cars...)
	d.Cars[0].Lines[0].Parts = []forecast.Part{{NotComing: true}}
	o := engine(t, d, nil, forecast.Options{}).Look()
	if c := o.Cars[1].Causes; c[0].Kind != forecast.OverHours {
		t.Errorf("%+v", c)
	}
	d.Cars[0].Promise = clock(17, 0)
	if c := engine(t, d, nil, forecast.Options{}).Look().Cars[0].Causes; len(c) != 1 || c[0].Kind != forecast.NotComing || c[0].Line != 21 {
		t.Errorf("%+v", c)
	}
}

func TestALaterPromiseIsNeverLessLikelyKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDay(rapid.Uint64Range(0, 1000).Draw(t, "seed"), 2, 3, 2)
		c := rapid.IntRange(0, 2).Draw(t, "car")
		look := func() float64 {
			e, err := forecast.New(d, nil, forecast.Options{Points: law.Points{N: 251, Factor: 76}})
			if err != nil {
				t.Fatal(err)
			}
			return e.Look().Cars[c].Chance
		}
		before := look()
		d.Cars[c].Promise = d.Cars[c].Promise.Add(time.Duration(rapid.IntRange(0, 600).Draw(t, "minutes")) * time.Minute)
		if after := look(); after < before {
			t.Fatalf("%g, and with a later promise %g", before, after)
		}
	})
}

func TestChancesAreCorrectedByWhatBecameOfEarlierOnes(t *testing.T) {
	var timid []float64 // outcomes that all came well within their forecasts
	for i := range 600 {
		timid = append(timid, 0.6*float64(i)/600)
	}
	d := oneLine(clock(11, 0))
	plain := engine(t, d, nil, forecast.Options{}).Look().Cars[0]
	r := score.Recalibrate(timid)
	fixed := engine(t, d, nil, forecast.Options{Recalibration: r}).Look().Cars[0]
	if fixed.Raw != plain.Raw || fixed.Chance < plain.Chance+0.05 || !fixed.Ninety.At.Before(plain.Ninety.At) {
		t.Errorf("%g by %v, corrected %g by %v", plain.Chance, plain.Ninety, fixed.Chance, fixed.Ninety)
	}
	if p := plain.Place(d, plain.Half.At); math.Abs(p-0.5) > 0.01 {
		t.Errorf("the middle has the place %g", p)
	}
}

func TestTheErrorOfTheDrawsIsSmallerThanThatOfPlainOnes(t *testing.T) {
	// Over seeds, on a live day, by the root mean square over the cars. The
	// bound is 0.0055 for four thousand draws.
	d := anyDay(4, 3, 4, 3)
	const seeds = 6
	sum, square := make([]float64, 4), make([]float64, 4)
	var binomial float64
	for s := range uint64(seeds) {
		for c, a := range engine(t, d, nil, forecast.Options{Seed: s}).Look().Cars {
			sum[c] += a.Chance
			square[c] += a.Chance * a.Chance
		}
	}
	var v float64
	for c := range sum {
		p := sum[c] / seeds
		v += (square[c] - seeds*p*p) / (seeds - 1) / 4
		binomial += p * (1 - p) / float64(law.Full.N) / 4
	}
	t.Logf("rms %.4f, of plain draws %.4f", math.Sqrt(v), math.Sqrt(binomial))
	if math.Sqrt(v) > 0.0055 || v > binomial {
		t.Errorf("the error is %g, of plain draws it would be %g", math.Sqrt(v), math.Sqrt(binomial))
	}
}

func TestADayThatCannotBeIsRefusedInWords(t *testing.T) {
	for name, spoil := range map[string]func(*forecast.Day){
		"no time":        func(d *forecast.Day) { d.Now = time.Time{} },
		"a car twice":    func(d *forecast.Day) { d.Cars = append(d.Cars, d.Cars[0]) },
		"a line twice":   func(d *forecast.Day) { d.Cars[0].Lines = append(d.Cars[0].Lines, d.Cars[0].Lines[0]) },
		"no estimate":    func(d *forecast.Day) { d.Cars[0].Lines[0].Estimate = law.ThreePoint{} },
		"three men":      func(d *forecast.Day) { d.Cars[0].Lines[0].Men = 3 },
		"hours below 0":  func(d *forecast.Day) { d.Cars[0].Lines[0].Spent = -1 },
		"after nothing":  func(d *forecast.Day) { d.Cars[0].Lines[0].After = []int64{99} },
		"after itself":   func(d *forecast.Day) { d.Cars[0].Lines[0].After = []int64{11} },
		"finds nonsense": func(d *forecast.Day) { d.Cars[0].Lines[0].Finds = &forecast.Finds{Chance: 2} },
		"somebody twice": func(d *forecast.Day) { d.Technicians = append(d.Technicians, d.Technicians[0]) },
		"too many":       func(d *forecast.Day) { d.Technicians = staff(65) },
		"spans that lap": func(d *forecast.Day) {
			d.Technicians[0].Spans = append(d.Technicians[0].Spans, d.Technicians[0].Spans[0])
		},
	} {
		d := oneLine(clock(12, 0))
		spoil(&d)
		if _, err := forecast.New(d, nil, forecast.Options{}); err == nil {
			t.Errorf("%s passes", name)
		}
	}
	// Nobody at work, and no cars, are days too.
	d := oneLine(clock(12, 0))
	d.Technicians = nil
	if o := engine(t, d, nil, forecast.Options{}).Look(); o.Cars[0].Chance != 0 || !o.Cars[0].Half.Beyond {
		t.Error("with nobody there it is finished")
	}
	if o := engine(t, forecast.Day{Now: opening}, nil, forecast.Options{}).Look(); len(o.Cars) != 0 || o.OnTime != 0 {
		t.Errorf("%+v", o)
	}
}
