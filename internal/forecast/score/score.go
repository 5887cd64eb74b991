// Package score says how good forecasts were: the Brier score and the skill
// against another forecast, coverage, the pinball loss, the picture of said
// against was, and what corrects a forecast that is too bold or too timid.
package score

import (
	"math"
	"slices"

	"rampside/internal/forecast/law"
)

// Outcome is a chance that was said, and whether it came about.
type Outcome struct {
	Said float64
	Was  bool
}

func (o Outcome) loss() float64 {
	if o.Was {
		return (1 - o.Said) * (1 - o.Said)
	}
	return o.Said * o.Said
}

// Brier is the mean of (said − was)², after G. W. Brier, Verification of
// Forecasts Expressed in Terms of Probability, Monthly Weather Review 78 (1950)
// 1-3, in the form for two outcomes: 0 is perfect, saying a half always gives
// 0.25.
func Brier(outcomes []Outcome) float64 {
	if len(outcomes) == 0 {
		return math.NaN()
	}
	var sum float64
	for _, o := range outcomes {
		sum += o.loss()
	}
	return sum / float64(len(outcomes))
}

// Rate is the share that came about.
func Rate(outcomes []Outcome) float64 {
	n := 0
	for _, o := range outcomes {
		if o.Was {
			n++
		}
	}
	return float64(n) / float64(len(outcomes))
}

// Skill is 1 − Brier/Brier of always saying the rate: 1 is perfect, 0 no better
// than knowing how often it comes about.
func Skill(outcomes []Outcome) float64 {
	r := Rate(outcomes)
	return 1 - Brier(outcomes)/(r*(1-r))
}

// Difference is a mean difference and its standard error.
type Difference struct {
	Mean, Error float64
	N           int
}

// Sure says whether the difference is above its own doubt: more than so many
// standard errors from nought.
func (d Difference) Sure(errors float64) bool {
	return d.N > 1 && math.Abs(d.Mean) > errors*d.Error
}

// Paired is the mean of differences that belong together, with its error.
func Paired(differences []float64) Difference {
	mean, sd := MeanSD(differences)
	return Difference{mean, sd / math.Sqrt(float64(len(differences))), len(differences)}
}

// Better is by how much the Brier score of a is below that of b on the same
// events; above nought a is the better one.
func Better(a, b []Outcome) Difference {
	d := make([]float64, len(a))
	for i := range a {
		d[i] = b[i].loss() - a[i].loss()
	}
	return Paired(d)
}

// MeanSD is the mean and the standard deviation with n − 1, in two passes: the
// second takes back what rounding left of the first.
func MeanSD(x []float64) (mean, sd float64) {
	n := float64(len(x))
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	for _, v := range x {
		mean += v / n
	}
	var rest, square float64
	for _, v := range x {
		rest += v - mean
	}
	mean += rest / n
	rest = 0
	for _, v := range x {
		rest += v - mean
		square += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(math.Max(square-rest*rest/n, 0) / (n - 1))
}

// Pinball is the loss of having said that with the chance level the outcome is
// at most said.
func Pinball(level, said, was float64) float64 {
	if was >= said {
		return level * (was - said)
	}
	return (1 - level) * (said - was)
}

// Coverage is how many outcomes were within what had been said.
type Coverage struct{ Within, N int }

// Share is Within/N.
func (c Coverage) Share() float64 { return float64(c.Within) / float64(c.N) }

// Interval is where the true share is, 95 times in 100: E. B. Wilson, Probable
// Inference, the Law of Succession, and Statistical Inference, JASA 22 (1927)
// 209-212.
func (c Coverage) Interval() (low, high float64) {
	if c.N == 0 {
		return 0, 1
	}
	const z = 1.959963984540054
	n, p := float64(c.N), c.Share()
	mid := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return math.Max(mid-half, 0), math.Min(mid+half, 1)
}

// Cover counts the outcomes whose place in their own forecast (the chance that
// had been given to at most what came) is at most level.
func Cover(places []float64, level float64) Coverage {
	c := Coverage{N: len(places)}
	for _, p := range places {
		if p <= level {
			c.Within++
		}
	}
	return c
}

// Bin is one step of the picture of said against was.
type Bin struct {
	Low, High float64 // what was said, from Low to below High
	Said      float64 // its mean
	Coverage          // how often it came about
}

// Reliability sorts outcomes into so many bins of equal width; empty ones are
// in their place too.
func Reliability(outcomes []Outcome, bins int) []Bin {
	out := make([]Bin, bins)
	for i := range out {
		out[i].Low, out[i].High = float64(i)/float64(bins), float64(i+1)/float64(bins)
	}
	for _, o := range outcomes {
		b := &out[min(max(int(o.Said*float64(bins)), 0), bins-1)]
		b.Said += o.Said
		b.N++
		if o.Was {
			b.Within++
		}
	}
	for i := range out {
		if out[i].N > 0 {
			out[i].Said /= float64(out[i].N)
		}
	}
	return out
}

// Parts are those of a Brier score after A. H. Murphy, A New Vector Partition
// of the Probability Score, Journal of Applied Meteorology 12 (1973) 595-600:
// Brier = Reliability − Resolution + Uncertainty, for forecasts rounded to the
// mean of their bin.
type Parts struct{ Reliability, Resolution, Uncertainty float64 }

// Partition gives the parts by the bins of Reliability.
func Partition(bins []Bin) Parts {
	var p Parts
	var n, within float64
	for _, b := range bins {
		n += float64(b.N)
		within += float64(b.Within)
	}
	rate := within / n
	p.Uncertainty = rate * (1 - rate)
	for _, b := range bins {
		if b.N == 0 {
			continue
		}
		w := float64(b.N) / n
		p.Reliability += w * (b.Said - b.Share()) * (b.Said - b.Share())
		p.Resolution += w * (b.Share() - rate) * (b.Share() - rate)
	}
	return p
}

// Recalibration corrects every chance by what became of the earlier ones: where
// outcomes fell within their own forecasts is fitted by a beta. The zero value
// corrects nothing.
type Recalibration struct {
	Shape law.Beta
	N     int // how many outcomes it was learned from
}

// stubborn is how many outcomes the belief that nothing is wrong weighs. It is
// a judgement: a month of a small garage.
const stubborn = 60

// Recalibrate learns from the places outcomes had in their forecasts, each
// between 0 and 1: the beta with their mean and variance, mixed with so many
// that are evenly spread.
func Recalibrate(places []float64) Recalibration {
	n := float64(len(places))
	sum, square := stubborn*0.5, stubborn/3.0
	for _, p := range places {
		p = math.Min(math.Max(p, 0), 1)
		sum += p
		square += p * p
	}
	m := sum / (n + stubborn)
	v := math.Max(square/(n+stubborn)-m*m, 1e-4)
	k := math.Max(m*(1-m)/v-1, 0.2)
	return Recalibration{law.Beta{Alpha: m * k, Beta: (1 - m) * k}, len(places)}
}

// Chance is what a chance becomes.
func (r Recalibration) Chance(p float64) float64 {
	if r.N == 0 {
		return p
	}
	return r.Shape.Below(p)
}

// Level is the uncorrected level whose quantile holds with the chance level.
func (r Recalibration) Level(level float64) float64 {
	if r.N == 0 {
		return level
	}
	return r.Shape.Quantile(level)
}

// Adapt moves the level that promises are made at after one more outcome, so
// that in the long run want of them are kept whatever else is wrong: I. Gibbs
// and E. Candès, Adaptive Conformal Inference Under Distribution Shift, NeurIPS
// 34 (2021).
func Adapt(level, want float64, kept bool) float64 {
	hit := 0.0
	if kept {
		hit = 1
	}
	return math.Min(math.Max(level+0.01*(want-hit), 0.5), 0.995)
}

// At is the quantile at level of values in ascending order: the smallest that
// at least so many are not above.
func At(sorted []float64, level float64) float64 {
	i := int(math.Ceil(level*float64(len(sorted)) - 1e-9))
	return sorted[min(max(i-1, 0), len(sorted)-1)]
}

// Place is where a value falls among draws, between 0 and 1: half of those
// that are equal count as below.
func Place(draws []float64, was float64) float64 {
	if len(draws) == 0 {
		return 0.5
	}
	s := slices.Clone(draws)
	slices.Sort(s)
	low, _ := slices.BinarySearch(s, was)
	high := low
	for high < len(s) && s[high] == was {
		high++
	}
	return (float64(low) + float64(high-low)/2) / float64(len(s))
}
