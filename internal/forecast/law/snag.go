package law

import "math"

// Ratio is the law of ln(hours taken / hours estimated) of one line: a normal,
// and with the chance Snag another one, further out and wider, for the times
// when a bolt shears.
type Ratio struct {
	Mean, SD         float64 // without a snag
	Snag             float64 // the chance of one
	SnagMean, SnagSD float64 // with one
}

// Snagged is the law once somebody has reported a snag.
func (r Ratio) Snagged() Ratio {
	r.Snag = 1
	return r
}

// Draw gives a ratio; pick says whether there is a snag and u how it goes,
// both between 0 and 1.
func (r Ratio) Draw(pick, u float64) float64 {
	if pick < r.Snag {
		return math.Exp(r.SnagMean + r.SnagSD*Quantile(u))
	}
	return math.Exp(r.Mean + r.SD*Quantile(u))
}

// Survives is the chance that the ratio is above x.
func (r Ratio) Survives(x float64) float64 {
	if x <= 0 {
		return 1
	}
	y := math.Log(x)
	return (1-r.Snag)*Above((y-r.Mean)/r.SD) + r.Snag*Above((y-r.SnagMean)/r.SnagSD)
}

// LogDensity is the density of the logarithm of the ratio at y.
func (r Ratio) LogDensity(y float64) float64 {
	return (1-r.Snag)*Density((y-r.Mean)/r.SD)/r.SD + r.Snag*Density((y-r.SnagMean)/r.SnagSD)/r.SnagSD
}

// Left gives the ratio that is still to come once spent has been worked, in
// the same unit: the law is cut at spent, not shifted, so that a line that has
// run over does not end the next minute. It is never below nought.
func (r Ratio) Left(spent, pick, u float64) float64 {
	if spent <= 0 {
		return r.Draw(pick, u)
	}
	y := math.Log(spent)
	z0, z1 := (y-r.Mean)/r.SD, (y-r.SnagMean)/r.SnagSD
	a0, a1 := (1-r.Snag)*Above(z0), r.Snag*Above(z1)
	mean, sd, above := r.Mean, r.SD, Above(z0)
	if pick*(a0+a1) < a1 || r.Snag >= 1 {
		mean, sd, above = r.SnagMean, r.SnagSD, Above(z1)
	}
	return math.Max(math.Exp(mean+sd*AboveQuantile(above*(1-u)))-spent, 0)
}

// Median is the ratio that half stay under, with spent worked already; to a
// thousandth.
func (r Ratio) Median(spent float64) float64 {
	low, high := math.Max(spent, 1e-3), math.Max(spent, 1)*64
	half := r.Survives(spent) / 2
	for range 40 {
		mid := math.Sqrt(low * high)
		if r.Survives(mid) > half {
			low = mid
		} else {
			high = mid
		}
	}
	return low - math.Max(spent, 0)
}
