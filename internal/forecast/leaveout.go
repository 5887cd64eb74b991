package forecast

import (
	"cmp"
	"fmt"
	"slices"

	"rampside/internal/forecast/law"
	"rampside/internal/forecast/schedule"
	"rampside/internal/forecast/score"
)

// Choice is something that could be put off to another day.
type Choice struct {
	Car int64
	// Lines that go together: one and those that come after it.
	Lines []int64
	// Move: all that is left of the car, so that its promise is for another day
	// and counts neither as kept nor as missed.
	Move bool
	// Sales put off, in minor units of money.
	Sales int64
	// Gain is in cars that keep their promise; for a Move in the other cars.
	Gain score.Difference
	// Before and After are the chances of the car itself, uncorrected.
	Before, After float64
	// PerHundred is the gain for every hundred units of money (10,000 minor
	// units) of sales put off.
	PerHundred float64
}

// look is how many days a first look plays; the best short of them are played
// for second days, and of those the best shorter for enough.
const (
	look    = 50
	second  = 250
	short   = 10
	shorter = 5
)

// LeaveOut says what could be put off to win back promises, by what is won for
// the sales put off. What must be done, what is begun, and what such a line
// comes after stays. A choice whose gain is not above twice its error is not
// named. target is the car that is meant, or 0 for all.
func (e *Engine) LeaveOut(target int64) ([]Choice, error) {
	if _, ok := e.carAt[target]; target != 0 && !ok {
		return nil, fmt.Errorf("car %d is not in the day", target)
	}
	draws := e.rows(e.lattice, 0, look)
	base := e.hits(draws, e.order, nil)
	type candidate struct {
		choice Choice
		skip   []bool
		score  float64
	}
	var all []candidate
	add := func(car int, skip []bool, move bool) {
		c := candidate{choice: Choice{Car: e.day.Cars[car].ID, Move: move}, skip: skip}
		for i, s := range skip {
			if s && e.lines[i].finds == nil {
				c.choice.Lines = append(c.choice.Lines, e.lines[i].id)
				c.choice.Sales += e.lines[i].sales
			}
		}
		for _, o := range all { // what goes together is one choice
			if slices.Equal(o.skip, skip) {
				return
			}
		}
		c.score = perHundred(e.gain(draws, base, skip, target, moved(move, car)).Mean, c.choice.Sales)
		all = append(all, c)
	}
	for i := range e.lines {
		if skip, ok := e.without(i); ok {
			add(e.lines[i].car, skip, false)
		}
	}
	for c := range e.day.Cars {
		if skip, ok := e.withoutCar(c); ok && e.day.Cars[c].ID != target {
			add(c, skip, true)
		}
	}
	keep := func(n int) {
		slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.score, a.score) })
		all = all[:min(len(all), n)]
	}
	keep(short)
	draws = e.rows(e.lattice, 0, enough)
	base = e.hits(draws, e.order, nil)
	for k := range all {
		c := &all[k]
		g := e.gain(draws[:second], base[:second], c.skip, target, moved(c.choice.Move, e.carAt[c.choice.Car]))
		c.score = perHundred(g.Mean, c.choice.Sales)
	}
	keep(shorter)
	var out []Choice
	for _, c := range all {
		car := e.carAt[c.choice.Car]
		after := e.hits(draws, e.order, c.skip)
		g := c.choice
		g.Gain = difference(base, after, e.target(target), moved(g.Move, car))
		if g.Gain.Mean <= 0 || !g.Gain.Sure(2) {
			continue
		}
		for k := range base {
			g.Before += hit(base[k][car]) / enough
			g.After += hit(after[k][car]) / enough
		}
		g.PerHundred = perHundred(g.Gain.Mean, g.Sales)
		out = append(out, g)
	}
	slices.SortStableFunc(out, func(a, b Choice) int { return cmp.Compare(b.PerHundred, a.PerHundred) })
	return out, nil
}

// moved is the car that does not count, or -1.
func moved(move bool, car int) int {
	if move {
		return car
	}
	return -1
}

func (e *Engine) target(id int64) int {
	if id == 0 {
		return -1
	}
	return e.carAt[id]
}

// perHundred counts sales of less than ten units of money as ten, so that what
// costs nothing does not stand above all by nothing.
func perHundred(gain float64, sales int64) float64 {
	return gain * 10000 / float64(max(sales, 1000))
}

// without says which lines go when line i does, and whether they may.
func (e *Engine) without(i int) ([]bool, bool) {
	skip := make([]bool, len(e.lines))
	if !e.mayGo(i) {
		return nil, false
	}
	skip[i] = true
	for again := true; again; {
		again = false
		for j := range e.lines {
			if skip[j] || e.shop.Lines[j].Done {
				continue
			}
			for _, a := range e.shop.Lines[j].After {
				if skip[a] {
					if e.lines[j].finds == nil && !e.mayGo(j) {
						return nil, false
					}
					skip[j], again = true, true
					break
				}
			}
		}
	}
	return skip, true
}

func (e *Engine) mayGo(i int) bool {
	l := &e.lines[i]
	return l.finds == nil && l.open && !l.must
}

// withoutCar moves a whole car that is not begun.
func (e *Engine) withoutCar(c int) ([]bool, bool) {
	skip := make([]bool, len(e.lines))
	n := 0
	for i := range e.lines {
		switch {
		case e.lines[i].car == c:
			if e.lines[i].finds == nil && !e.lines[i].open {
				return nil, false
			}
			skip[i] = true
			n++
		default:
			for _, a := range e.shop.Lines[i].After {
				if e.lines[a].car == c { // another car waits for this one
					return nil, false
				}
			}
		}
	}
	return skip, n > 0
}

// rows makes draws from..from+n.
func (e *Engine) rows(from *law.Lattice, at, n int) []*schedule.Draw {
	out := make([]*schedule.Draw, n)
	for k := range out {
		out[k] = schedule.NewDraw(len(e.lines))
		e.draw(from, at+k, out[k])
	}
	return out
}

// hits says of each day and car whether the promise is kept.
func (e *Engine) hits(draws []*schedule.Draw, order []int, skip []bool) [][]bool {
	out := make([][]bool, len(draws))
	flat := make([]bool, len(draws)*len(e.day.Cars))
	for k, d := range draws {
		out[k], flat = flat[:len(e.day.Cars)], flat[len(e.day.Cars):]
		for c, f := range e.player.Play(d, order, skip).Finish {
			out[k][c] = f <= e.promise[c]
		}
	}
	return out
}

// gain is what leaving out wins, in cars that keep their promise.
func (e *Engine) gain(draws []*schedule.Draw, base [][]bool, skip []bool, target int64, without int) score.Difference {
	return difference(base, e.hits(draws, e.order, skip), e.target(target), without)
}

// difference counts kept promises of all cars, or of the target alone, but not
// those of without.
func difference(before, after [][]bool, target, without int) score.Difference {
	d := make([]float64, len(before))
	for k := range before {
		for c := range before[k] {
			if c == without || target >= 0 && c != target {
				continue
			}
			d[k] += hit(after[k][c]) - hit(before[k][c])
		}
	}
	return score.Paired(d)
}
