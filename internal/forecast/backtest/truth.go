package backtest

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"rampside/internal/forecast"
)

// truth is how a day goes, line by line, in hours from opening.
type truth struct {
	lines map[int64]forecast.Actual
	// wants is what the work found on a line would be estimated at, whatever
	// the customer says.
	wants map[int64]float64
	// order is the one in which the cars are really taken: people keep to the
	// list roughly.
	order []int
}

// gamma draws from the gamma law with mean 1 and a coefficient of variation:
// G. Marsaglia and W. W. Tsang, A Simple Method for Generating Gamma Variables,
// ACM Transactions on Mathematical Software 26 (2000) 363-372.
func gamma(r *rand.Rand, cv float64) float64 {
	k := 1 / (cv * cv)
	d := k - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v / k
		}
	}
}

// foundCV is how far found work is from its estimate.
const foundCV = 0.35

// takes draws how long a job really takes, in hours.
func (g *Garage) takes(r *rand.Rand, j job, rusty bool) float64 {
	h := g.law(j, rusty).scale * gamma(r, g.ops[j.op].cv)
	if r.Float64() < g.ops[j.op].snags { // a Pareto from 1 on
		h *= min(math.Pow(1-r.Float64(), -1/snagShape), snagMax)
	}
	return h
}

// comes draws when a part comes that is due.
func comes(r *rand.Rand, due float64) float64 {
	switch p := r.Float64(); {
	case p < partNever:
		return due + 24
	case p < partNever+partLate:
		return due + 2.5*r.Float64()*r.Float64()
	}
	return due
}

// keepTo is how far people depart from the order of the cars, in places.
const keepTo = 0.7

func roughly(r *rand.Rand, cars int) []int {
	at, out := make([]float64, cars), make([]int, cars)
	for c := range at {
		at[c], out[c] = float64(c)+keepTo*r.NormFloat64(), c
	}
	slices.SortFunc(out, func(a, b int) int { return cmp.Compare(at[a], at[b]) })
	return out
}

// way draws one way in which the day may really go; rusty says of each car
// whether it is.
func (g *Garage) way(r *rand.Rand, d Day, rusty func(car int64) bool) truth {
	t := truth{lines: map[int64]forecast.Actual{}, wants: map[int64]float64{}, order: roughly(r, len(d.Known.Cars))}
	for _, car := range d.Known.Cars {
		rust := rusty(car.ID)
		for _, l := range car.Lines {
			a := forecast.Actual{Hours: g.takes(r, d.jobs[l.ID], rust)}
			if due, waits := d.parts[l.ID]; waits {
				a.Here = comes(r, due)
			}
			if l.Finds != nil && r.Float64() < foundTruth {
				a.Asked = askedMost * r.Float64()
				t.wants[l.ID] = foundLeast + foundMore*r.Float64()
				if r.Float64() < agreedTruth {
					a.Found = t.wants[l.ID] * gamma(r, foundCV)
				}
			}
			t.lines[l.ID] = a
		}
	}
	return t
}

func (t truth) of(id int64) forecast.Actual { return t.lines[id] }

// pieces are how many steps the snags of a law are cut into.
const pieces = 24

// hours is the law of a job's hours: a gamma with the shape k and a mean of scale,
// and with a chance a Pareto on it, in steps of equal chance.
type hours struct {
	k, scale, snags float64
}

func (g *Garage) law(j job, rusty bool) hours {
	o := g.ops[j.op]
	l := hours{1 / (o.cv * o.cv), j.estimate * math.Exp(o.bias+o.layout[j.layout]), o.snags}
	if o.under && rusty {
		l.scale *= rustFactor
	}
	return l
}

// each calls f with the chance and the factor of each piece, the one without a
// snag first.
func (l hours) each(f func(k int, chance, factor float64)) {
	f(0, 1-l.snags, 1)
	for k := range pieces {
		u := (float64(k) + 0.5) / pieces
		f(k+1, l.snags/pieces, min(math.Pow(1-u, -1/snagShape), snagMax))
	}
}

// density is that of exactly h hours.
func (l hours) density(h float64) (sum float64) {
	lg, _ := math.Lgamma(l.k)
	l.each(func(_ int, chance, factor float64) {
		rate := l.k / (l.scale * factor)
		sum += chance * math.Exp(l.k*math.Log(rate)+(l.k-1)*math.Log(h)-rate*h-lg)
	})
	return sum
}

// cut is a law of which more than spent is known.
type cut struct {
	hours
	spent float64
	upTo  [pieces + 1]float64 // chances of the pieces, added up
	above [pieces + 1]float64 // the gamma's chance of more than spent
}

func (l hours) after(spent float64) *cut {
	c := &cut{hours: l, spent: spent}
	sum := 0.0
	l.each(func(k int, chance, factor float64) {
		c.above[k] = mathext.GammaIncRegComp(l.k, l.k*spent/(l.scale*factor))
		sum += chance * c.above[k]
		c.upTo[k] = sum
	})
	return c
}

// survives is the chance of more than spent.
func (c *cut) survives() float64 { return c.upTo[pieces] }

// left draws the hours that are still to come.
func (c *cut) left(r *rand.Rand) float64 {
	u, k := r.Float64()*c.survives(), 0
	for k < pieces && c.upTo[k] < u {
		k++
	}
	out := 0.0
	c.each(func(i int, _, factor float64) {
		if i == k && c.above[k] > 1e-280 {
			out = max(mathext.GammaIncRegCompInv(c.k, (1-r.Float64())*c.above[k])*c.scale*factor/c.k-c.spent, 0)
		}
	})
	return out
}
