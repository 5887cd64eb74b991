package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
)

// garage makes up the lines of a garage whose truth is known: what an operation
// takes over its estimate, as a logarithm.
type garage struct {
	r     *rand.Rand
	truth []float64
}

func newGarage(seed uint64, operations int) *garage {
	g := &garage{r: rand.New(rand.NewPCG(seed, 1))}
	for range operations {
		g.truth = append(g.truth, 0.1+0.25*g.r.NormFloat64())
	}
	return g
}

func (g *garage) line(i int) learn.Line {
	o := g.r.IntN(len(g.truth))
	y := g.truth[o] + 0.35*g.r.NormFloat64()
	e := 0.5 + 2*g.r.Float64()
	return learn.Line{ID: int64(i + 1), Operation: fmt.Sprint("op", o), Layout: fmt.Sprint("l", g.r.IntN(3)), Vehicle: fmt.Sprint("v", g.r.IntN(200)), Estimate: law.Single(e), Hours: e * math.Exp(y), Finished: true}
}

func (g *garage) lines(n int) []learn.Line {
	out := make([]learn.Line, n)
	for i := range out {
		out[i] = g.line(i)
	}
	return out
}

// off is the root mean square error of what was learned.
func (g *garage) off(m *learn.Model) float64 {
	var sum float64
	for o, truth := range g.truth {
		d := m.Of(fmt.Sprint("op", o), "l0", 0).Mean - truth
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(g.truth)))
}

func TestWithNothingLearnedTheBeliefStands(t *testing.T) {
	m := learn.Fit(nil, learn.Start)
	l := m.Of("brakes", "inline", 0)
	if !m.Young() || m.N() != 0 || math.Abs(l.Mean-0.05) > 1e-12 || math.Abs(l.Spread-0.45) > 1e-9 || math.Abs(l.Doubt-math.Sqrt(0.2*0.2+0.35*0.35+0.2*0.2)) > 1e-9 {
		t.Errorf("%+v", l)
	}
	if u, sd := m.Car("x"); u != 0 || math.Abs(sd-0.17) > 1e-12 {
		t.Errorf("the car has %g ± %g", u, sd)
	}
	// A stated spread makes the belief narrower or wider, with half the weight.
	narrow, wide := m.Of("brakes", "", 0.001).Spread, m.Of("brakes", "", 0.2).Spread
	if narrow >= wide || narrow < 0.3 {
		t.Errorf("spreads %g and %g", narrow, wide)
	}
}

func TestMoreLinesTellMore(t *testing.T) {
	g := newGarage(3, 20)
	lines := g.lines(3000)
	few, many := g.off(learn.Fit(lines[:60], learn.Start)), g.off(learn.Fit(lines, learn.Start))
	if many > 0.06 || many > few/2 {
		t.Errorf("off by %g after 60 lines and by %g after 3000", few, many)
	}
	// Between: whoever takes each operation's mean alone is worse off after 60
	// lines than who borrows from the others.
	sum, n := map[string]float64{}, map[string]float64{}
	for _, l := range lines[:60] {
		sum[l.Operation] += math.Log(l.Hours / l.Estimate.Mean())
		n[l.Operation]++
	}
	var alone float64
	for o, truth := range g.truth {
		own := 0.0
		if k := fmt.Sprint("op", o); n[k] > 0 {
			own = sum[k] / n[k]
		}
		alone += (own - truth) * (own - truth) / float64(len(g.truth))
	}
	if few >= math.Sqrt(alone) {
		t.Errorf("borrowing is off by %g, each alone by %g", few, math.Sqrt(alone))
	}
}

func TestTheSpreadOfALineIsLearnedAndNineInTenStayUnderIt(t *testing.T) {
	g := newGarage(5, 12)
	m := learn.Fit(g.lines(2500), learn.Start)
	under, n := 0, 3000
	for i := range n {
		l := g.line(i)
		r := m.Ratio(l.Operation, l.Layout, "", 0)
		if r.Survives(l.Hours/l.Estimate.Mean()) > 0.1 {
			under++
		}
	}
	if share := float64(under) / float64(n); math.Abs(share-0.9) > 0.025 {
		t.Errorf("%g stay under what nine in ten should", share)
	}
}

func TestOpenLinesCountAsLongerAndNotAsNothing(t *testing.T) {
	g := newGarage(8, 6)
	all := g.lines(2400)
	var open, dropped, short []learn.Line
	for _, l := range all {
		// Whatever takes above 1.15 of its estimate is still open at that.
		if stop := 1.15 * l.Estimate.Mean(); l.Hours > stop {
			l.Hours, l.Finished = stop, false
			open = append(open, l)
			l.Finished = true
			short = append(short, l)
			continue
		}
		open, dropped, short = append(open, l), append(dropped, l), append(short, l)
	}
	whole, right := g.off(learn.Fit(all, learn.Start)), g.off(learn.Fit(open, learn.Start))
	if right > whole+0.08 {
		t.Errorf("off by %g with open lines, by %g knowing them", right, whole)
	}
	for what, lines := range map[string][]learn.Line{"leaving them out": dropped, "taking them as finished": short} {
		if wrong := g.off(learn.Fit(lines, learn.Start)); wrong < 2*right {
			t.Errorf("%s is off by %g, counting them as open by %g: it is no test", what, wrong, right)
		}
	}
}

func TestClockingsLeftOnAndForgottenDoNotSpoilWhatIsLearned(t *testing.T) {
	g := newGarage(11, 6)
	lines := g.lines(1200)
	clean := learn.Fit(lines, learn.Start)
	doubted, wronged := 0, 0
	for i := range lines {
		switch i % 40 {
		case 0:
			lines[i].Hours = 16 * lines[i].Estimate.Mean() // left on overnight
		case 20:
			lines[i].Hours = 0.01 * lines[i].Estimate.Mean() // a minute
		}
	}
	spoiled := learn.Fit(lines, learn.Start)
	if a, b := g.off(clean), g.off(spoiled); b > a+0.05 {
		t.Errorf("off by %g, and by %g with one in twenty wrong", a, b)
	}
	a, b := clean.Ratio("op0", "l0", "", 0), spoiled.Ratio("op0", "l0", "", 0)
	if b.SD > a.SD*1.3 {
		t.Errorf("the spread went from %g to %g", a.SD, b.SD)
	}
	for o := range g.truth {
		for k := range 3 {
			for _, s := range spoiled.From(fmt.Sprint("op", o), fmt.Sprint("l", k)) {
				wrong := s.Ratio > 15 || s.Ratio < 0.02
				if wrong && s.Doubtful {
					doubted++
				}
				if s.Doubtful && !wrong {
					wronged++
					if s.Ratio > 0.6 && s.Ratio < 2.5 {
						t.Errorf("line %d with ratio %g is doubted", s.ID, s.Ratio)
					}
				}
			}
		}
	}
	// Where one in twenty is known to be wrong, what is three deviations out is
	// doubted too; that must be seldom.
	if doubted != 60 || wronged > len(lines)/100 {
		t.Errorf("%d of 60 wrong ones are doubted, and %d sound ones", doubted, wronged)
	}
}

func TestClocksLeftOnForAFewHoursAreToldFromSnags(t *testing.T) {
	// One clock in fifteen runs on for up to four hours more, on short lines and
	// long ones alike; what is learned is as if they had not.
	var spoiled, clean float64
	for seed := range uint64(4) {
		g := newGarage(60+seed, 12)
		lines := g.lines(1500)
		clean += g.off(learn.Fit(lines, learn.Start))
		for i := 0; i < len(lines); i += 15 {
			lines[i].Hours += 4 * g.r.Float64()
		}
		m := learn.Fit(lines, learn.Start)
		spoiled += g.off(m)
		if chance, _, _ := m.Snag(); chance > 0.06 {
			t.Errorf("snags are taken to come %g of the time, and none did", chance)
		}
	}
	if spoiled > clean*1.15 {
		t.Errorf("off by %g, and without the clocks left on by %g", spoiled/4, clean/4)
	}
}

func TestACarThatIsWornIsKnownByItsLines(t *testing.T) {
	g := newGarage(21, 10)
	lines := g.lines(2000)
	for i := range lines {
		if lines[i].Vehicle == "v7" {
			lines[i].Hours *= 1.6
		}
	}
	m := learn.Fit(lines, learn.Start)
	u, sd := m.Car("v7")
	if u < 0.15 || sd > 0.15 {
		t.Errorf("the worn car has %g ± %g", u, sd)
	}
	if u, _ := m.Car("v8"); math.Abs(u) > 0.2 {
		t.Errorf("another has %g", u)
	}
}

func TestAHabitThatChangedIsForgottenWithTime(t *testing.T) {
	g := newGarage(31, 1)
	var lines []learn.Line
	for i, l := range g.lines(400) {
		l.Age = 3
		if i < 200 {
			l.Hours, l.Age = l.Hours*1.6, 900
		}
		lines = append(lines, l)
	}
	m := learn.Fit(lines, learn.Start)
	p := learn.Start
	p.HalfLife = 0
	old := learn.Fit(lines, p)
	truth := g.truth[0]
	if a, b := math.Abs(m.Of("op0", "l0", 0).Mean-truth), math.Abs(old.Of("op0", "l0", 0).Mean-truth); a > b*0.7 {
		t.Errorf("off by %g with forgetting and %g without", a, b)
	}
}

func TestForgettingCostsLittleWhereNothingChangesAndHelpsWhereHabitsDo(t *testing.T) {
	// Two years of 1,500 lines each, month by month, over four garages: the
	// error of what was learned of thirty operations, with the usual half-life
	// over that without one. The changes are made up.
	year := map[string]struct {
		change func(g *garage, r *rand.Rand, month int)
		most   float64
	}{
		"nothing changes":               {func(*garage, *rand.Rand, int) {}, 1.25},
		"every operation goes its way":  {func(g *garage, r *rand.Rand, _ int) { g.drift(func() float64 { return 0.06 * r.NormFloat64() }) }, 0.85},
		"all estimates grow too short":  {func(g *garage, _ *rand.Rand, _ int) { g.drift(func() float64 { return 0.1 / 12 }) }, 0.85},
		"since a year ago they are so":  {func(g *garage, _ *rand.Rand, m int) { g.drift(func() float64 { return step(m == 12) }) }, 0.7},
		"since three months they do so": {func(g *garage, _ *rand.Rand, m int) { g.drift(func() float64 { return step(m == 21) }) }, 0.92},
	}
	for name, x := range year {
		var with, without float64
		for seed := range uint64(4) {
			g, r := newGarage(50+seed, 30), rand.New(rand.NewPCG(seed, 9))
			var lines []learn.Line
			for i := range 3000 {
				if i%125 == 0 {
					x.change(g, r, i/125)
				}
				l := g.line(i)
				l.Age = 730 * (1 - float64(i)/3000)
				lines = append(lines, l)
			}
			never := learn.Start
			never.HalfLife = 0
			with += g.off(learn.Fit(lines, learn.Start))
			without += g.off(learn.Fit(lines, never))
		}
		t.Logf("%s: off by %.3f, without forgetting by %.3f", name, with/4, without/4)
		if with > x.most*without {
			t.Errorf("%s: off by %g with forgetting and %g without", name, with/4, without/4)
		}
	}
}

func (g *garage) drift(by func() float64) {
	for o := range g.truth {
		g.truth[o] += by()
	}
}

// step is a habit that changes at once.
func step(now bool) float64 {
	if now {
		return 0.3
	}
	return 0
}

func TestHoursAreSuggestedOnlyWhereTheLinesSaySo(t *testing.T) {
	var lines []learn.Line
	r := rand.New(rand.NewPCG(1, 9))
	for i := range 60 {
		for k, f := range []float64{1.5, 1} {
			lines = append(lines, learn.Line{ID: int64(2*i + k), Operation: fmt.Sprint("op", k), Vehicle: fmt.Sprint("car ", i, k), Estimate: law.Single(2), Hours: 2 * f * math.Exp(0.2*r.NormFloat64()), Finished: true})
		}
	}
	m := learn.Fit(lines, learn.Start)
	s, ok := m.Suggest("op0", "", 2)
	if !ok || math.Abs(s.Hours-3) > 0.3 || s.Lines != 60 || len(s.From) != 60 || s.From[3].ID != 6 {
		t.Errorf("%v %v %d lines, %d behind it", ok, s.Hours, s.Lines, len(s.From))
	}
	if s, ok := m.Suggest("op1", "", 2); ok {
		t.Errorf("what is right is to be changed to %g", s.Hours)
	}
	if _, ok := learn.Fit(lines[:8], learn.Start).Suggest("op0", "", 2); ok {
		t.Error("four lines are enough to say so")
	}
}

func TestChancesOfFindingStartFromTheBelief(t *testing.T) {
	// Means of betas, by hand: (1.5 + 3)/(10 + 10) and (6 + 9)/(10 + 10).
	if got := learn.FoundChance(learn.Counts{Yes: 3, Of: 10}); math.Abs(got-0.225) > 1e-12 {
		t.Error(got)
	}
	if got := learn.AgreedChance(learn.Counts{Yes: 9, Of: 10}); math.Abs(got-0.75) > 1e-12 {
		t.Error(got)
	}
}

func TestAnyLinesGiveAModelWithSoundFigures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "n")
		var lines []learn.Line
		for i := range n {
			lines = append(lines, learn.Line{
				ID: int64(i), Operation: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "op"), Layout: rapid.SampledFrom([]string{"", "x"}).Draw(t, "layout"),
				Vehicle:  rapid.SampledFrom([]string{"", "p", "q"}).Draw(t, "car"),
				Estimate: law.Single(rapid.SampledFrom([]float64{-1, 0, 0.1, 1, 8}).Draw(t, "e")),
				Hours:    rapid.SampledFrom([]float64{-1, 0, 1e-6, 0.1, 1, 5, 1e6, math.Inf(1), math.NaN()}).Draw(t, "hours"),
				Finished: rapid.Bool().Draw(t, "finished"), Age: rapid.Float64Range(-10, 5000).Draw(t, "age"),
			})
		}
		m := learn.Fit(lines, learn.Start)
		for _, op := range []string{"", "a", "b", "new"} {
			l := m.Of(op, "x", 0.05)
			r := m.Ratio(op, "x", "p", 0)
			for _, v := range []float64{l.Mean, l.Doubt, l.Spread, r.Mean, r.SD, r.SnagSD, r.Median(0)} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%+v %+v", l, r)
				}
			}
			if l.Spread <= 0 || l.Doubt <= 0 || r.Snag <= 0 || r.Snag >= 1 || l.Operation.Z < 0 || l.Operation.Z > 1 || l.Layout.Z < 0 || l.Layout.Z > 1 {
				t.Fatalf("%+v %+v", l, r)
			}
		}
	})
}

func BenchmarkAYearsRefit(b *testing.B) {
	g := newGarage(1, 40)
	lines := g.lines(6900)
	for i := range lines {
		lines[i].Finished = i%12 != 0
		lines[i].Layout = fmt.Sprint("l", i%5)
	}
	b.ResetTimer()
	for b.Loop() {
		learn.Fit(lines, learn.Start)
	}
}
