package forecast_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/score"
)

func TestALatePartAndAnAbsenceCostWhatTheyCost(t *testing.T) {
	d := anyDay(6, 2, 4, 2)
	d.Cars[0].Lines[0].Parts = []forecast.Part{{Due: clock(9, 0), OnTime: 50}}
	e := engine(t, d, nil, forecast.Options{Seed: 1})
	late, err := e.IfLate(d.Cars[0].Lines[0].ID, clock(15, 0))
	if err != nil {
		t.Fatal(err)
	}
	if c := late.Cars[0]; c.Gain.Mean > -0.1 || !c.Gain.Sure(3) || math.Abs(c.After-c.Before-c.Gain.Mean) > 1e-9 {
		t.Errorf("the car with the late part: %+v", c)
	}
	away, err := e.IfAway(2, clock(10, 0))
	if err != nil {
		t.Fatal(err)
	}
	if away.OnTime.Mean > -0.2 || !away.OnTime.Sure(3) {
		t.Errorf("somebody goes home: %+v", away.OnTime)
	}
	// The same days both ways: the error of the difference is below that of two
	// independent looks.
	var paired, independent float64
	for _, c := range away.Cars {
		paired += c.Gain.Error
		independent += math.Sqrt((c.Before*(1-c.Before) + c.After*(1-c.After)) / 1000)
	}
	if paired > 0.8*independent {
		t.Errorf("the errors of the differences are %g, of two looks %g", paired, independent)
	}
	if same := forecast.Compare(e, engine(t, d.Clone(), nil, forecast.Options{Seed: 1})); same.OnTime != (score.Difference{N: 1000}) {
		t.Errorf("between a day and itself: %+v", same.OnTime)
	}
	if _, err := e.IfLate(4, opening); err == nil {
		t.Error("a line that is not there is late")
	}
	if _, err := e.IfLate(d.Cars[0].Lines[1].ID, opening); err == nil && len(d.Cars[0].Lines[1].Parts) == 0 {
		t.Error("a line without a part is late for it")
	}
	if _, err := e.IfAway(77, opening); err == nil {
		t.Error("somebody who is not there goes")
	}
}

func TestWhatIsLeftOutMayBeLeftOutAndWinsMoreThanItsError(t *testing.T) {
	named := 0
	for seed := range uint64(2) {
		d := anyDay(seed, 3, 4, 4)
		d.Cars[1].Lines[1].Spent = 0.2
		e := engine(t, d, nil, forecast.Options{Seed: seed})
		choices, err := e.LeaveOut(0)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range choices {
			named++
			if c.Gain.Mean <= 2*c.Gain.Error || len(c.Lines) == 0 {
				t.Errorf("%+v", c)
			}
			for _, car := range d.Cars {
				for _, l := range car.Lines {
					out := slices.Contains(c.Lines, l.ID)
					if out && (l.Spent > 0 || l.Must && !c.Move) {
						t.Errorf("line %d is left out", l.ID)
					}
					for _, a := range l.After {
						if slices.Contains(c.Lines, a) && !out {
							t.Errorf("line %d is left in after %d", l.ID, a)
						}
					}
				}
			}
		}
	}
	if named == 0 {
		t.Error("nothing was named on two full days: it is no test")
	}
	if _, err := engine(t, anyDay(1, 2, 2, 2), nil, forecast.Options{}).LeaveOut(9); err == nil {
		t.Error("a car that is not there is the target")
	}
}

func TestLeavingOutFindsTheLineThatStandsInTheWay(t *testing.T) {
	// Two cars, one technician: a long line that sells for little, before one
	// that must be done.
	d := oneLine(clock(12, 30))
	d.Cars[0].Lines[0].Must = true
	d.Cars = append([]forecast.Car{{ID: 2, Promise: clock(17, 30), Lines: []forecast.Line{
		{ID: 21, Operation: "polish", Estimate: law.Single(2.5), Sales: 4000},
		{ID: 22, Operation: "oil", Estimate: law.Single(0.2), Sales: 9000},
	}}}, d.Cars...)
	choices, err := engine(t, d, nil, forecast.Options{}).LeaveOut(1)
	if err != nil || len(choices) == 0 || !slices.Equal(choices[0].Lines, []int64{21}) || choices[0].Gain.Mean < 0.3 {
		t.Errorf("%+v %v", choices, err)
	}
}

func TestTheBestOrderIsNeverWorseOnDaysItHasNotSeen(t *testing.T) {
	changed, sum := 0, 0.0
	for seed := range uint64(6) {
		d := anyDay(seed, 2, 4, 3)
		d.Cars[2].Pinned = true
		p := engine(t, d, nil, forecast.Options{Seed: seed}).BestOrder()
		if len(p.Order) != 4 || p.Order[2] != d.Cars[2].ID {
			t.Fatalf("the order is %v, and the third is pinned", p.Order)
		}
		if !p.Changed {
			if p.After != p.Before || p.Gain.N != 0 {
				t.Errorf("%+v", p)
			}
			continue
		}
		changed++
		// Other draws than any of the search: both orders, with another seed.
		after := d.Clone()
		slices.SortFunc(after.Cars, func(a, b forecast.Car) int { return slices.Index(p.Order, a.ID) - slices.Index(p.Order, b.ID) })
		was, is := engine(t, d, nil, forecast.Options{Seed: seed + 500}).Look(), engine(t, after, nil, forecast.Options{Seed: seed + 500}).Look()
		gain := is.OnTime - was.OnTime
		sum += gain
		if gain < -0.005 {
			t.Errorf("seed %d: %g fewer are on time than by the order as it stands; %g was promised", seed, -gain, p.Gain.Mean)
		}
	}
	if changed == 0 || sum <= 0 {
		t.Errorf("%d orders changed, %g gained: it is no test", changed, sum)
	}
}

func TestTheSearchReachesTheBestOfASmallTightInstance(t *testing.T) {
	// 3 3 2 2 2 on two (R. L. Graham 1969): the best takes 6, longest first 7.
	// With lines that take what was estimated and all promised for 6, the search
	// keeps all five promises.
	d := forecast.Day{Now: opening, Close: clock(17, 30), Technicians: staff(2)}
	for i := range d.Technicians {
		d.Technicians[i].Spans = []forecast.Span{{From: opening, To: opening.Add(20 * time.Hour)}}
	}
	for k, h := range []float64{3, 3, 2, 2, 2} {
		id := int64(k + 1)
		d.Cars = append(d.Cars, forecast.Car{ID: id, Promise: opening.Add(6*time.Hour + time.Minute), Lines: []forecast.Line{{ID: id, Operation: "job", Estimate: law.Single(h)}}})
	}
	e := engine(t, d, certain(), forecast.Options{})
	if was := e.Look().OnTime; math.Abs(was-4) > 0.01 {
		t.Fatalf("longest first keeps %g", was)
	}
	if p := e.BestOrder(); !p.Changed || math.Abs(p.After-5) > 0.01 {
		t.Errorf("%+v", p)
	}
}

func TestAPromiseIsOfferedWhereThereIsRoomForIt(t *testing.T) {
	full, free := anyDay(3, 2, 4, 3), anyDay(3, 2, 1, 1)
	free.Cars[0].Lines[0].Estimate = law.Single(0.5)
	days := []*forecast.Engine{engine(t, full, nil, forecast.Options{Seed: 4}), engine(t, free, nil, forecast.Options{Seed: 4})}
	car := forecast.Car{ID: 900, Lines: []forecast.Line{{ID: 9001, Operation: "brakes", Estimate: law.Single(2.2)}}}
	offers, err := forecast.Offers(days, car, 0.9)
	if err != nil || len(offers) != 2 {
		t.Fatal(offers, err)
	}
	if offers[0].Safe || !offers[1].Safe || offers[1].Fits < 0.9 || offers[0].Fits >= offers[1].Fits {
		t.Errorf("%+v", offers)
	}
	// What is offered is kept: the chance of the promise is the level.
	d := free.Clone()
	car.Promise = offers[1].Promise.At
	d.Cars = append(d.Cars, car)
	if got := engine(t, d, nil, forecast.Options{Seed: 4}).Look().Cars[1].Chance; math.Abs(got-0.9) > 0.003 {
		t.Errorf("the promise is kept with %g", got)
	}
	// A longer job is promised later.
	car.Lines = []forecast.Line{{ID: 9001, Operation: "brakes", Estimate: law.Single(3)}}
	longer, err := forecast.Offers(days[1:], car, 0.9)
	if err != nil || !longer[0].Promise.At.After(offers[1].Promise.At) {
		t.Errorf("%+v %v", longer, err)
	}
	if _, err := forecast.Offers(days, free.Cars[0], 0.9); err == nil {
		t.Error("a car is booked twice")
	}
}

func TestTheTwoPlainAnswersAreThoseDoneByHand(t *testing.T) {
	// Two cars of 2 and 3 hours with one technician: 2 and 5 hours on, past a
	// break of half an hour after 4. Deviations by three figures: 0.5 and 0.5.
	d := oneLine(clock(10, 45))
	d.Cars[0].Lines[0].Estimate = law.ThreePoint{Least: 0.5, Likely: 2, Most: 3.5}
	d.Cars = append(d.Cars, forecast.Car{ID: 2, Promise: clock(14, 30), Lines: []forecast.Line{{ID: 21, Operation: "clutch", Estimate: law.ThreePoint{Least: 1.5, Likely: 3, Most: 4.5}}}})
	p := engine(t, d, nil, forecast.Options{}).Plain()
	if p[0].Added != 1 || p[1].Added != 1 {
		t.Errorf("%+v", p)
	}
	want := []float64{law.Below(0.25 / 0.5), law.Below(0.5 / math.Sqrt(0.5))}
	for c := range want {
		if math.Abs(p[c].Normal-want[c]) > 1e-9 {
			t.Errorf("car %d by the normal: %g, want %g", p[c].Car, p[c].Normal, want[c])
		}
	}
	d.Cars[1].Promise = clock(13, 0)
	if p := engine(t, d, nil, forecast.Options{}).Plain(); p[1].Added != 0 {
		t.Errorf("five hours fit into four and a half: %+v", p[1])
	}
}
