// Package law holds the laws of chance that a forecast draws from: the normal
// and what is cut off from it, three-point estimates, the log-normal with a
// snag in it, the beta, and the numbers that draws are made of. Nothing in it
// is random by itself: whoever draws brings the number between 0 and 1.
package law

import "math"

const (
	invSqrt2Pi = 0.39894228040143267794 // 1/√(2π)
	ln2Pi      = 1.83787706640934548356 // ln 2π
)

// Density is the standard normal density at z.
func Density(z float64) float64 { return invSqrt2Pi * math.Exp(-z*z/2) }

// Below is the chance that a standard normal is at most z.
func Below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// Above is the chance that a standard normal is above z. Its relative error
// stays small far out, where 1 − Below(z) would be nought.
func Above(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// Quantile is the z with Below(z) = p, for p between 0 and 1.
func Quantile(p float64) float64 {
	if p < 1e-3 {
		return -AboveQuantile(p)
	}
	return math.Sqrt2 * math.Erfinv(2*p-1)
}

// AboveQuantile is the z with Above(z) = q, also for a q that 1 − q cannot be
// told from 1 by: a line that has run for four times its estimate has such a
// tail. Down to 1e-300 its absolute error is below 1e-9.
func AboveQuantile(q float64) float64 {
	switch {
	case q >= 1:
		return math.Inf(-1)
	case q >= 1e-3:
		return math.Sqrt2 * math.Erfinv(1-2*q)
	case q < 1e-300:
		return AboveQuantile(1e-300) // beyond 37 deviations nothing is told apart
	}
	// Newton's rule on the logarithm of the tail, whose slope is the hazard;
	// the start is the tail's first asymptotic term.
	lq := math.Log(q)
	s := -2*lq - ln2Pi
	z := math.Sqrt(math.Max(s-math.Log(s), 1))
	for range 6 {
		a := Above(z)
		step := (math.Log(a) - lq) * a / Density(z)
		z += step
		if math.Abs(step) < 1e-12*z {
			break
		}
	}
	return z
}

// Hazard is Density(z)/Above(z), the mean of a standard normal known to be
// above z.
func Hazard(z float64) float64 {
	if z > 30 {
		return z + 1/z // the ratio's first terms; both parts vanish
	}
	return Density(z) / Above(z)
}

// CutVariance is the variance of a standard normal known to be above z:
// 1 + zh − h², with h the hazard.
func CutVariance(z float64) float64 {
	h := Hazard(z)
	return math.Max(1+z*h-h*h, 0)
}
