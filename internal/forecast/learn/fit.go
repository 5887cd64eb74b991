package learn

import (
	"math"

	"rampside/internal/forecast/law"
)

// rounds of fitting at most; it ends sooner when nothing moves by a thousandth.
const rounds = 40

type fitter struct {
	prior Prior
	tree  tree
	cells map[[2]string]int
	ops   map[string]int
	cars  map[string]int

	sigma2, nu, stated []float64 // of each operation
	statedN, n         []float64
	u, uVar            []float64 // of each car
	uw, us             []float64

	pool2, omega2           float64
	snag, snagMean, snagVar float64
	mistake, left           float64

	lines []fitted
}

type fitted struct {
	cell, op, car int
	y             float64 // ln of the ratio, or of what it is known to exceed
	open          bool
	weight        float64 // by age
	estimate      float64
	left          float64 // how likely that the clock was left on

	snag, trust float64 // how likely a snag; how likely that the clocking is right
	y0, v0      float64 // without a snag: mean and variance of y
	y1, v1      float64 // with one
}

func index[K comparable](m map[K]int, k K) int {
	i, ok := m[k]
	if !ok {
		i = len(m)
		m[k] = i
	}
	return i
}

// Fit learns from lines. Lines that say nothing (no hours, no estimate) are
// passed over. The same lines in the same order give the same model.
func Fit(lines []Line, prior Prior) *Model {
	f := &fitter{prior: prior, cells: map[[2]string]int{}, ops: map[string]int{}, cars: map[string]int{}}
	f.read(lines)
	f.begin()
	var last [8]float64
	for range rounds {
		f.expect()
		f.tree.solve()
		f.followCars()
		f.spread()
		f.between()
		now := [...]float64{f.tree.top, f.tree.tauOp, f.tree.tauCell, f.omega2, f.pool2, f.snag, f.snagMean, f.snagVar}
		moved := 0.0
		for k, v := range now {
			moved = max(moved, math.Abs(v-last[k])/(math.Abs(v)+0.01))
		}
		if last = now; moved < 1e-3 {
			break
		}
	}
	return f.model(lines)
}

func (f *fitter) read(lines []Line) {
	f.lines = make([]fitted, len(lines))
	for i, l := range lines {
		x := &f.lines[i]
		if !l.usable() {
			x.cell = -1
			continue
		}
		x.op = index(f.ops, l.Operation)
		x.cell = index(f.cells, [2]string{l.Operation, l.Layout})
		x.car = index(f.cars, l.Vehicle)
		if x.cell == len(f.tree.opOf) {
			f.tree.opOf = append(f.tree.opOf, x.op)
		}
		if x.op == len(f.stated) {
			f.stated, f.statedN = append(f.stated, 0), append(f.statedN, 0)
		}
		if s := l.Estimate.LogSpread(); s > 0 {
			f.stated[x.op] += s
			f.statedN[x.op]++
		}
		x.y, x.open = math.Log(l.Hours/l.Estimate.Mean()), !l.Finished
		x.weight, x.estimate = 1, l.Estimate.Mean()
		if f.prior.HalfLife > 0 && l.Age > 0 {
			x.weight = math.Exp2(-l.Age / f.prior.HalfLife)
		}
	}
}

func (f *fitter) begin() {
	p := f.prior
	f.tree.mean, f.tree.variance = p.Mean, p.MeanSD*p.MeanSD
	f.tree.tauOp, f.tree.tauCell = p.OperationSD*p.OperationSD, p.LayoutSD*p.LayoutSD
	f.tree.ops, f.tree.cells = make([]branch, len(f.ops)), make([]branch, len(f.cells))
	f.tree.solve() // with no weight anywhere: the prior
	f.omega2, f.pool2 = p.CarSD*p.CarSD, p.Spread*p.Spread
	f.mistake, f.left = p.Mistake, p.LeftOn
	f.snag, f.snagMean, f.snagVar = p.Snag, p.SnagMean, p.SnagSD*p.SnagSD
	f.sigma2, f.nu, f.n = make([]float64, len(f.ops)), make([]float64, len(f.ops)), make([]float64, len(f.ops))
	for o := range f.sigma2 {
		f.sigma2[o], f.nu[o] = f.spreadBefore(o), p.SpreadWeight
	}
	f.u, f.uVar = make([]float64, len(f.cars)), make([]float64, len(f.cars))
	f.uw, f.us = make([]float64, len(f.cars)), make([]float64, len(f.cars))
}

// spreadBefore is what σ² of an operation would be without its own lines: half
// from the others, half from what people said, where they did.
func (f *fitter) spreadBefore(o int) float64 {
	if f.statedN[o] == 0 {
		return f.pool2
	}
	return f.pool2/2 + f.prior.Stated*f.prior.Stated*f.stated[o]/f.statedN[o]/2
}

// expect says of each line how likely it was a snag or a mistake, what it
// would have come to where it is open, and sums it into its cell.
func (f *fitter) expect() {
	for c := range f.tree.cells {
		f.tree.cells[c].weight, f.tree.cells[c].sum = 0, 0
	}
	for i := range f.lines {
		x := &f.lines[i]
		if x.cell < 0 {
			continue
		}
		s2 := f.sigma2[x.op]
		t2 := s2 + f.snagVar
		m := f.tree.cells[x.cell].mean + f.u[x.car]
		x.look(m, math.Sqrt(s2), f.snagMean, math.Sqrt(t2), f.snag, f.mistake, f.left)
		w0, w1 := x.weight*x.trust*(1-x.snag)/s2, x.weight*x.trust*x.snag/t2
		c := &f.tree.cells[x.cell]
		c.weight += w0 + w1
		c.sum += w0*(x.y0-f.u[x.car]) + w1*(x.y1-f.snagMean-f.u[x.car])
	}
}

// look is expect's rule for one line with the mean m.
func (x *fitted) look(m, s, delta, t, snag, mistake, left float64) {
	z0, z1 := (x.y-m)/s, (x.y-m-delta)/t
	if !x.open {
		a0 := (1 - snag - mistake - left) * law.Density(z0) / s
		a1 := snag * law.Density(z1) / t
		a2 := mistake * law.Density((x.y-m)/mistakeSD) / mistakeSD
		a3 := left * x.leftOn(m, s)
		sum := a0 + a1 + a2 + a3
		if sum <= 0 {
			x.snag, x.trust, x.left = 0, 0, 0
		} else {
			x.trust, x.left = (a0+a1)/sum, a3/sum
			x.snag = a1 / math.Max(a0+a1, 1e-300)
		}
		x.y0, x.y1, x.v0, x.v1 = x.y, x.y, 0, 0
		return
	}
	a0, a1 := (1-snag)*law.Above(z0), snag*law.Above(z1)
	x.trust, x.left, x.snag = 1, 0, 1.0
	if a0+a1 > 0 {
		x.snag = a1 / (a0 + a1)
	}
	x.y0, x.v0 = m+s*law.Hazard(z0), s*s*law.CutVariance(z0)
	x.y1, x.v1 = m+delta+t*law.Hazard(z1), t*t*law.CutVariance(z1)
}

// halfDay is how long a clock runs on at most that was left on, in hours: until
// the next break, or until the garage closes. A judgement.
const halfDay = 4.5

// leftOn is the density of y where the clock ran on after the work was done,
// anything up to half a day alike. Unlike a snag that does not grow with the
// estimate, and so the two are told apart.
func (x *fitted) leftOn(m, s float64) float64 {
	h := x.estimate * math.Exp(x.y)
	chance := law.Below((x.y - m) / s)
	if h > halfDay {
		chance -= law.Below((math.Log((h-halfDay)/x.estimate) - m) / s)
	}
	return chance * h / halfDay
}

// followCars fits what each car has of its own.
func (f *fitter) followCars() {
	clear(f.uw)
	clear(f.us)
	for i := range f.lines {
		x := &f.lines[i]
		if x.cell < 0 {
			continue
		}
		s2 := f.sigma2[x.op]
		w0, w1 := x.weight*x.trust*(1-x.snag)/s2, x.weight*x.trust*x.snag/(s2+f.snagVar)
		theta := f.tree.cells[x.cell].mean
		f.uw[x.car] += w0 + w1
		f.us[x.car] += w0*(x.y0-theta) + w1*(x.y1-f.snagMean-theta)
	}
	for v := range f.u {
		f.uVar[v] = 1 / (f.uw[v] + 1/f.omega2)
		f.u[v] = f.us[v] * f.uVar[v]
	}
}

// farthestSnag and widestSnag keep δ and ψ² from growing until they take in
// clockings that were left on: a line of six times its estimate still is a
// snag, and one of sixteen times a mistake.
const farthestSnag, widestSnag = 0.9, 0.16

// mostMistakes is up to what share of clockings is believed to be wrong either
// way, so that what is just uncertain is not explained away.
const mostMistakes = 0.1

// spread fits σ² of each operation, and how often snags come and how large.
func (f *fitter) spread() {
	p := f.prior
	for o := range f.sigma2 {
		f.n[o] = 0
		f.nu[o] = p.SpreadWeight
	}
	before := make([]float64, len(f.sigma2))
	for o := range before {
		before[o] = p.SpreadWeight * f.spreadBefore(o)
	}
	var lines, snags, sum, square, all, mistakes, left float64
	for i := range f.lines {
		x := &f.lines[i]
		if x.cell < 0 {
			continue
		}
		c := &f.tree.cells[x.cell]
		m, doubt := c.mean+f.u[x.car], c.vari+f.uVar[x.car]
		all += x.weight
		left += x.weight * x.left
		mistakes += x.weight * (1 - x.trust - x.left)
		w := x.weight * x.trust
		w0, w1 := w*(1-x.snag), w*x.snag
		before[x.op] += w0 * ((x.y0-m)*(x.y0-m) + x.v0 + doubt)
		f.nu[x.op] += w0
		f.n[x.op] += w0
		lines += w
		snags += w1
		d := x.y1 - m
		sum += w1 * d
		square += w1 * ((d-f.snagMean)*(d-f.snagMean) + x.v1 + doubt - f.sigma2[x.op])
	}
	for o := range f.sigma2 {
		f.sigma2[o] = math.Max(before[o]/f.nu[o], 1e-3)
	}
	f.mistake = min((p.weightMistake*p.Mistake+mistakes)/(p.weightMistake+all), mostMistakes)
	f.left = min((p.weightMistake*p.LeftOn+left)/(p.weightMistake+all), mostMistakes)
	f.snag = (p.weightSnag*p.Snag + snags) / (p.weightSnag + lines)
	f.snagMean = min(max((p.weightSnagSize*p.SnagMean+sum)/(p.weightSnagSize+snags), 0.2), farthestSnag)
	f.snagVar = min(max((p.weightSnagSize*p.SnagSD*p.SnagSD+square)/(p.weightSnagSize+snags), 0.02), widestSnag)
}

// between fits the variances between operations, layouts, cars and spreads.
func (f *fitter) between() {
	p, t := f.prior, &f.tree
	sum, n := p.weightOp*p.OperationSD*p.OperationSD, p.weightOp
	for o := range t.ops {
		b := &t.ops[o]
		sum += (b.mean-t.top)*(b.mean-t.top) + (1-b.z)*t.tauOp + b.z*b.z*t.topVar
		n++
	}
	tauOp := sum / n
	sum, n = p.weightLayout*p.LayoutSD*p.LayoutSD, p.weightLayout
	for c := range t.cells {
		b, o := &t.cells[c], &t.ops[t.opOf[c]]
		sum += (b.mean-o.mean)*(b.mean-o.mean) + (1-b.z)*t.tauCell + b.z*b.z*o.vari
		n++
	}
	t.tauOp, t.tauCell = tauOp, sum/n
	sum, n = p.weightCar*p.CarSD*p.CarSD, p.weightCar
	for v := range f.u {
		sum += f.u[v]*f.u[v] + f.uVar[v]
		n++
	}
	f.omega2 = sum / n
	sum, n = p.weightSpread*p.Spread*p.Spread, p.weightSpread
	for o := range f.sigma2 {
		sum += f.sigma2[o]
		n++
	}
	f.pool2 = sum / n
}
