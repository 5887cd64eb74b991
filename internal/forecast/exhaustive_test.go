package forecast

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"rampside/internal/forecast/law"
)

// fullDay makes up a day with more work than it holds.
func fullDay(seed uint64, men, cars, lines int) Day {
	r := rand.New(rand.NewPCG(seed, 5))
	start := time.Date(2027, 3, 2, 8, 30, 0, 0, time.UTC)
	d := Day{Now: start, Close: start.Add(9 * time.Hour), Ramps: men}
	for t := range men {
		d.Technicians = append(d.Technicians, Technician{ID: int64(t + 1), Spans: []Span{{start, start.Add(9 * time.Hour)}, {start.Add(24 * time.Hour), start.Add(33 * time.Hour)}}})
	}
	for c := range cars {
		car := Car{ID: int64(c + 1), Promise: start.Add(time.Duration(3+r.IntN(6)) * time.Hour)}
		for k := range lines {
			car.Lines = append(car.Lines, Line{ID: int64(100*(c+1) + k), Operation: fmt.Sprint(r.IntN(9)), Estimate: law.Single(9 * float64(men) / float64(cars*lines) * (0.4 + 1.2*r.Float64())), Sales: int64(4000 + r.IntN(16000)), Must: r.IntN(4) == 0})
		}
		d.Cars = append(d.Cars, car)
	}
	return d
}

// lost compares the line that LeaveOut names first with the best of all lines,
// on days that neither has seen.
func lost(t *testing.T, seed uint64, men, cars, lines, draws int) (named, best float64) {
	t.Helper()
	e, err := New(fullDay(seed, men, cars, lines), nil, Options{Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	choices, err := e.LeaveOut(0)
	if err != nil {
		t.Fatal(err)
	}
	rows := e.rows(e.fresh, 0, draws)
	base := e.hits(rows, e.order, nil)
	worth := func(skip []bool, without int) float64 {
		var sales int64
		for i, s := range skip {
			if s {
				sales += e.lines[i].sales
			}
		}
		return perHundred(e.gain(rows, base, skip, 0, without).Mean, sales)
	}
	for i := range e.lines {
		if skip, ok := e.without(i); ok {
			best = max(best, worth(skip, -1))
		}
	}
	for c := range e.day.Cars {
		if skip, ok := e.withoutCar(c); ok {
			best = max(best, worth(skip, c))
		}
	}
	if len(choices) > 0 {
		skip := make([]bool, len(e.lines))
		for _, id := range choices[0].Lines {
			skip[e.index[id]] = true
		}
		without := -1
		if choices[0].Move {
			without = e.carAt[choices[0].Car]
		}
		named = worth(skip, without)
	}
	return named, best
}

func TestWhatIsNamedFirstIsNearlyTheBestOfAll(t *testing.T) {
	var named, best float64
	for seed := range uint64(5) {
		n, b := lost(t, seed, 3, 4, 3, 600)
		named, best = named+n, best+b
	}
	t.Logf("worth %.3f of the best", named/best)
	if named < 0.93*best {
		t.Errorf("what is named is worth %g, the best %g", named, best)
	}
}
