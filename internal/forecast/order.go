package forecast

import (
	"cmp"
	"math"
	"slices"

	"rampside/internal/forecast/schedule"
	"rampside/internal/forecast/score"
)

// Plan is the order to take the cars in.
type Plan struct {
	Order []int64
	// Changed: it differs from the order of the day. Where no better one is sure
	// the day's own order stands.
	Changed bool
	// Gain in cars that keep their promise, on days that the search had not seen.
	Gain score.Difference
	// Before and After are how many cars are expected to keep theirs.
	Before, After float64
}

const (
	// trial is how many days an order is tried on.
	trial = 120
	// lateHour is what an hour of lateness counts against a promise kept: enough
	// that a car which is late anyway is not left standing.
	lateHour = 0.05
	// effort is how many times a day of effortLines lines is played in a search,
	// at most; a longer one is played less often.
	effort, effortLines = 3200, 48
	// unseen is how many days that no search has seen decide.
	unseen = 600
)

// BestOrder looks for the order in which most promises are kept. One order is
// tried on all days: choosing the best for each day would know how the day goes
// on, and promise what nobody can keep. A pinned car keeps its place.
//
// What the search finds is then tried on days it has not seen, and taken only
// when it is better there by more than 2.5 times the error of the difference.
func (e *Engine) BestOrder() Plan {
	left := effort * effortLines / max(len(e.lines), effortLines)
	draws := e.rows(e.lattice, 0, trial)
	best, value := e.order, e.value(draws, e.order, math.Inf(-1), &left)
	try := func(order []int) bool {
		if v := e.value(draws, order, value, &left); v > value+1e-9 {
			best, value = order, v
			return true
		}
		return false
	}
	for _, rule := range e.rules() {
		try(rule)
	}
	for improved := true; improved && left > 0; {
		improved = false
		for _, next := range e.near(best) {
			if left <= 0 {
				break
			}
			if try(next) {
				improved = true
				break
			}
		}
	}
	return e.confirm(best)
}

// confirm tries an order on days that no search has seen.
func (e *Engine) confirm(order []int) Plan {
	p := Plan{}
	names := func(order []int) []int64 {
		out := make([]int64, len(order))
		for k, c := range order {
			out[k] = e.day.Cars[c].ID
		}
		return out
	}
	draw := schedule.NewDraw(len(e.lines))
	diffs := make([]float64, unseen)
	same := slices.Equal(order, e.order)
	for k := range diffs {
		e.draw(e.fresh, k, draw)
		count := func(order []int) (kept float64) {
			for c, f := range e.player.Play(draw, order, nil).Finish {
				kept += hit(f <= e.promise[c])
			}
			return kept
		}
		was := count(e.order)
		p.Before += was / unseen
		if !same {
			diffs[k] = count(order) - was
		}
	}
	d := score.Paired(diffs)
	if same || d.Mean <= 0 || !d.Sure(2.5) {
		p.Order, p.After = names(e.order), p.Before
		return p
	}
	p.Order, p.Changed, p.Gain, p.After = names(order), true, d, p.Before+d.Mean
	return p
}

// value of an order: promises kept less lateness. It stops early, and gives
// what is below bar, where the first quarter of the days is far below it.
func (e *Engine) value(draws []*schedule.Draw, order []int, bar float64, left *int) float64 {
	sum := 0.0
	for k, d := range draws {
		*left--
		for c, f := range e.player.Play(d, order, nil).Finish {
			if f <= e.promise[c] {
				sum++
			} else {
				sum -= lateHour * (min(f, e.horizon+24) - e.promise[c])
			}
		}
		if k == len(draws)/4 && sum/float64(k+1) < bar-0.4 {
			return math.Inf(-1)
		}
	}
	return sum / float64(len(draws))
}

// rules are orders worth trying first. None of them is safe by itself: longest
// first is among the worst on a day that is too full.
func (e *Engine) rules() [][]int {
	work, doubt := make([]float64, len(e.order)), make([]float64, len(e.order))
	for i := range e.lines {
		if !e.shop.Lines[i].Done {
			work[e.lines[i].car] += e.lines[i].typical
			doubt[e.lines[i].car] += e.lines[i].variance
		}
	}
	keys := []func(c int) float64{
		func(c int) float64 { return e.promise[c] },
		func(c int) float64 { return work[c] },
		func(c int) float64 { return -work[c] },
		func(c int) float64 { return -doubt[c] },
		func(c int) float64 { return e.promise[c] - work[c] },
		func(c int) float64 { return e.promise[c] - work[c] + hit(e.promise[c] < work[c])*1e3 }, // those past saving last
	}
	var out [][]int
	for _, key := range keys {
		free := slices.DeleteFunc(slices.Clone(e.order), e.pinned)
		slices.SortStableFunc(free, func(a, b int) int { return cmp.Compare(key(a), key(b)) })
		out = append(out, e.aroundPinned(free))
	}
	return out
}

func (e *Engine) pinned(c int) bool { return e.day.Cars[c].Pinned }

// aroundPinned puts the others around the cars that keep their places.
func (e *Engine) aroundPinned(free []int) []int {
	out := make([]int, 0, len(e.order))
	for _, c := range e.order {
		if e.pinned(c) {
			out = append(out, c)
		} else {
			out, free = append(out, free[0]), free[1:]
		}
	}
	return out
}

// near are orders with two cars exchanged or one moved, near ones first.
func (e *Engine) near(order []int) [][]int {
	free := slices.DeleteFunc(slices.Clone(order), e.pinned)
	var out [][]int
	for gap := 1; gap < len(free); gap++ {
		for a := 0; a+gap < len(free); a++ {
			swapped := slices.Clone(free)
			swapped[a], swapped[a+gap] = swapped[a+gap], swapped[a]
			out = append(out, e.aroundPinned(swapped))
			if gap == 1 {
				continue
			}
			forward := slices.Delete(slices.Clone(free), a, a+1)
			out = append(out, e.aroundPinned(slices.Insert(forward, a+gap, free[a])))
			back := slices.Delete(slices.Clone(free), a+gap, a+gap+1)
			out = append(out, e.aroundPinned(slices.Insert(back, a, free[a+gap])))
		}
	}
	return out
}
