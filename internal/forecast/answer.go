package forecast

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"time"

	"rampside/internal/forecast/schedule"
	"rampside/internal/forecast/score"
)

// Moment is a time, or later than the technicians' spans reach.
type Moment struct {
	At     time.Time
	Beyond bool
}

// Kind of a cause.
type Kind string

const (
	// OverHours: the line takes longer than half the time it would.
	OverHours Kind = "hours"
	// LatePart: it waits for a part longer than was said.
	LatePart Kind = "part"
	// FoundWork: something is found while in there.
	FoundWork Kind = "found"
	// Unanswered: the customer has not said yes yet.
	Unanswered Kind = "answer"
	// NotComing: a part is known not to come.
	NotComing Kind = "not coming"
	// Turn: other cars are in the way for longer than planned.
	Turn Kind = "turn"
	// Booked: with nothing unusual it would be late too.
	Booked Kind = "booked"
)

// Cause is why a car is late when it is late. The shares of a car's causes sum
// to 1. They are a reading of the days on which it is late, each day's lateness
// shared out by what was over on it; not what would be won by removing one.
type Cause struct {
	Kind  Kind
	Line  int64 // 0 where it is of no line
	Share float64
}

// Answer is what is said of one car.
type Answer struct {
	Car     int64
	Promise time.Time
	// Chance that it is finished by its promise; 1 without one. Error is the
	// standard error that comes from playing so many days and no more.
	Chance, Error float64
	// Raw is the chance before it was corrected.
	Raw float64
	// Half, Eighty and Ninety: by when it is finished in 50, 80 and 90 days of a
	// hundred.
	Half, Eighty, Ninety Moment
	// Dots are twenty days like this one, the earliest first.
	Dots   [20]Moment
	Causes []Cause

	draws []float64
}

// Place is where a finish falls in the days that were played, between 0 and 1
// and uncorrected: what recalibration learns from.
func (a *Answer) Place(day Day, finish time.Time) float64 {
	return a.PlaceOf(day.hours(finish))
}

// PlaceOf is Place for a finish in hours from Now.
func (a *Answer) PlaceOf(hours float64) float64 { return score.Place(a.draws, hours) }

// Finishes gives n quantiles of the finish in hours from Now, evenly spread from
// the earliest to the latest and uncorrected: enough to find the place of an
// outcome later on.
func (a *Answer) Finishes(n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = a.draws[k*(len(a.draws)-1)/max(n-1, 1)]
	}
	return out
}

// Turns say who does a line and when it is begun, on most days.
type Turns struct {
	Line, Technician int64
	// Share of the days on which it is this technician.
	Share float64
	// First: it is the next thing to do for somebody who is free now.
	First bool
	// Begin is when it is begun on half the days.
	Begin Moment
}

// Outlook is the answer for a day.
type Outlook struct {
	Cars []Answer
	// AllDone is the chance that every car is finished by closing.
	AllDone float64
	// OnTime is how many cars are expected to keep their promise.
	OnTime float64
	Turns  []Turns
	Draws  int
	// Young: it still goes by the estimates.
	Young bool
}

// Look plays the day and answers.
func (e *Engine) Look() Outlook {
	n := e.lattice.N()
	finish := make([][]float64, len(e.day.Cars))
	for c := range finish {
		finish[c] = make([]float64, n)
	}
	blame := newBlame(e)
	turns := newTally(e)
	draw := schedule.NewDraw(len(e.lines))
	done := 0
	for k := range n {
		e.draw(e.lattice, k, draw)
		out := e.player.Play(draw, e.order, nil)
		all := true
		for c, f := range out.Finish {
			finish[c][k] = f
			all = all && f <= e.close
			if f > e.promise[c] {
				blame.add(c, f, draw)
			}
		}
		if all {
			done++
		}
		turns.add(out)
	}
	o := Outlook{AllDone: e.options.Recalibration.Chance(float64(done) / float64(n)), Draws: n, Young: e.model.Young(), Turns: turns.list(e, n)}
	for c := range e.day.Cars {
		a := e.answer(c, finish[c])
		a.Causes = blame.causes(c)
		o.OnTime += a.Chance
		o.Cars = append(o.Cars, a)
	}
	return o
}

func (e *Engine) answer(c int, finish []float64) Answer {
	a := Answer{Car: e.day.Cars[c].ID, Promise: e.day.Cars[c].Promise, draws: finish}
	slices.Sort(finish)
	kept, _ := slices.BinarySearchFunc(finish, e.promise[c], func(f, p float64) int {
		if f <= p {
			return -1
		}
		return 1
	})
	n := float64(len(finish))
	a.Raw = float64(kept) / n
	r := e.options.Recalibration
	a.Chance, a.Error = r.Chance(a.Raw), math.Sqrt(a.Raw*(1-a.Raw)/n)
	at := func(level float64) Moment { return e.moment(score.At(finish, r.Level(level))) }
	a.Half, a.Eighty, a.Ninety = at(0.5), at(0.8), at(0.9)
	for k := range a.Dots {
		a.Dots[k] = at((float64(k) + 0.5) / float64(len(a.Dots)))
	}
	return a
}

func (e *Engine) moment(hours float64) Moment {
	if hours == schedule.Never {
		return Moment{Beyond: true}
	}
	return Moment{At: e.day.at(hours)}
}

// blame shares out why cars are late.
type blame struct {
	e     *Engine
	late  []float64 // car: days late
	plan  []float64
	turn  []float64
	hours []float64 // line
	part  []float64
	never []float64
	asked []float64
	of    [][]int
	day   []float64 // of one car and day: of each line its hours, parts and answer
}

func newBlame(e *Engine) *blame {
	l, c := len(e.lines), len(e.day.Cars)
	b := &blame{e: e, late: make([]float64, c), plan: make([]float64, c), turn: make([]float64, c), hours: make([]float64, l), part: make([]float64, l), never: make([]float64, l), asked: make([]float64, l), of: make([][]int, c), day: make([]float64, 3*l)}
	for i := range e.lines {
		if !e.shop.Lines[i].Done {
			b.of[e.lines[i].car] = append(b.of[e.lines[i].car], i)
		}
	}
	return b
}

// add takes a day on which car c is finished too late, in hours from now.
func (b *blame) add(c int, finish float64, d *schedule.Draw) {
	e := b.e
	b.late[c]++
	blocked := 0
	for _, i := range b.of[c] {
		if e.shop.Lines[i].Blocked {
			blocked++
		}
	}
	if blocked > 0 {
		for _, i := range b.of[c] {
			if e.shop.Lines[i].Blocked {
				b.never[i] += 1 / float64(blocked)
			}
		}
		return
	}
	finish, planned := min(finish, e.horizon+24), min(e.planned[c], e.horizon+24)
	plan := max(planned-e.promise[c], 0)
	own := 0.0
	for _, i := range b.of[c] {
		over := 0.0
		if e.lines[i].finds == nil {
			over = max(d.Hours[i]-e.plan.Hours[i], 0)
		} else if !d.Gone[i] {
			over = d.Hours[i] + d.Lag[i]
		}
		wait := max(d.Here[i]-max(e.plan.Here[i], 0), 0)
		answer := 0.0
		if e.lines[i].asked != nil && !d.Gone[i] {
			answer = d.Lag[i]
		}
		b.day[3*i], b.day[3*i+1], b.day[3*i+2] = over, wait, answer
		own += over + wait + answer
	}
	turn := max(finish-planned-own, 0)
	sum := plan + own + turn
	if sum <= 0 { // nothing is over its median: it was the others' turn
		b.turn[c]++
		return
	}
	b.plan[c] += plan / sum
	b.turn[c] += turn / sum
	for _, i := range b.of[c] {
		b.hours[i] += b.day[3*i] / sum
		b.part[i] += b.day[3*i+1] / sum
		b.asked[i] += b.day[3*i+2] / sum
	}
}

// causes gives those of a car, the largest first; none when it is never late.
func (b *blame) causes(c int) []Cause {
	if b.late[c] == 0 {
		return nil
	}
	var out []Cause
	add := func(k Kind, line int64, days float64) {
		if days > 0 {
			out = append(out, Cause{k, line, days / b.late[c]})
		}
	}
	add(Booked, 0, b.plan[c])
	add(Turn, 0, b.turn[c])
	for _, i := range b.of[c] {
		l := &b.e.lines[i]
		kind := OverHours
		if l.finds != nil {
			kind = FoundWork
		}
		add(kind, l.id, b.hours[i])
		add(LatePart, l.id, b.part[i])
		add(NotComing, l.id, b.never[i])
		add(Unanswered, l.id, b.asked[i])
	}
	slices.SortStableFunc(out, func(x, y Cause) int { return cmp.Compare(y.Share, x.Share) })
	return out
}

// tally counts who does what.
type tally struct {
	men   int
	by    []int // line times technician
	begin [][]float32
	first []bool
}

// kept is how many begins of a line are kept to find their middle: a sample is
// enough, and bounds the memory.
const kept = 512

func newTally(e *Engine) *tally {
	t := &tally{men: len(e.who), by: make([]int, len(e.lines)*len(e.who)), begin: make([][]float32, len(e.lines)), first: make([]bool, len(e.lines))}
	return t
}

func (t *tally) add(p *schedule.Played) {
	for i, who := range p.By {
		for w := who; w != 0; w &= w - 1 {
			t.by[i*t.men+bits.TrailingZeros64(w)]++
		}
		if len(t.begin[i]) < kept {
			t.begin[i] = append(t.begin[i], float32(p.Start[i]))
		}
		if who != 0 && p.Start[i] == 0 {
			t.first[i] = true
		}
	}
}

func (t *tally) list(e *Engine, n int) []Turns {
	var out []Turns
	for i := range e.lines {
		s := &e.shop.Lines[i]
		if s.Done || s.Found || s.Blocked {
			continue
		}
		best := 0
		for w := range t.men {
			if t.by[i*t.men+w] > t.by[i*t.men+best] {
				best = w
			}
		}
		if t.men == 0 || t.by[i*t.men+best] == 0 {
			continue
		}
		slices.Sort(t.begin[i])
		begin := float64(t.begin[i][len(t.begin[i])/2])
		out = append(out, Turns{Line: e.lines[i].id, Technician: e.who[best], Share: float64(t.by[i*t.men+best]) / float64(n), First: t.first[i] && s.Running == 0, Begin: e.moment(begin)})
	}
	return out
}
