// Package backtest tries the forecast on garages that are made up, and whose
// truth is another process than the forecast's model: gamma times, snags with a
// heavy tail, estimates that are biased by operation, cars that are rusty,
// parts that are late, clockings that are wrong. What is scored is at opening.
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
	r    *rand.Rand
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
}

const (
	operations = 30
	layouts    = 4
	// Chances of the truth. They are made up, and none of them is the model's.
	rusty, rustFactor  = 0.15, 1.35
	partLate           = 0.2
	partNever          = 0.03
	foundTruth         = 0.22
	agreedTruth        = 0.7
	leftOn, cutShort   = 0.04, 0.02
	snagShape, snagMax = 2.0, 6.0
)

// NewGarage makes one up.
func NewGarage(seed uint64) *Garage {
	g := &Garage{r: rand.New(rand.NewPCG(seed, 0x6a09e667f3bcc909))}
	g.men = 3 + g.r.IntN(3)
	bias, snags := 0.12+0.2*g.r.Float64(), 0.04+0.05*g.r.Float64()
	for k := range operations {
		o := operation{hours: 0.4 + 2.2*g.r.Float64()*g.r.Float64(), bias: 0.08 + bias*g.r.NormFloat64(), cv: 0.15 + 0.35*g.r.Float64(), snags: snags, under: k%3 == 0, looks: k%10 == 7, part: k%5 == 2}
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
	rust       float64
	estimate   float64
}

// gamma draws from the gamma law with mean 1 and a coefficient of variation:
// G. Marsaglia and W. W. Tsang, A Simple Method for Generating Gamma Variables,
// ACM Transactions on Mathematical Software 26 (2000) 363-372.
func (g *Garage) gamma(cv float64) float64 {
	k := 1 / (cv * cv)
	d := k - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := g.r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(g.r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v / k
		}
	}
}

// takes draws how long a job really takes, in hours.
func (g *Garage) takes(j job) float64 {
	o := g.ops[j.op]
	h := j.estimate * math.Exp(o.bias+o.layout[j.layout]) * g.gamma(o.cv)
	if o.under {
		h *= j.rust
	}
	if g.r.Float64() < o.snags { // a Pareto from 1 on
		h *= min(math.Pow(1-g.r.Float64(), -1/snagShape), snagMax)
	}
	return h
}

// Day is a day that is made up: what is known at opening, and its truth.
type Day struct {
	Known forecast.Day
	jobs  map[int64]job
	parts map[int64]float64 // due, in hours from opening
}

// opening is when the days of all garages begin; it stands for no real day.
var opening = time.Date(2027, 1, 4, 8, 30, 0, 0, time.UTC)

// Next makes up the garage's next day.
func (g *Garage) Next() Day {
	start := opening.AddDate(0, 0, g.day)
	g.day++
	d := Day{Known: forecast.Day{Now: start, Close: start.Add(9 * time.Hour), Ramps: max(g.men-1, 2)}, jobs: map[int64]job{}, parts: map[int64]float64{}}
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
		car, hours := g.car(&d)
		d.Known.Cars = append(d.Known.Cars, car)
		booked += hours
	}
	return d
}

func (g *Garage) car(d *Day) (forecast.Car, float64) {
	g.next++
	car := forecast.Car{ID: g.next, Vehicle: fmt.Sprint("car ", g.next%400), Places: 1 + g.r.IntN(2)}
	layout, rust, hours := g.r.IntN(layouts), 1.0, 0.0
	if g.r.Float64() < rusty {
		rust = rustFactor
	}
	for range 1 + g.r.IntN(4) {
		g.next++
		k := g.r.IntN(operations)
		o := g.ops[k]
		j := job{k, layout, rust, o.hours * (0.8 + 0.4*g.r.Float64())}
		l := forecast.Line{ID: g.next, Operation: fmt.Sprint("operation ", k), Layout: fmt.Sprint("layout ", layout), Estimate: law.Single(j.estimate), Ramp: o.under}
		if o.looks {
			f := forecast.UsualFinds
			l.Finds, l.Skill = &f, "looking"
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
	// Promised for when people who add hours up would promise it, or for the
	// evening.
	car.Promise = d.Known.Now.Add(time.Duration(min(2.5+hours+5*g.r.Float64(), 9) * float64(time.Hour))).Round(10 * time.Minute)
	return car, hours
}

// truth draws one way in which the day may really go.
func (g *Garage) truth(d Day) func(int64) forecast.Actual {
	out := map[int64]forecast.Actual{}
	for _, car := range d.Known.Cars {
		for _, l := range car.Lines {
			a := forecast.Actual{Hours: g.takes(d.jobs[l.ID])}
			if due, waits := d.parts[l.ID]; waits {
				switch p := g.r.Float64(); {
				case p < partNever:
					a.Here = due + 24
				case p < partNever+partLate:
					a.Here = due + 2.5*g.r.Float64()*g.r.Float64()
				default:
					a.Here = due
				}
			}
			if l.Finds != nil && g.r.Float64() < foundTruth {
				a.Asked = 1.2 * g.r.Float64()
				if g.r.Float64() < agreedTruth {
					a.Found = 0.3 + 1.6*g.r.Float64()
				}
			}
			out[l.ID] = a
		}
	}
	return func(id int64) forecast.Actual { return out[id] }
}

// clockings are what the garage has of a day afterwards: some left on, some
// cut short, all in steps of six minutes.
func (g *Garage) clockings(d Day, actual func(int64) forecast.Actual) []learn.Line {
	var out []learn.Line
	for _, car := range d.Known.Cars {
		for _, l := range car.Lines {
			h := actual(l.ID).Hours
			switch p := g.r.Float64(); {
			case p < leftOn:
				h += 4 * g.r.Float64()
			case p < leftOn+cutShort:
				h *= 0.3
			}
			h = max(math.Round(h*10)/10, 0.1)
			out = append(out, learn.Line{ID: l.ID, Operation: l.Operation, Layout: l.Layout, Vehicle: car.Vehicle, Estimate: l.Estimate, Hours: h, Finished: true})
		}
	}
	return out
}
