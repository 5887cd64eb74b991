package forecast

import (
	"math"

	"rampside/internal/forecast/law"
	"rampside/internal/forecast/schedule"
)

// part is one that is waited for, in hours from now.
type part struct {
	due                 float64
	sure                bool
	onTime, late, never float64 // weights, given that it is not here yet
	coord               int
}

// How late a late part is: a log-normal with this median in hours and this σ;
// and how often parts are on time, late and not that day before anything is
// known of a supplier, in parts of ten. A judgement, no published source.
const (
	lateMedian = 0.8
	lateSpread = 0.9
	onTimeOf10 = 7.0
	neverOf10  = 0.5
)

func makePart(d Day, p Part, coord int) part {
	out := part{due: d.hours(p.Due), sure: p.Sure, coord: coord}
	n := 10 + float64(p.OnTime+p.Late+p.Never)
	out.onTime = (onTimeOf10 + float64(p.OnTime)) / n
	out.never = (neverOf10 + float64(p.Never)) / n
	out.late = 1 - out.onTime - out.never
	if out.due < 0 { // overdue: on time is over, and so is some of being late
		out.onTime = 0
		out.late *= law.Above(math.Log(-out.due/lateMedian) / lateSpread)
	}
	return out
}

// arrives draws when it comes, in hours from now. One that does not come that
// day is taken to come a day later.
func (p part) arrives(pick, u float64) float64 {
	if p.sure {
		return p.due
	}
	switch pick *= p.onTime + p.late + p.never; {
	case pick < p.onTime:
		return p.due
	case pick >= p.onTime+p.late:
		return math.Max(p.due, 0) + 24
	}
	if p.due >= 0 {
		return p.due + lateMedian*math.Exp(lateSpread*law.Quantile(u))
	}
	above := law.Above(math.Log(-p.due/lateMedian) / lateSpread)
	return math.Max(p.due+lateMedian*math.Exp(lateSpread*law.AboveQuantile(above*(1-u))), 0)
}

// steps of what a car may have of its own, when today has told something of it.
const steps = 13

// carGroup is what a car has of its own: a normal, or where its lines of today
// have spoken, the chances of steps across it.
type carGroup struct {
	mean, sd float64
	coord    int
	told     bool
	upTo     [steps]float64
}

// carToday weighs what a car may have of its own by how long its lines of today
// have taken, and by how long those that run have been running.
func (e *Engine) carToday(car Car, coord int) carGroup {
	g := carGroup{coord: coord}
	g.mean, g.sd = e.model.Car(car.Vehicle)
	snag, snagMean, snagVar := e.model.Snag()
	var weight [steps]float64
	for k := range weight {
		z := float64(k-steps/2) / 2
		weight[k] = law.Density(z)
	}
	for _, l := range car.Lines {
		if l.Spent <= 0 {
			continue
		}
		g.told = true
		known := e.model.Of(l.Operation, l.Layout, l.Estimate.LogSpread())
		v := known.Spread*known.Spread + known.Doubt*known.Doubt
		y := l.Spent / l.Estimate.Mean()
		for k := range weight {
			m := known.Mean + g.mean + g.sd*float64(k-steps/2)/2
			r := law.Ratio{Mean: m, SD: math.Sqrt(v), Snag: snag, SnagMean: m + snagMean, SnagSD: math.Sqrt(v + snagVar)}
			if l.Done {
				weight[k] *= r.LogDensity(math.Log(y))
			} else {
				weight[k] *= r.Survives(y)
			}
		}
	}
	sum := 0.0
	for k, w := range weight {
		sum += w
		g.upTo[k] = sum
	}
	if !(sum > 1e-280) {
		g.told = false // beyond all that was thought possible: nothing is learned from it
		return g
	}
	for k := range g.upTo {
		g.upTo[k] /= sum
	}
	return g
}

func (g *carGroup) draw(u float64) float64 {
	if !g.told {
		return g.mean + g.sd*law.Quantile(u)
	}
	low := 0.0
	for k, high := range g.upTo {
		if u <= high || k == steps-1 {
			within := 0.5
			if high > low {
				within = math.Min((u-low)/(high-low), 1)
			}
			return g.mean + g.sd*(float64(k-steps/2)-0.5+within)/2
		}
		low = high
	}
	return g.mean
}

// middle is what a car has of its own, at the middle.
func (g *carGroup) middle() float64 { return g.draw(0.5) }

// ratio is the law of one line within a draw.
func (e *Engine) ratio(l *line, mean, sd float64) law.Ratio {
	r := law.Ratio{Mean: mean, SD: sd, Snag: e.groups.snag, SnagMean: mean + e.groups.snagMean, SnagSD: math.Sqrt(sd*sd + e.groups.snagVar)}
	if l.snag {
		return r.Snagged()
	}
	return r
}

// stride spreads any first part of the draws over the whole lattice.
const stride = 0.6180339887498949

// draw fills in draw k: what all lines share, then each line.
func (e *Engine) draw(lattice *law.Lattice, k int, d *schedule.Draw) {
	n := lattice.N()
	row := lattice.Row(k/n*n + k%n*int(stride*float64(n))%n)
	g := &e.groups
	normal := func(j int) float64 { return law.Quantile(row.At(j)) }
	mu := g.mean + g.sd*normal(0)
	for o := range g.ops {
		p := &g.ops[o]
		g.opVal[o] = p.step.Of(mu, normal(p.coord))
		g.opSD[o] = p.spread * law.SpreadFactor(p.nu, normal(p.coord+1))
	}
	for c := range g.cells {
		p := &g.cells[c]
		g.cellVal[c] = p.step.Of(g.opVal[p.op], normal(p.coord))
	}
	for c := range g.cars {
		g.carVal[c] = g.cars[c].draw(row.At(g.cars[c].coord))
	}
	for j := range e.lines {
		l := &e.lines[j]
		if l.finds != nil {
			found(l, row, d, j)
			continue
		}
		if e.shop.Lines[j].Done {
			continue
		}
		mean, sd := g.cellVal[l.cell], g.opSD[l.op]
		if l.spent > 0 {
			// That it still runs says something of what it shares, too. Its own
			// law with all that is not known in it, cut at what was spent, is
			// exact; one with the shared figures drawn beforehand is not.
			mean, sd = l.mean, l.sd
		}
		r := e.ratio(l, mean+g.carVal[l.car], sd)
		d.Hours[j] = r.Left(l.spent, row.At(l.coord), row.At(l.coord+1)) * l.estimate / l.men
		if l.asked != nil {
			l.asked.draw(row, l.answer, d, j)
		}
		d.Here[j] = 0
		for p := range l.parts {
			d.Here[j] = math.Max(d.Here[j], l.parts[p].arrives(row.At(l.parts[p].coord), row.At(l.parts[p].coord+1)))
		}
	}
}

// draw draws the customer's answer; after a no there is nothing of the line.
func (a *Asked) draw(row law.Row, coord int, d *schedule.Draw, j int) {
	d.Gone[j] = row.At(coord) >= a.Agreed
	d.Lag[j] = -a.Answer * math.Log(row.At(coord+1))
	if d.Gone[j] {
		d.Hours[j] = 0
	}
}

// found draws what an operation finds, and what the customer says.
func found(l *line, row law.Row, d *schedule.Draw, j int) {
	f := l.finds
	pick := row.At(l.coord)
	d.Gone[j] = pick >= f.Chance*f.Agreed
	d.Lag[j], d.Hours[j] = 0, 0
	if pick < f.Chance { // somebody is asked, whatever the answer
		d.Lag[j] = -f.Asking * math.Log(row.At(l.coord+1))
	}
	if !d.Gone[j] {
		d.Hours[j] = f.Median * math.Exp(f.Spread*law.Quantile(row.At(l.coord+2)))
	}
}
