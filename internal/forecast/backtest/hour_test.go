package backtest

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rampside/internal/forecast"
)

func TestWhatIsLeftOfALineFollowsTheTruthsLawCutAtWhatWasSpent(t *testing.T) {
	// Without snags the law is a gamma: its tail against the reference, and the
	// drawn rest against that tail.
	l := hours{k: 6.25, scale: 2}
	ref := distuv.Gamma{Alpha: 6.25, Beta: 6.25 / 2}
	for _, h := range []float64{0.5, 1.5, 3} {
		if got := l.density(h); math.Abs(got-ref.Prob(h)) > 1e-9 {
			t.Errorf("the density at %g is %g, want %g", h, got, ref.Prob(h))
		}
		c := l.after(h)
		if got := c.survives(); math.Abs(got-ref.Survival(h)) > 1e-9 {
			t.Errorf("the chance of more than %g is %g, want %g", h, got, ref.Survival(h))
		}
		r := rand.New(rand.NewPCG(1, 1))
		const n, more = 4000, 0.4
		above := 0
		for range n {
			if c.left(r) > more {
				above++
			}
		}
		want := ref.Survival(h+more) / ref.Survival(h)
		if got := float64(above) / n; math.Abs(got-want) > 3*math.Sqrt(want*(1-want)/n) {
			t.Errorf("after %g, more than %g are left %g of the time, want %g", h, more, got, want)
		}
	}
	// With snags it integrates to one all the same.
	l.snags = 0.2
	sum := 0.0
	for h := 0.005; h < 80; h += 0.01 {
		sum += 0.01 * l.density(h)
	}
	if math.Abs(sum-1) > 1e-4 {
		t.Errorf("the density adds up to %g", sum)
	}
}

// made is a day as it goes.
func made(t *testing.T, seed uint64) (*Garage, Day, truth, forecast.Course) {
	t.Helper()
	r := runner{g: NewGarage(seed, 0)}
	d, way, c, _, err := r.live(nil)
	if err != nil {
		t.Fatal(err)
	}
	return r.g, d, way, c
}

func TestAStateKnowsWhatHappenedAndNothingOfWhatIsToCome(t *testing.T) {
	for seed := range uint64(5) {
		g, d, way, c := made(t, seed)
		for _, at := range []float64{0, 1, 4, 4.25, 6, 8} {
			s := g.stand(d, way, c, at)
			// Another truth that has gone the same way so far: what is still to
			// come is other by far.
			other := truth{lines: map[int64]forecast.Actual{}, wants: way.wants, order: way.order}
			course := forecast.Course{Finish: append([]float64(nil), c.Finish...), Lines: map[int64]forecast.Went{}, Found: map[int64]forecast.Went{}}
			for id, a := range way.lines {
				w := c.Lines[id]
				if w.End > at {
					a.Hours, w.End = a.Hours*3, w.End+5
					a.Found, a.Asked = 0, 0
				}
				if w.Begin >= at {
					w.Begin += 3
				}
				if a.Here > at {
					a.Here += 7
				}
				other.lines[id], course.Lines[id] = a, w
			}
			for id, w := range c.Found {
				if w.End > at {
					w.End += 5
				}
				course.Found[id] = w
			}
			for k, f := range c.Finish {
				if f > at {
					course.Finish[k] += 5
				}
			}
			o := g.stand(d, other, course, at)
			if len(s.known.Cars) != len(o.known.Cars) {
				t.Fatalf("garage %d at %g: %d and %d cars", seed, at, len(s.known.Cars), len(o.known.Cars))
			}
			for i := range s.known.Cars {
				a, b := s.known.Cars[i], o.known.Cars[i]
				if a.OnRamp != b.OnRamp || len(a.Lines) != len(b.Lines) || s.rusty[i] != o.rusty[i] {
					t.Fatalf("garage %d at %g: %+v and %+v", seed, at, a, b)
				}
				for k := range a.Lines {
					x, y := a.Lines[k], b.Lines[k]
					if x.Done != y.Done || x.Spent != y.Spent || len(x.On) != len(y.On) || len(x.Parts) != len(y.Parts) {
						t.Fatalf("garage %d at %g: %+v and %+v", seed, at, x, y)
					}
				}
			}
		}
		if s := g.stand(d, way, c, 0); len(s.known.Cars) != len(d.Known.Cars) {
			t.Errorf("at opening %d of %d cars", len(s.known.Cars), len(d.Known.Cars))
		}
	}
}

func TestHoursSpentAreThoseOfWorkAndNotOfTheBreak(t *testing.T) {
	g, d, way, c := made(t, 3)
	s := g.stand(d, way, c, 5)
	for begin, want := range map[float64]float64{0: 4.5, 3: 1.5, 4.5: 0.5, 5: 0} {
		if got := s.worked(begin); math.Abs(got-want) > 1e-9 {
			t.Errorf("from %g to 5 there are %g hours of work, want %g", begin, got, want)
		}
	}
	// Whoever has begun a line and not ended it is at it, and at no other.
	for _, at := range []float64{2, 5, 7} {
		s := g.stand(d, way, c, at)
		seen := map[int64]bool{}
		for _, car := range s.known.Cars {
			for _, l := range car.Lines {
				for _, who := range l.On {
					if seen[who] {
						t.Errorf("at %g, %d is at two lines", at, who)
					}
					seen[who] = true
				}
				if l.Done && (l.Spent <= 0 || len(l.On) > 0 || l.Finds != nil) {
					t.Errorf("at %g a line that is done is %+v", at, l)
				}
			}
		}
		if len(seen) == 0 {
			t.Errorf("at %g nobody is at work", at)
		}
	}
}

func TestThePlanBecomesTheChanceThatMadeIt(t *testing.T) {
	// A logistic regression finds the curve that the outcomes were drawn from.
	var p plan
	r := rand.New(rand.NewPCG(4, 4))
	for range 20000 {
		x := 6*r.Float64() - 3
		p.add(x, r.Float64() < 1/(1+math.Exp(0.5-0.8*x)))
	}
	c := p.curve()
	for _, x := range []float64{-2, 0, 2} {
		want := 1 / (1 + math.Exp(0.5-0.8*x))
		if got := c(x); math.Abs(got-want) > 0.02 {
			t.Errorf("at %g the chance is %g, want %g", x, got, want)
		}
	}
	if c(math.Inf(-1)) > 0.01 || (&plan{}).curve()(3) != 0.5 {
		t.Error("what never ends has a chance, or nothing known is something")
	}
}
