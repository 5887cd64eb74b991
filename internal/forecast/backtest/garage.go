// Package backtest tries the forecast on garages that are made up, and whose
// truth is another process than the forecast's model: gamma times, snags with a
// heavy tail, estimates that are biased by operation, cars that are rusty,
// parts that are late, clockings that are wrong, people who keep to the list
// roughly. Scored is what is said at opening and at every hour after.
package backtest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
)

// Garage is one that is made up from a seed.
type Garage struct {
	r    *rand.Rand // the garage
	o    *rand.Rand // the oracle, so that asking it changes nothing
	men  int
	ops  []operation
	next int64
	day  int
}

type operation struct {
	hours, bias, cv, snags float64
	layout                 [layouts]float64
	under                  bool // work where rust matters
	looks                  bool
	part                   bool
	two                    bool // people it takes
}

const (
	operations = 40
	layouts    = 5
	// Chances of the truth. They are made up, and none of them is the model's.
	rusty, rustFactor  = 0.15, 1.35
	partLate           = 0.2
	partNever          = 0.03
	foundTruth         = 0.22
	agreedTruth        = 0.7
	leftOn, cutShort   = 0.04, 0.02
	snagShape, snagMax = 2.0, 6.0
	// Hours until an answer, at most; and those of found work.
	askedMost             = 1.2
	foundLeast, foundMore = 0.3, 1.6
)

// NewGarage makes one up, with so many technicians; 0 is for three to five.
func NewGarage(seed uint64, men int) *Garage {
	g := &Garage{r: rand.New(rand.NewPCG(seed, 0x6a09e667f3bcc909)), o: rand.New(rand.NewPCG(seed, 0xbb67ae8584caa73b))}
	g.men = 3 + g.r.IntN(3)
	if men > 0 {
		g.men = men
	}
	bias, snags := 0.12+0.2*g.r.Float64(), 0.04+0.05*g.r.Float64()
	for k := range operations {
		o := operation{hours: 0.4 + 2.2*g.r.Float64()*g.r.Float64(), bias: 0.08 + bias*g.r.NormFloat64(), cv: 0.15 + 0.35*g.r.Float64(), snags: snags, under: k%3 == 0, looks: k%10 == 7, part: k%5 == 2, two: k%20 == 13 && g.men > 1}
		for l := range o.layout {
			o.layout[l] = 0.12 * g.r.NormFloat64()
		}
		g.ops = append(g.ops, o)
	}
	return g
}

// job is a line with its truth beside what the garage knows of it.
type job struct {
	op, layout int
	estimate   float64
}

// What is found on a line becomes a line of its own.
const foundOperation = "found"

func foundID(line int64) int64 { return line + 1<<40 }

// Day is a day that is made up: what is known at opening, and its truth.
type Day struct {
	Known forecast.Day
	jobs  map[int64]job
	rusty map[int64]bool    // car
	parts map[int64]float64 // due, in hours from opening
}

// opening is when the days of all garages begin; it stands for no real day.
var opening = time.Date(2027, 1, 4, 8, 30, 0, 0, time.UTC)

// Next makes up the garage's next day.
func (g *Garage) Next() Day {
	start := opening.AddDate(0, 0, g.day)
	g.day++
	d := Day{Known: forecast.Day{Now: start, Close: start.Add(9 * time.Hour), Ramps: max(g.men-1, 2)}, jobs: map[int64]job{}, rusty: map[int64]bool{}, parts: map[int64]float64{}}
	for t := range g.men {
		m := forecast.Technician{ID: int64(t + 1)}
		for k := range 6 {
			from := start.AddDate(0, 0, k)
			m.Spans = append(m.Spans, forecast.Span{From: from, To: from.Add(4 * time.Hour)}, forecast.Span{From: from.Add(270 * time.Minute), To: from.Add(9 * time.Hour)})
		}
		if t%2 == 0 {
			m.Skills = []string{"looking"}
		}
		d.Known.Technicians = append(d.Known.Technicians, m)
	}
	room := float64(g.men) * 8.5 * (0.6 + 0.35*g.r.Float64())
	for booked := 0.0; booked < room && len(d.Known.Cars) < 4*g.men; {
		car, hours := g.car(&d, booked)
		d.Known.Cars = append(d.Known.Cars, car)
		booked += hours
	}
	return d
}

func (g *Garage) car(d *Day, ahead float64) (forecast.Car, float64) {
	g.next++
	car := forecast.Car{ID: g.next, Vehicle: fmt.Sprint("car ", g.next%400), Places: 1 + g.r.IntN(2)}
	layout, hours := g.r.IntN(layouts), 0.0
	d.rusty[car.ID] = g.r.Float64() < rusty
	for range 2 + g.r.IntN(4) {
		g.next++
		k := g.r.IntN(operations)
		o := g.ops[k]
		j := job{k, layout, o.hours * (0.8 + 0.4*g.r.Float64())}
		l := forecast.Line{ID: g.next, Operation: fmt.Sprint("operation ", k), Layout: fmt.Sprint("layout ", layout), Estimate: law.Single(j.estimate), Ramp: o.under}
		if o.looks {
			f := forecast.UsualFinds
			l.Finds, l.Skill = &f, "looking"
		}
		if o.two {
			l.Men = 2
		}
		if o.part && g.r.IntN(2) == 0 {
			due := 0.5 + 4*g.r.Float64()
			d.parts[l.ID] = due
			l.Parts = []forecast.Part{{Due: d.Known.Now.Add(time.Duration(due * float64(time.Hour))), OnTime: 30, Late: 8, Never: 1}}
		}
		if n := len(car.Lines); n > 0 && g.r.IntN(3) == 0 {
			l.After = []int64{car.Lines[n-1].ID}
		}
		d.jobs[l.ID] = j
		car.Lines = append(car.Lines, l)
		hours += j.estimate
	}
	// Promised for when people who add hours up would promise it and a little
	// more, or for the evening.
	men := float64(g.men)
	car.Promise = d.Known.Now.Add(time.Duration(min(max((ahead+hours)/men, hours)+0.5+2*g.r.Float64(), 9) * float64(time.Hour))).Round(10 * time.Minute)
	return car, hours
}

// clockings are what the garage has of a day afterwards: some left on, some
// cut short, all in steps of six minutes.
func (g *Garage) clockings(d Day, t truth) []learn.Line {
	var out []learn.Line
	add := func(l learn.Line) {
		switch p := g.r.Float64(); {
		case p < leftOn:
			l.Hours += 4 * g.r.Float64()
		case p < leftOn+cutShort:
			l.Hours *= 0.3
		}
		l.Hours = max(math.Round(l.Hours*10)/10, 0.1)
		out = append(out, l)
	}
	for _, car := range d.Known.Cars {
		for _, l := range car.Lines {
			a := t.lines[l.ID]
			add(learn.Line{ID: l.ID, Operation: l.Operation, Layout: l.Layout, Vehicle: car.Vehicle, Estimate: l.Estimate, Hours: a.Hours, Finished: true})
			if a.Found > 0 {
				add(learn.Line{ID: foundID(l.ID), Operation: foundOperation, Layout: l.Layout, Vehicle: car.Vehicle, Estimate: law.Single(t.wants[l.ID]), Hours: a.Found, Finished: true})
			}
		}
	}
	return out
}
