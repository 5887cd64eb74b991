// Package forecast answers whether a day's work will be done when it was
// promised. It plays the day through some thousands of times, each time with
// other lengths of lines, other arrivals of parts and other things found, all
// drawn from what the garage has learned of itself; the answer is how many of
// those days went well. It knows no clock and no database: the same day, model
// and seed give the same answer.
package forecast

import (
	"fmt"
	"math"
	"slices"
	"time"

	"rampside/internal/forecast/law"
)

// Span is a stretch of time.
type Span struct{ From, To time.Time }

// Technician is somebody who works that day, and perhaps the next ones: spans
// are in order, and breaks are the gaps between them.
type Technician struct {
	ID     int64
	Spans  []Span
	Skills []string
}

// Part is one that a line waits for; one that is here needs none.
type Part struct {
	// Due is when it was said to come.
	Due time.Time
	// Record of the supplier: how often on time, late, and not that day.
	OnTime, Late, Never int
	// Sure: it comes at Due and not otherwise.
	Sure bool
	// NotComing: known not to come that day.
	NotComing bool
}

// Finds says what an operation that looks for things may find.
type Finds struct {
	// Chance of finding something, and of the customer agreeing to it.
	Chance, Agreed float64
	// Median of its hours, and σ of their logarithm.
	Median, Spread float64
	// Asking is how many hours it takes on average to get an answer.
	Asking float64
	Skill  string
	Ramp   bool
}

// UsualFinds is what is believed of an operation before it has found anything;
// a judgement, no published source.
var UsualFinds = Finds{Chance: 0.15, Agreed: 0.6, Median: 0.8, Spread: 0.65, Asking: 0.6}

// Asked says that a customer has been asked about a line and has not answered.
type Asked struct {
	// Agreed is the chance of a yes.
	Agreed float64
	// Answer is how many hours it takes on average, from now on.
	Answer float64
}

// Line is one piece of work on a car.
type Line struct {
	ID                int64
	Operation, Layout string
	// Estimate is in hours of work, of both together where two work on it.
	Estimate law.ThreePoint
	Skill    string
	Men      int // 1 or 2; 0 is as 1
	Ramp     bool
	Alone    bool    // nobody else at the car meanwhile
	After    []int64 // lines that must be finished first, of any car
	Parts    []Part
	Finds    *Finds
	Asked    *Asked // not begun before the customer's answer, nor after a no

	// Spent is how many hours have been worked on it, and On by whom it is
	// being worked on now.
	Spent float64
	On    []int64
	// Snag: one has been reported and is not yet seen to.
	Snag bool
	// Done: finished, after Spent hours of work, today. What was finished
	// earlier is in the model already.
	Done bool

	// Must: it may not be left out, for safety or because it holds a car
	// together. Sales is what it sells for, in minor units of money.
	Must  bool
	Sales int64
}

// Car is one that was promised.
type Car struct {
	ID      int64
	Vehicle string
	Promise time.Time
	// Places is how many lines may be worked on at once; 0 is as 1.
	Places int
	OnRamp bool
	// Pinned: it keeps its place in the order.
	Pinned bool
	Lines  []Line
}

// Day is a day as it stands at Now. The cars are in the order in which they are
// taken.
type Day struct {
	Now, Close  time.Time
	Technicians []Technician
	Ramps       int
	Cars        []Car
}

// Clone makes a copy whose cars, lines and technicians can be changed.
func (d Day) Clone() Day {
	d.Technicians = slices.Clone(d.Technicians)
	for i := range d.Technicians {
		d.Technicians[i].Spans = slices.Clone(d.Technicians[i].Spans)
	}
	d.Cars = slices.Clone(d.Cars)
	for c := range d.Cars {
		d.Cars[c].Lines = slices.Clone(d.Cars[c].Lines)
		for k := range d.Cars[c].Lines {
			l := &d.Cars[c].Lines[k]
			l.Parts, l.On, l.After = slices.Clone(l.Parts), slices.Clone(l.On), slices.Clone(l.After)
		}
	}
	return d
}

// Bounds of a day, far above what a small garage has: so that a forecast stays
// within its time and memory.
const (
	MostCars  = 200
	MostLines = 1000
)

// check says what is wrong with a day.
func (d Day) check() error {
	lines, ids, cars := 0, map[int64]bool{}, map[int64]bool{}
	for _, c := range d.Cars {
		if cars[c.ID] {
			return fmt.Errorf("car %d is there twice", c.ID)
		}
		cars[c.ID] = true
		for _, l := range c.Lines {
			lines++
			if ids[l.ID] {
				return fmt.Errorf("line %d is there twice", l.ID)
			}
			ids[l.ID] = true
			if err := l.Estimate.Check(); err != nil {
				return fmt.Errorf("line %d: %w", l.ID, err)
			}
			if l.Men < 0 || l.Men > 2 {
				return fmt.Errorf("line %d is for %d: only one or two can work on a line", l.ID, l.Men)
			}
			if !(l.Spent >= 0) || math.IsInf(l.Spent, 0) {
				return fmt.Errorf("line %d: hours spent are nought or more", l.ID)
			}
			if f := l.Finds; f != nil && !(f.Chance >= 0 && f.Chance <= 1 && f.Agreed >= 0 && f.Agreed <= 1 && f.Median > 0 && f.Spread >= 0 && f.Asking >= 0) {
				return fmt.Errorf("line %d: what it may find makes no sense", l.ID)
			}
			if a := l.Asked; a != nil && !(a.Agreed >= 0 && a.Agreed <= 1 && a.Answer >= 0) {
				return fmt.Errorf("line %d: what the customer may answer makes no sense", l.ID)
			}
		}
	}
	switch {
	case len(d.Cars) > MostCars || lines > MostLines:
		return fmt.Errorf("at most %d cars and %d lines", MostCars, MostLines)
	case d.Now.IsZero():
		return fmt.Errorf("a day is played from some time on")
	}
	return nil
}

// hours is how long after Now something is.
func (d Day) hours(t time.Time) float64 { return t.Sub(d.Now).Hours() }

// at is the time so many hours after Now.
func (d Day) at(hours float64) time.Time {
	return d.Now.Add(time.Duration(hours * float64(time.Hour))).Round(time.Second)
}
