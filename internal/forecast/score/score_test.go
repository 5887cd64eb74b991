package score_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"rampside/internal/forecast/score"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

func TestTheBrierScoreOfPublishedExamples(t *testing.T) {
	// The worked cases of the encyclopaedia article on the Brier score.
	for _, x := range []struct {
		said float64
		was  bool
		want float64
	}{{1, true, 0}, {1, false, 1}, {0.7, true, 0.09}, {0.3, true, 0.49}, {0.5, true, 0.25}, {0.5, false, 0.25}} {
		near(t, "the score", score.Brier([]score.Outcome{{Said: x.said, Was: x.was}}), x.want, 1e-12)
	}
}

func TestNoForecastBeatsTheTruthInTheLongRun(t *testing.T) {
	// The score is proper: with chance p of coming about, what is expected of
	// saying q is least at q = p.
	rapid.Check(t, func(t *rapid.T) {
		p, q := rapid.Float64Range(0, 1).Draw(t, "p"), rapid.Float64Range(0, 1).Draw(t, "q")
		expected := func(q float64) float64 {
			return p*score.Brier([]score.Outcome{{Said: q, Was: true}}) + (1-p)*score.Brier([]score.Outcome{{Said: q}})
		}
		if expected(q) < expected(p)-1e-12 {
			t.Fatalf("saying %g where it is %g scores better", q, p)
		}
	})
}

func TestThePinballLossOfAWorkedExample(t *testing.T) {
	// Worked by hand from the definition, no published source.
	near(t, "under", score.Pinball(0.8, 5, 7), 1.6, 1e-12)
	near(t, "over", score.Pinball(0.8, 5, 4), 0.2, 1e-12)
}

func TestMeansAndDeviationsAreThoseCertifiedByNIST(t *testing.T) {
	// NIST Statistical Reference Datasets, univariate: NumAcc1 to NumAcc4. In
	// NumAcc3 and NumAcc4 the data themselves are not exact in binary, so the
	// deviation can hold only about eight figures.
	pairs := func(first, a, b float64) []float64 {
		x := []float64{first}
		for range 500 {
			x = append(x, a, b)
		}
		return x
	}
	for _, x := range []struct {
		name          string
		data          []float64
		mean, sd, tol float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, 1e-12},
		{"NumAcc2", pairs(1.2, 1.1, 1.3), 1.2, 0.1, 1e-12},
		{"NumAcc3", pairs(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, 1e-8},
		{"NumAcc4", pairs(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, 1e-7},
	} {
		mean, sd := score.MeanSD(x.data)
		near(t, x.name+"'s mean over its own", mean/x.mean, 1, 1e-14)
		near(t, x.name+"'s deviation", sd, x.sd, x.sd*x.tol)
		refMean, refSD := stat.MeanStdDev(x.data, nil)
		near(t, x.name+"'s mean by the reference", mean, refMean, 1e-8)
		near(t, x.name+"'s deviation by the reference", sd, refSD, 1e-8)
	}
}

func TestSkillIsNoughtForTheRateAndOneForTheProphet(t *testing.T) {
	var rate, prophet []score.Outcome
	for i := range 100 {
		rate = append(rate, score.Outcome{Said: 0.3, Was: i < 30})
		said := 0.0
		if i < 30 {
			said = 1
		}
		prophet = append(prophet, score.Outcome{Said: said, Was: i < 30})
	}
	near(t, "the rate's skill", score.Skill(rate), 0, 1e-12)
	near(t, "the prophet's skill", score.Skill(prophet), 1, 1e-12)
	d := score.Better(prophet, rate)
	near(t, "the gain", d.Mean, 0.21, 1e-12)
	if !d.Sure(2) || score.Better(rate, rate).Sure(2) {
		t.Error("the prophet is surely better than the rate, and the rate not than itself")
	}
}

func TestThePartsOfAScoreAddUpToIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(t, "n")
		var o []score.Outcome
		for range n {
			// Forecasts in the middle of their tenth, so that rounding to the
			// bin changes nothing.
			o = append(o, score.Outcome{Said: float64(rapid.IntRange(0, 9).Draw(t, "tenth"))/10 + 0.05, Was: rapid.Bool().Draw(t, "was")})
		}
		p := score.Partition(score.Reliability(o, 10))
		if got, want := p.Reliability-p.Resolution+p.Uncertainty, score.Brier(o); math.Abs(got-want) > 1e-9 {
			t.Fatalf("the parts come to %g, the score is %g", got, want)
		}
	})
}

func TestBinsHoldEveryOutcomeOnce(t *testing.T) {
	o := []score.Outcome{{Said: 0, Was: false}, {Said: 0.05, Was: false}, {Said: 0.1, Was: true}, {Said: 1, Was: true}}
	b := score.Reliability(o, 10)
	if len(b) != 10 || b[0].N != 2 || b[1].N != 1 || b[9].N != 1 || b[9].Within != 1 || b[5].N != 0 {
		t.Errorf("%+v", b)
	}
	near(t, "what was said in the first", b[0].Said, 0.025, 1e-12)
}

func TestTheDoubtOfAShareIsWilsons(t *testing.T) {
	// 81 of 263: the interval 0.2553 to 0.3662 is printed in R. G. Newcombe,
	// Two-Sided Confidence Intervals for the Single Proportion, Statistics in
	// Medicine 17 (1998) 857-872, table I.
	low, high := score.Coverage{Within: 81, N: 263}.Interval()
	near(t, "low", low, 0.2553, 5e-5)
	near(t, "high", high, 0.3662, 5e-5)
	low, high = score.Coverage{}.Interval()
	if low != 0 || high != 1 {
		t.Error("of nothing nothing is known")
	}
}

func TestACalibratedForecastCoversWhatItSays(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	even := make([]float64, 5000)
	for i := range even {
		even[i] = r.Float64()
	}
	for _, level := range []float64{0.5, 0.8, 0.9} {
		low, high := score.Cover(even, level).Interval()
		if level < low-0.01 || level > high+0.01 {
			t.Errorf("at %g the coverage is %g to %g", level, low, high)
		}
	}
	c := score.Recalibrate(even)
	for p := 0.1; p < 1; p += 0.1 {
		near(t, "a good chance stays", c.Chance(p), p, 0.02)
	}
}

func TestABoldForecastIsCorrected(t *testing.T) {
	// The forecaster's law is half as wide as the truth: its places crowd at
	// both ends, and after the correction they are even.
	r := rand.New(rand.NewPCG(9, 1))
	place := func() float64 { return 0.5 * math.Erfc(-2*r.NormFloat64()/math.Sqrt2) }
	past := make([]float64, 3000)
	for i := range past {
		past[i] = place()
	}
	c := score.Recalibrate(past)
	raw, corrected := 0, 0
	const n = 3000
	for range n {
		p := place()
		if p <= 0.9 {
			raw++
		}
		if c.Chance(p) <= 0.9 {
			corrected++
		}
	}
	if share := float64(raw) / n; share > 0.8 {
		t.Fatalf("the bold forecast covers %g: it is no test", share)
	}
	near(t, "the coverage after the correction", float64(corrected)/n, 0.9, 0.025)
	near(t, "level and chance are each other's reverse", c.Chance(c.Level(0.9)), 0.9, 1e-9)
	if (score.Recalibration{}).Chance(0.3) != 0.3 || (score.Recalibration{}).Level(0.3) != 0.3 {
		t.Error("with nothing learned nothing is corrected")
	}
}

func TestTheLevelOfPromisesFindsTheOneThatIsKept(t *testing.T) {
	// Whoever thinks a promise at level p is kept with chance p², in truth.
	r := rand.New(rand.NewPCG(2, 3))
	level, kept, n := 0.9, 0, 20000
	for i := range n {
		hit := r.Float64() < level*level
		if i >= n/2 && hit {
			kept++
		}
		level = score.Adapt(level, 0.9, hit)
	}
	near(t, "the share kept", float64(kept)/float64(n/2), 0.9, 0.01)
}

func TestQuantilesAndPlacesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(0, 10), 1, 50).Draw(t, "x")
		level := rapid.Float64Range(0.01, 0.99).Draw(t, "level")
		s := slices.Clone(x)
		slices.Sort(s)
		q := score.At(s, level)
		under := 0
		for _, v := range x {
			if v <= q {
				under++
			}
		}
		if float64(under) < level*float64(len(x))-1e-6 {
			t.Fatalf("%d of %d are at most the quantile at %g", under, len(x), level)
		}
		if p := score.Place(x, q); p < 0 || p > 1 {
			t.Fatalf("place %g", p)
		}
	})
}
