package backtest

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestTheTruthsTimesFollowTheGammaLaw(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	const cv, n = 0.4, 4000
	x := make([]float64, n)
	for i := range x {
		x[i] = gamma(r, cv)
	}
	sort.Float64s(x)
	ref := distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv)}
	// The largest distance between what was drawn and the law: above 1.63/√n one
	// time in a hundred (tables of the Kolmogorov law).
	far := 0.0
	for i, v := range x {
		far = math.Max(far, math.Abs((float64(i)+0.5)/n-ref.CDF(v)))
	}
	if far > 1.63/math.Sqrt(n) {
		t.Errorf("the drawn ones are %g from the law", far)
	}
}

func TestTheSameSeedMakesTheSameGarage(t *testing.T) {
	a, b := NewGarage(9, 0), NewGarage(9, 0)
	for range 3 {
		x, y := a.Next(), b.Next()
		if len(x.Known.Cars) == 0 || len(x.Known.Cars) != len(y.Known.Cars) || x.Known.Cars[0].Lines[0].Estimate != y.Known.Cars[0].Lines[0].Estimate {
			t.Fatalf("%d and %d cars", len(x.Known.Cars), len(y.Known.Cars))
		}
	}
}
