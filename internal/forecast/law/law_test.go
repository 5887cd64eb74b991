package law_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"rampside/internal/forecast/law"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s is %.10g, want %.10g", what, got, want)
	}
}

func TestThreeFiguresGiveThePublishedMeansAndSpreads(t *testing.T) {
	// 5, 8, 14: documentation of the Schematex drawing tool. The two others:
	// solved coursework. The exact deviations are √((μ−a)(b−μ)/7), the beta's
	// variance as in the documentation of R's mc2d.
	for _, x := range []struct {
		e                       law.ThreePoint
		mean, sd, a, b, exactSD float64
	}{
		{law.ThreePoint{Least: 5, Likely: 8, Most: 14}, 8.5, 1.5, 2.3333, 3.6667, 1.6583},
		{law.ThreePoint{Least: 4, Likely: 7, Most: 10}, 7, 1, 3, 3, 1.1339},
		{law.ThreePoint{Least: 16, Likely: 19, Most: 28}, 20, 2, 2, 4, 2.1381},
	} {
		near(t, "the mean", x.e.Mean(), x.mean, 1e-12)
		near(t, "the deviation", x.e.SD(), x.sd, 1e-12)
		a, b, ok := x.e.Shape()
		if !ok {
			t.Fatal("it has a shape")
		}
		near(t, "alpha", a, x.a, 5e-5)
		near(t, "beta", b, x.b, 5e-5)
		near(t, "the exact deviation", math.Sqrt(x.e.ShapeVariance()), x.exactSD, 5e-5)
		// The same beta by the reference's moments.
		ref := distuv.Beta{Alpha: a, Beta: b}
		w := x.e.Most - x.e.Least
		near(t, "the beta's mean", x.e.Least+w*ref.Mean(), x.mean, 1e-12)
		near(t, "the beta's variance", w*w*ref.Variance(), x.e.ShapeVariance(), 1e-12)
	}
}

func TestAChainOfThreePointEstimatesAddsUpAsPublished(t *testing.T) {
	// Mean 17.83, deviation 1.69 are printed in the documentation of the
	// Schematex drawing tool; three of the four triples are inferred from it.
	var mean, variance float64
	for _, e := range []law.ThreePoint{{Least: 2, Likely: 3, Most: 5}, {Least: 5, Likely: 8, Most: 14}, {Least: 3, Likely: 4, Most: 6}, {Least: 1, Likely: 2, Most: 3}} {
		mean += e.Mean()
		variance += e.SD() * e.SD()
	}
	near(t, "the mean", mean, 17.83, 5e-3)
	near(t, "the deviation", math.Sqrt(variance), 1.69, 5e-3)
}

func TestLogNormalsConvertAsPublished(t *testing.T) {
	mean, variance := law.MomentsOf(0, 1) // MathWorks, lognstat
	near(t, "the mean", mean, 1.6487, 5e-5)
	near(t, "the variance", variance, 4.6708, 5e-5)
	mu, sigma := law.LogOf(3, 0.01) // the documentation of R's dampack, lnorm_params
	near(t, "mu", mu, 1.098057, 5e-7)
	near(t, "sigma", sigma, 0.033324, 5e-7)
	ref := distuv.LogNormal{Mu: 0.3, Sigma: 0.7}
	mean, variance = law.MomentsOf(0.3, 0.7)
	near(t, "the reference's mean", mean, ref.Mean(), 1e-12)
	near(t, "the reference's variance", variance, ref.Variance(), 1e-12)
}

func TestTheNormalAgreesWithTheReferenceAndReachesFarOut(t *testing.T) {
	n := distuv.UnitNormal
	for z := -6.0; z <= 6; z += 0.37 {
		near(t, "below", law.Below(z), n.CDF(z), 1e-14)
		near(t, "above", law.Above(z), n.Survival(z), 1e-14)
		near(t, "density", law.Density(z), n.Prob(z), 1e-14)
	}
	for p := 0.0005; p < 1; p += 0.0101 {
		near(t, "the quantile", law.Quantile(p), n.Quantile(p), 1e-8)
	}
	for _, z := range []float64{-2, 0, 1, 3.2, 7, 12, 25, 36} {
		near(t, "the quantile of a tail", law.AboveQuantile(law.Above(z)), z, 1e-9)
	}
	// One-sided 1e-9 is 5.9978 deviations (tables of the normal).
	near(t, "one in a thousand million", law.AboveQuantile(1e-9), 5.99780702, 1e-7)
}

func TestWhatIsCutOffHasTheMeanAndSpreadOfTheReference(t *testing.T) {
	for _, z := range []float64{-3, -0.5, 0, 1.1, 2.4} {
		// By summing the reference's density from z on.
		var mass, mean, square float64
		for x := z + 0.0005; x < z+12; x += 0.001 {
			d := distuv.UnitNormal.Prob(x) * 0.001
			mass, mean, square = mass+d, mean+x*d, square+x*x*d
		}
		mean, square = mean/mass, square/mass
		near(t, "the cut mean", law.Hazard(z), mean, 1e-5)
		near(t, "the cut variance", law.CutVariance(z), square-mean*mean, 1e-5)
	}
	if v := law.CutVariance(40); v < 0 || v > 0.01 {
		t.Errorf("far out the variance is %g", v)
	}
}

func TestTheBetaAgreesWithTheReference(t *testing.T) {
	for _, s := range []law.Beta{{Alpha: 1, Beta: 1}, {Alpha: 0.6, Beta: 1.7}, {Alpha: 2.3, Beta: 3.7}, {Alpha: 40, Beta: 3}} {
		ref := distuv.Beta{Alpha: s.Alpha, Beta: s.Beta}
		for x := 0.01; x < 1; x += 0.03 {
			near(t, "below", s.Below(x), ref.CDF(x), 1e-11)
			near(t, "and back", s.Quantile(s.Below(x)), x, 1e-5)
		}
	}
}

func TestTheFactorOfASpreadFollowsChiSquare(t *testing.T) {
	for _, nu := range []float64{8, 12, 40, 300} {
		for z := -2.5; z <= 2.5; z += 0.25 {
			want := math.Sqrt(nu / distuv.ChiSquared{K: nu}.Quantile(law.Above(z)))
			tolerance := 0.01
			if math.Abs(z) > 2 {
				tolerance = 0.025
			}
			near(t, "the factor", law.SpreadFactor(nu, z)/want, 1, tolerance)
		}
	}
}

var worn = law.Ratio{Mean: 0.05, SD: 0.4, Snag: 0.06, SnagMean: 0.7, SnagSD: 0.55}

func TestWhatIsLeftIsTheLawCutAtWhatWasSpent(t *testing.T) {
	// Of many draws of the whole, those above what was spent, against draws of
	// what is left: the same quantiles.
	for _, spent := range []float64{0.3, 1, 1.8} {
		l := law.NewLattice(law.Full, 7, 2)
		var above, over, left int
		for i := range l.N() {
			whole := worn.Draw(l.At(i, 0), l.At(i, 1))
			if whole > spent {
				above++
				if whole > spent+0.3 {
					over++
				}
			}
			if worn.Left(spent, l.At(i, 0), l.At(i, 1)) > 0.3 {
				left++
			}
		}
		p := float64(over) / float64(above)
		near(t, "the share that needs 0.3 more", float64(left)/float64(l.N()), p, 4*math.Sqrt(p*(1-p)/float64(above)))
		near(t, "by the law itself", float64(left)/float64(l.N()), worn.Survives(spent+0.3)/worn.Survives(spent), 0.005)
		near(t, "the median", worn.Survives(spent+worn.Median(spent)), worn.Survives(spent)/2, 1e-4)
	}
}

func TestALineThatRanOverIsNotDoneTheNextMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spent := rapid.Float64Range(0, 30).Draw(t, "spent")
		pick := rapid.Float64Range(0.0001, 0.9999).Draw(t, "pick")
		low := rapid.Float64Range(0.0001, 0.9).Draw(t, "u")
		a, b := worn.Left(spent, pick, low), worn.Left(spent, pick, low+0.09)
		if math.IsNaN(a) || math.IsInf(a, 0) || a < 0 || b < a {
			t.Fatalf("after %g: %g and, worse, %g", spent, a, b)
		}
	})
	if m := worn.Median(4); m < 0.1 {
		t.Errorf("at four times the estimate the likeliest rest is %g", m)
	}
}

func TestALatticeIsEvenInEveryCoordinateAndThinsTheError(t *testing.T) {
	for _, p := range []law.Points{law.Quick, law.Full} {
		const d = 600
		seen := map[int]bool{}
		for g, j := 1, 0; j < d; j++ {
			if seen[g] {
				t.Fatalf("coordinate %d of %d points repeats an earlier one", j, p.N)
			}
			seen[g] = true
			g = g * p.Factor % p.N
		}
		l := law.NewLattice(p, 3, d)
		for j := 0; j < d; j += 37 {
			tenths := [10]int{}
			for i := range l.N() {
				tenths[int(l.At(i, j)*10)]++
			}
			for _, n := range tenths {
				if math.Abs(float64(n)-float64(p.N)/10) > 2 {
					t.Errorf("coordinate %d: %d in a tenth of %d", j, n, p.N)
				}
			}
		}
	}
	// The mean of a product over the first 8 coordinates, against plain draws:
	// the mean square error over shifts, whose truth is 1.
	f := func(at func(j int) float64) float64 {
		v := 1.0
		for j := range 8 {
			v *= 1 + 0.5*(at(j)-0.5)
		}
		return v
	}
	var lattice, plain float64
	for seed := range uint64(20) {
		l, r := law.NewLattice(law.Quick, seed, 8), rand.New(rand.NewPCG(seed, 1))
		var a, b float64
		for i := range l.N() {
			a += f(func(j int) float64 { return l.At(i, j) })
			b += f(func(int) float64 { return r.Float64() })
		}
		a, b = a/float64(l.N())-1, b/float64(l.N())-1
		lattice, plain = lattice+a*a, plain+b*b
	}
	if lattice*2 > plain {
		t.Errorf("the lattice's error %g is not half of that of plain draws, %g", lattice, plain)
	}
}

func TestAnEstimateIsChecked(t *testing.T) {
	for _, e := range []law.ThreePoint{{}, {Least: -1, Likely: 1, Most: 2}, {Least: 2, Likely: 1, Most: 3}, {Least: 1, Likely: 3, Most: 2}, law.Single(math.NaN()), law.Single(math.Inf(1))} {
		if e.Check() == nil {
			t.Errorf("%v passes", e)
		}
	}
	if err := law.Single(1.5).Check(); err != nil || law.Single(1.5).LogSpread() != 0 {
		t.Error("one figure is an estimate without a spread", err)
	}
}
