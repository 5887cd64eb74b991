package hours

import (
	"errors"
	"math"
	"time"
)

// Estimate is how long a line should take: if all goes well, as a rule, and if
// it goes badly.
type Estimate struct{ Low, Likely, High time.Duration }

// Errors of Estimate.Check, fit to stand beside the fields.
var (
	ErrOrder    = errors.New("low must not be above likely, nor likely above high")
	ErrEstimate = errors.New("an estimate needs a likely time above 0 and at most 200 hours")
)

// One is the estimate of a time that is given as certain.
func One(d time.Duration) Estimate { return Estimate{d, d, d} }

// Check gives the first thing wrong with the estimate, or nil.
func (e Estimate) Check() error {
	switch {
	case e.Low < 0 || e.High > Max || e.Likely <= 0:
		return ErrEstimate
	case e.Low > e.Likely || e.Likely > e.High:
		return ErrOrder
	}
	return nil
}

// Mean is the three-point mean (low + 4 likely + high)/6 of project
// evaluation (PERT), to the nearest minute, half up.
func (e Estimate) Mean() time.Duration {
	sixths := e.Low + 4*e.Likely + e.High
	return (sixths/6 + time.Minute/2).Truncate(time.Minute)
}

// MeanHours is the mean in hours, not rounded.
func (e Estimate) MeanHours() float64 {
	return (e.Low.Hours() + 4*e.Likely.Hours() + e.High.Hours()) / 6
}

// SDHours is the customary standard deviation (high - low)/6, in hours.
func (e Estimate) SDHours() float64 { return (e.High.Hours() - e.Low.Hours()) / 6 }

// Chain is the mean and the standard deviation, in hours, of lines done one
// after the other that do not influence each other: means add up, and so do
// variances.
func Chain(es []Estimate) (mean, sd float64) {
	var variance float64
	for _, e := range es {
		mean += e.MeanHours()
		variance += e.SDHours() * e.SDHours()
	}
	return mean, math.Sqrt(variance)
}
