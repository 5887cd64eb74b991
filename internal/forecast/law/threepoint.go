package law

import (
	"errors"
	"math"
)

// ThreePoint is an estimate of hours by the least, the likeliest and the most.
type ThreePoint struct{ Least, Likely, Most float64 }

// Single is an estimate that is one figure: it says nothing of its spread.
func Single(hours float64) ThreePoint { return ThreePoint{hours, hours, hours} }

// Check says what is wrong with an estimate.
func (t ThreePoint) Check() error {
	switch {
	case math.IsNaN(t.Least + t.Likely + t.Most), math.IsInf(t.Least+t.Likely+t.Most, 0):
		return errors.New("an estimate is a number of hours")
	case t.Least < 0 || t.Likely <= 0:
		return errors.New("an estimate is above nought")
	case t.Least > t.Likely || t.Likely > t.Most:
		return errors.New("the likeliest is between the least and the most")
	}
	return nil
}

// Mean is (a + 4m + b)/6, as in D. G. Malcolm et al., Application of a
// Technique for Research and Development Program Evaluation, Operations
// Research 7 (1959) 646-669.
func (t ThreePoint) Mean() float64 { return (t.Least + 4*t.Likely + t.Most) / 6 }

// SD is (b − a)/6, from the same paper.
func (t ThreePoint) SD() float64 { return (t.Most - t.Least) / 6 }

// LogSpread is σ² of the log-normal that has the estimate's mean and SD.
func (t ThreePoint) LogSpread() float64 {
	r := t.SD() / t.Mean()
	return math.Log1p(r * r)
}

// Shape gives α and β of the beta on [a, b] whose mode is m and whose mean is
// (a + 4m + b)/6. For a single figure there is none.
func (t ThreePoint) Shape() (alpha, beta float64, ok bool) {
	w := t.Most - t.Least
	if w <= 0 {
		return 0, 0, false
	}
	return 1 + 4*(t.Likely-t.Least)/w, 1 + 4*(t.Most-t.Likely)/w, true
}

// ShapeVariance is that beta's own variance, (μ − a)(b − μ)/7, which (b−a)²/36
// only approaches.
func (t ThreePoint) ShapeVariance() float64 {
	m := t.Mean()
	return (m - t.Least) * (t.Most - m) / 7
}

// LogOf gives μ and σ of the log-normal with a mean and a variance.
func LogOf(mean, variance float64) (mu, sigma float64) {
	s2 := math.Log1p(variance / (mean * mean))
	return math.Log(mean) - s2/2, math.Sqrt(s2)
}

// MomentsOf gives the mean and the variance of the log-normal with μ and σ.
func MomentsOf(mu, sigma float64) (mean, variance float64) {
	s2 := sigma * sigma
	mean = math.Exp(mu + s2/2)
	return mean, math.Expm1(s2) * mean * mean
}
