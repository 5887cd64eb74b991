// Package learn finds out, from the lines a garage has finished, how long its
// work takes beside what was estimated: by operation and engine layout, each
// borrowing from the others as long as it has little of its own.
//
// The model is of y = ln(hours taken / hours estimated):
//
//	y = θ + u + ε         θ of the operation on that layout, u of the car
//	θ ~ N(M, τc²)         M of the operation
//	M ~ N(μ, τo²)         μ of the garage
//	u ~ N(0, ω²)
//	ε ~ N(0, σ²), or with the chance of a snag N(δ, σ² + ψ²)
//
// A clocking may also be wrong: anything at all, or too long by up to half a
// day because the clock was left on. How often is learned with the rest.
//
// Ratios multiply, so their logarithms add. Log-normal times with a shared
// factor fit what was measured elsewhere: D. Trietsch, L. Mazmanyan, L.
// Gevorgyan and K. R. Baker, Modeling Activity Times by the Parkinson
// Distribution with a Lognormal Core, European Journal of Operational Research
// 216 (2012) 386-396; for hours with little or no history, F. Dexter and J.
// Ledolter, Bayesian Prediction Bounds and Comparisons of Operating Room Times
// Even for Procedures with Few or No Historical Data, Anesthesiology 103 (2005)
// 1259-1267.
package learn

import (
	"math"

	"rampside/internal/forecast/law"
)

// Prior is what is believed before a garage has finished anything. The figures
// of Start are a judgement, rather too wide than too narrow: somebody who is
// told on the first day that nothing is sure yet has been told the truth.
// Others are made by changing a copy of Start.
type Prior struct {
	Mean, MeanSD float64 // μ: how far over the estimates, in logarithms
	OperationSD  float64 // τo
	LayoutSD     float64 // τc
	CarSD        float64 // ω
	Spread       float64 // σ
	SpreadWeight float64 // in lines of each operation
	Stated       float64 // how many times too narrow people's stated spread is
	Snag         float64 // the chance of a snag
	SnagMean     float64 // δ
	SnagSD       float64 // ψ
	Mistake      float64 // the chance that a clocking says nothing
	LeftOn       float64 // the chance that a clock ran on after the work was done
	// HalfLife is the days after which a line counts half: short enough that a
	// garage whose habits change is followed, long enough that one whose do not
	// loses little by it.
	HalfLife float64
	Fewest   int // lines below which it still goes by the estimates
	// How much the beliefs weigh against what is learned: in operations,
	// layouts, cars, operations again, lines, snags and lines.
	weightOp       float64
	weightLayout   float64
	weightCar      float64
	weightSpread   float64
	weightSnag     float64
	weightSnagSize float64
	weightMistake  float64
}

// Start is what an engine begins with.
var Start = Prior{
	Mean: 0.05, MeanSD: 0.20, OperationSD: 0.35, LayoutSD: 0.20, CarSD: 0.17,
	Spread: 0.45, SpreadWeight: 8, Stated: 2.2,
	Snag: 0.06, SnagMean: math.Log(1.9), SnagSD: 0.35,
	Mistake: 0.01, LeftOn: 0.02, HalfLife: 180, Fewest: 30,
	weightOp: 10, weightLayout: 20, weightCar: 30, weightSpread: 20, weightSnag: 40, weightSnagSize: 10, weightMistake: 100,
}

// mistakeSD is how far a clocking that says nothing may be out: one left on
// overnight, or one of a minute. Wide, so that only what the other laws do not
// explain goes there.
const mistakeSD = 1.5

// Line is one that was worked on.
type Line struct {
	// ID is what it is found by.
	ID int64
	// Operation and Layout say what was done, and on what engine; Vehicle on
	// which car. Empty ones are each taken as one of their own name.
	Operation, Layout, Vehicle string
	// Estimate is what it had been estimated at.
	Estimate law.ThreePoint
	// Hours were clocked on it, by all who were at it together, as the estimate
	// counts them.
	Hours float64
	// Finished: otherwise it took longer than Hours, nobody knows how much.
	// Leaving such lines out would make the garage look quicker than it is,
	// since it is the long ones that are still open.
	Finished bool
	// Age is how many days ago it was.
	Age float64
}

// usable says whether a line says anything.
func (l Line) usable() bool {
	return l.Estimate.Check() == nil && l.Hours > 0 && !math.IsInf(l.Hours, 0) && !math.IsNaN(l.Hours)
}

// Counts are how often something happened out of how often it could.
type Counts struct{ Yes, Of int }

// Share is the chance by the counts and a belief that weighs so many: the mean
// of a beta.
func (c Counts) Share(belief, weight float64) float64 {
	return (belief*weight + float64(c.Yes)) / (weight + float64(c.Of))
}

// FoundChance is the chance that an operation that looks for things finds
// something, by how often it did.
func FoundChance(found Counts) float64 { return found.Share(0.15, 10) }

// AgreedChance is the chance that a customer says yes to what was found.
func AgreedChance(agreed Counts) float64 { return agreed.Share(0.6, 10) }
