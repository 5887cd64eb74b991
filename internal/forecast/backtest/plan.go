package backtest

import "math"

// plan is the best that can be made of the plan alone: how long before its
// promise a car is to be finished, made into a chance by what became of such
// plans, with a logistic curve.
type plan struct {
	slack []float64
	was   []bool
}

// clip keeps what never ends, and what is a night away, within a day.
func clip(slack float64) float64 { return min(max(slack, -12), 12) }

func (p *plan) add(slack float64, was bool) {
	p.slack, p.was = append(p.slack, clip(slack)), append(p.was, was)
}

// curve gives the chance for a slack, or nothing without a past. It is fitted by
// Newton's method; a little is held against large figures, so that it ends.
func (p *plan) curve() func(slack float64) float64 {
	a, b := 0.0, 0.0
	chance := func(x float64) float64 { return 1 / (1 + math.Exp(-a-b*x)) }
	for range 30 {
		const held = 0.05
		ga, gb, haa, hab, hbb := -held*a, -held*b, held, 0.0, held
		for i, x := range p.slack {
			y := 0.0
			if p.was[i] {
				y = 1
			}
			q := chance(x)
			ga, gb = ga+y-q, gb+(y-q)*x
			w := q * (1 - q)
			haa, hab, hbb = haa+w, hab+w*x, hbb+w*x*x
		}
		det := haa*hbb - hab*hab
		a, b = a+(hbb*ga-hab*gb)/det, b+(haa*gb-hab*ga)/det
	}
	return func(slack float64) float64 { return chance(clip(slack)) }
}
