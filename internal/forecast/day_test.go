package forecast_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
)

// opening is half past eight on an invented Tuesday.
var opening = time.Date(2027, 3, 2, 8, 30, 0, 0, time.UTC)

func clock(h, m int) time.Time { return time.Date(2027, 3, 2, h, m, 0, 0, time.UTC) }

// hoursOf is a day's work with its breaks, and those of the next two days.
func hoursOf() []forecast.Span {
	var out []forecast.Span
	for d := range 3 {
		day := opening.AddDate(0, 0, d)
		out = append(out,
			forecast.Span{From: day, To: day.Add(4 * time.Hour)},
			forecast.Span{From: day.Add(4*time.Hour + 30*time.Minute), To: day.Add(9 * time.Hour)})
	}
	return out
}

func staff(n int) []forecast.Technician {
	var out []forecast.Technician
	for i := range n {
		t := forecast.Technician{ID: int64(i + 1), Spans: hoursOf()}
		if i%3 == 0 {
			t.Skills = []string{"diagnosis"}
		}
		out = append(out, t)
	}
	return out
}

// anyDay makes up a day: so many technicians, cars and lines a car, so full
// that about every second promise is in doubt.
func anyDay(seed uint64, men, cars, lines int) forecast.Day {
	r := rand.New(rand.NewPCG(seed, 77))
	d := forecast.Day{Now: opening, Close: clock(17, 30), Technicians: staff(men), Ramps: max(men-1, 1)}
	mean := 0.8 * 8.5 * float64(men) / float64(cars*lines)
	for c := range cars {
		car := forecast.Car{ID: int64(100 + c), Vehicle: fmt.Sprint("car ", c), Places: 1 + r.IntN(2), Promise: opening.Add(time.Duration(4+r.IntN(5)) * time.Hour).Add(30 * time.Minute)}
		for k := range lines {
			e := mean * (0.4 + 1.2*r.Float64())
			l := forecast.Line{ID: int64(1000*(c+1) + k), Operation: fmt.Sprint("op ", r.IntN(20)), Layout: fmt.Sprint("layout ", r.IntN(3)), Estimate: law.ThreePoint{Least: 0.7 * e, Likely: e, Most: 1.5 * e}, Ramp: r.IntN(2) == 0, Sales: int64(3000 + r.IntN(20000)), Must: r.IntN(4) == 0}
			if k > 0 && r.IntN(3) == 0 {
				l.After = []int64{l.ID - 1}
			}
			switch r.IntN(10) {
			case 0:
				l.Parts = []forecast.Part{{Due: opening.Add(time.Duration(1+r.IntN(4)) * time.Hour), OnTime: 8, Late: 3}}
			case 1:
				f := forecast.UsualFinds
				l.Finds, l.Skill = &f, "diagnosis"
			}
			car.Lines = append(car.Lines, l)
		}
		d.Cars = append(d.Cars, car)
	}
	return d
}

func engine(t testing.TB, d forecast.Day, m *learn.Model, o forecast.Options) *forecast.Engine {
	t.Helper()
	e, err := forecast.New(d, m, o)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// oneLine is a day with one technician, one car and one line of two hours.
func oneLine(promise time.Time) forecast.Day {
	return forecast.Day{Now: opening, Close: clock(17, 30), Technicians: staff(1), Ramps: 1, Cars: []forecast.Car{{ID: 1, Promise: promise, Lines: []forecast.Line{{ID: 11, Operation: "brakes", Estimate: law.Single(2)}}}}}
}

func chance(t testing.TB, d forecast.Day) float64 {
	t.Helper()
	return engine(t, d, nil, forecast.Options{Seed: 5}).Look().Cars[0].Chance
}

// certain is a model by which every line takes what was estimated, nearly.
func certain() *learn.Model {
	p := learn.Start
	p.Mean, p.MeanSD, p.OperationSD, p.LayoutSD, p.CarSD, p.Spread, p.Snag = 0, 1e-6, 1e-6, 1e-6, 1e-6, 1e-6, 0
	return learn.Fit(nil, p)
}
