package forecast

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
	"rampside/internal/forecast/schedule"
	"rampside/internal/forecast/score"
)

// Options of a forecast.
type Options struct {
	// Seed: the same for a garage and a day, so that figures move when
	// something happened and not because somebody looked again.
	Seed uint64
	// Points is how many days are played; the zero value is law.Full.
	Points law.Points
	// Recalibration corrects what is shown by what became of earlier forecasts.
	Recalibration score.Recalibration
}

// Engine is a day made ready to be played. Not for several goroutines at once.
type Engine struct {
	day     Day
	model   *learn.Model
	options Options

	shop    schedule.Shop
	player  *schedule.Player
	order   []int // cars as they stand in the day
	who     []int64
	taken   uint64 // technicians who are at a line now
	lines   []line
	index   map[int64]int // line by its ID
	carAt   map[int64]int
	promise []float64 // hours from now; +Inf without one
	close   float64
	horizon float64 // end of the last span

	groups  groups
	lattice *law.Lattice
	fresh   *law.Lattice // draws that no search has seen
	plan    *schedule.Draw
	planned []float64 // finish of each car when nothing is unusual
}

// line is one of the shop's, with what it is drawn from.
type line struct {
	id       int64
	car      int
	men      float64
	estimate float64 // hours of work
	spent    float64 // as a ratio to it
	snag     bool
	op, cell int
	coord    int // pick, and how it goes
	answer   int // the customer's answer, and when it comes
	parts    []part
	finds    *Finds // for a line that may be found
	asked    *Asked // for a line whose answer is waited for
	must     bool
	open     bool // not begun
	sales    int64
	mean, sd float64 // of the logarithm of its ratio, but for the car
	typical  float64 // hours still to come, at the median
	variance float64
}

// groups are what lines share within a draw.
type groups struct {
	snag, snagMean, snagVar float64
	mean, sd                float64
	ops                     []opGroup
	cells                   []cellGroup
	cars                    []carGroup

	opVal, opSD, cellVal, carVal []float64
}

type opGroup struct {
	step       learn.Share
	spread, nu float64
	coord      int
}

type cellGroup struct {
	op    int
	step  learn.Share
	coord int
}

// New makes a day ready. What it refuses says what is wrong with the day.
func New(day Day, model *learn.Model, o Options) (*Engine, error) {
	if err := day.check(); err != nil {
		return nil, err
	}
	if o.Points.N == 0 {
		o.Points = law.Full
	}
	if model == nil {
		model = learn.Fit(nil, learn.Start)
	}
	e := &Engine{day: day, model: model, options: o, index: map[int64]int{}, carAt: map[int64]int{}, close: day.hours(day.Close)}
	e.shop.Ramps = day.Ramps
	if err := e.addTechnicians(); err != nil {
		return nil, err
	}
	coords := e.addLines()
	if err := e.link(); err != nil {
		return nil, err
	}
	if err := e.shop.Prepare(); err != nil {
		return nil, err
	}
	e.player = schedule.NewPlayer(&e.shop)
	e.lattice = law.NewLattice(o.Points, o.Seed, coords)
	e.fresh = law.NewLattice(o.Points, o.Seed^0x5bd1e995a7c3f00d, coords)
	e.makePlan()
	return e, nil
}

// addTechnicians puts those who can do the least first.
func (e *Engine) addTechnicians() error {
	men := slices.Clone(e.day.Technicians)
	slices.SortStableFunc(men, func(a, b Technician) int { return cmp.Compare(len(a.Skills), len(b.Skills)) })
	if len(men) > schedule.Most {
		return fmt.Errorf("at most %d technicians", schedule.Most)
	}
	for _, m := range men {
		var t schedule.Technician
		for _, s := range m.Spans {
			from, to := max(e.day.hours(s.From), 0), e.day.hours(s.To)
			if to > from {
				t.Spans = append(t.Spans, schedule.Span{From: from, To: to})
				e.horizon = max(e.horizon, to)
			}
		}
		if slices.Contains(e.who, m.ID) {
			return fmt.Errorf("technician %d is there twice", m.ID)
		}
		e.who = append(e.who, m.ID)
		e.shop.Technicians = append(e.shop.Technicians, t)
	}
	e.day.Technicians = men
	return nil
}

// can says who has a skill.
func (e *Engine) can(skill string) uint64 {
	var bits uint64
	for t, m := range e.day.Technicians {
		if skill == "" || slices.Contains(m.Skills, skill) {
			bits |= 1 << t
		}
	}
	return bits
}

// addLines makes the shop's lines and gives every chance its coordinate, in the
// order in which the cars stand: what comes later leaves the earlier ones their
// draws. It gives how many coordinates there are.
func (e *Engine) addLines() int {
	g := &e.groups
	g.snag, g.snagMean, g.snagVar = e.model.Snag()
	ops, cells := map[string]int{}, map[[2]string]int{}
	coords := 1
	take := func(n int) int {
		coords += n
		return coords - n
	}
	for c, car := range e.day.Cars {
		e.order = append(e.order, c)
		e.carAt[car.ID] = c
		e.shop.Cars = append(e.shop.Cars, schedule.Car{Places: car.Places, OnRamp: car.OnRamp})
		p := math.Inf(1)
		if !car.Promise.IsZero() {
			p = e.day.hours(car.Promise)
		}
		e.promise = append(e.promise, p)
		g.cars = append(g.cars, e.carToday(car, take(1)))
		for _, l := range car.Lines {
			known := e.model.Of(l.Operation, l.Layout, l.Estimate.LogSpread())
			g.mean, g.sd = known.Garage, known.GarageSD
			o, seen := ops[l.Operation]
			if !seen {
				o = len(g.ops)
				ops[l.Operation] = o
				g.ops = append(g.ops, opGroup{known.Operation, known.Spread, known.Weight, take(2)})
			}
			cell, seen := cells[[2]string{l.Operation, l.Layout}]
			if !seen {
				cell = len(g.cells)
				cells[[2]string{l.Operation, l.Layout}] = cell
				g.cells = append(g.cells, cellGroup{o, known.Layout, take(1)})
			}
			e.addLine(c, l, o, cell, take)
			w := &e.lines[e.index[l.ID]]
			w.mean, w.sd = known.Mean, math.Hypot(known.Spread, known.Doubt)
		}
	}
	g.opVal, g.opSD = make([]float64, len(g.ops)), make([]float64, len(g.ops))
	g.cellVal, g.carVal = make([]float64, len(g.cells)), make([]float64, len(g.cars))
	return coords
}

func (e *Engine) addLine(c int, l Line, o, cell int, take func(int) int) {
	w := line{id: l.ID, car: c, men: float64(max(l.Men, 1)), estimate: l.Estimate.Mean(), snag: l.Snag, op: o, cell: cell, coord: take(2), must: l.Must, open: l.Spent == 0 && len(l.On) == 0 && !l.Done, sales: l.Sales}
	w.spent = l.Spent / w.estimate
	s := schedule.Line{Car: c, Can: e.can(l.Skill), Men: max(l.Men, 1), Ramp: l.Ramp, Alone: l.Alone, Done: l.Done}
	for _, p := range l.Parts {
		if p.NotComing {
			s.Blocked = true
		} else if !l.Done {
			w.parts = append(w.parts, makePart(e.day, p, take(2)))
		}
	}
	for _, id := range l.On {
		if t := slices.Index(e.who, id); t >= 0 && !l.Done && len(e.shop.Technicians[t].Spans) > 0 && e.taken&(1<<t) == 0 {
			s.Running |= 1 << t
			e.taken |= 1 << t // clocked on at two lines, somebody is at the first
		}
	}
	if s.Running != 0 {
		w.parts = nil // it would not be worked on if they were not here
	}
	if l.Asked != nil && !l.Done && s.Running == 0 {
		a := *l.Asked
		w.asked, w.answer, s.Found = &a, take(2), true
	}
	e.index[l.ID] = len(e.lines)
	e.lines, e.shop.Lines = append(e.lines, w), append(e.shop.Lines, s)
	if l.Finds == nil || l.Done {
		return
	}
	f := *l.Finds
	e.lines = append(e.lines, line{id: l.ID, car: c, men: 1, op: o, cell: cell, coord: take(3), finds: &f, must: true})
	e.shop.Lines = append(e.shop.Lines, schedule.Line{Car: c, Can: e.can(f.Skill), Ramp: f.Ramp, Found: true, After: []int{len(e.lines) - 2}})
}

// link finds the lines that others come after.
func (e *Engine) link() error {
	for _, car := range e.day.Cars {
		for _, l := range car.Lines {
			i := e.index[l.ID]
			for _, a := range l.After {
				j, ok := e.index[a]
				if !ok {
					return fmt.Errorf("line %d comes after line %d, which is not there", l.ID, a)
				}
				e.shop.Lines[i].After = append(e.shop.Lines[i].After, j)
			}
		}
	}
	return nil
}

// makePlan plays the day once with nothing unusual: every line at its median,
// parts when they are due, nothing found.
func (e *Engine) makePlan() {
	e.plan = schedule.NewDraw(len(e.lines))
	for i := range e.lines {
		l := &e.lines[i]
		if l.finds != nil {
			e.plan.Gone[i] = true
			continue
		}
		r := e.ratio(l, l.mean+e.groups.cars[l.car].middle(), l.sd)
		left := r.Median(l.spent) * l.estimate
		e.plan.Hours[i] = left / l.men
		l.typical = left
		l.variance = left * left * math.Expm1(r.SD*r.SD)
		for _, p := range l.parts {
			e.plan.Here[i] = max(e.plan.Here[i], p.due)
		}
	}
	e.planned = slices.Clone(e.player.Play(e.plan, e.order, nil).Finish)
}
