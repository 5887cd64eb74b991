package forecast

import (
	"fmt"
	"slices"
	"time"

	"rampside/internal/forecast/schedule"
	"rampside/internal/forecast/score"
)

// CarChange is what something does to one car's promise.
type CarChange struct {
	Car           int64
	Before, After float64 // chances
	Gain          score.Difference
}

// Change is what something does to a day. All differences are of the same days
// played both ways, so their errors are small; below its error a difference is
// not to be claimed (score.Difference.Sure).
type Change struct {
	Cars    []CarChange
	OnTime  score.Difference // cars that keep their promise
	AllDone score.Difference // chance that all are finished by closing
}

// enough days are played to tell two ways of doing a day apart.
const enough = 1000

// Compare says what changes from one day to another one, for the cars that are
// in both. Both have to be made with the same seed, and cars that only the
// second has must stand last: then what is drawn is the same.
func Compare(before, after *Engine) Change {
	cars := make([]CarChange, 0, len(before.order))
	var pairs [][2]int
	for c, car := range before.day.Cars {
		if a, ok := after.carAt[car.ID]; ok {
			cars = append(cars, CarChange{Car: car.ID})
			pairs = append(pairs, [2]int{c, a})
		}
	}
	diffs := make([][]float64, len(pairs))
	onTime, all := make([]float64, enough), make([]float64, enough)
	d, f := schedule.NewDraw(len(before.lines)), schedule.NewDraw(len(after.lines))
	for k := range enough {
		before.draw(before.lattice, k, d)
		after.draw(after.lattice, k, f)
		x, y := before.player.Play(d, before.order, nil), after.player.Play(f, after.order, nil)
		for p, pair := range pairs {
			was, is := hit(x.Finish[pair[0]] <= before.promise[pair[0]]), hit(y.Finish[pair[1]] <= after.promise[pair[1]])
			cars[p].Before += was / enough
			cars[p].After += is / enough
			diffs[p] = append(diffs[p], is-was)
			onTime[k] += is - was
		}
		all[k] = hit(after.allDone(y)) - hit(before.allDone(x))
	}
	for p := range cars {
		cars[p].Gain = score.Paired(diffs[p])
	}
	return Change{cars, score.Paired(onTime), score.Paired(all)}
}

func hit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (e *Engine) allDone(p *schedule.Played) bool {
	for _, f := range p.Finish {
		if f > e.close {
			return false
		}
	}
	return true
}

// with makes an engine of the same seed for a changed day.
func (e *Engine) with(d Day) (*Engine, error) { return New(d, e.model, e.options) }

// IfLate says what it costs when the parts of a line come at that time and no
// sooner.
func (e *Engine) IfLate(lineID int64, until time.Time) (Change, error) {
	d := e.day.Clone()
	for c := range d.Cars {
		for k := range d.Cars[c].Lines {
			l := &d.Cars[c].Lines[k]
			if l.ID != lineID {
				continue
			}
			if len(l.Parts) == 0 {
				return Change{}, fmt.Errorf("line %d waits for no part", lineID)
			}
			for p := range l.Parts {
				l.Parts[p].Due, l.Parts[p].Sure = until, true
			}
			after, err := e.with(d)
			if err != nil {
				return Change{}, err
			}
			return Compare(e, after), nil
		}
	}
	return Change{}, fmt.Errorf("line %d is not in the day", lineID)
}

// IfAway says what it costs when a technician goes at that time: what they were
// at is gone on with by whoever can.
func (e *Engine) IfAway(technician int64, from time.Time) (Change, error) {
	d := e.day.Clone()
	known := false
	for t := range d.Technicians {
		if d.Technicians[t].ID != technician {
			continue
		}
		known = true
		var spans []Span
		for _, s := range d.Technicians[t].Spans {
			if s.To.After(from) {
				s.To = from
			}
			if s.To.After(s.From) && s.To.After(d.Now) {
				spans = append(spans, s)
			}
		}
		d.Technicians[t].Spans = spans
	}
	if !known {
		return Change{}, fmt.Errorf("technician %d is not in the day", technician)
	}
	after, err := e.with(d)
	if err != nil {
		return Change{}, err
	}
	return Compare(e, after), nil
}

// Offer is what one of the coming days can promise to a car.
type Offer struct {
	Close time.Time
	// Promise is the earliest that is kept with the level asked for; Fits is the
	// chance of it being finished by closing.
	Promise Moment
	Fits    float64
	// Others is what it does to those booked already.
	Others score.Difference
	// Safe: the promise is before closing, and no harm to the others is sure.
	Safe bool
}

// Offers says for each of some days what could be promised to a car that is not
// booked yet, when it is taken last.
func Offers(days []*Engine, car Car, level float64) ([]Offer, error) {
	var out []Offer
	for _, before := range days {
		d := before.day.Clone()
		car.Promise, car.Pinned = time.Time{}, false
		d.Cars = append(d.Cars, car)
		after, err := before.with(d)
		if err != nil {
			return nil, err
		}
		last := len(d.Cars) - 1
		finish := make([]float64, after.lattice.N())
		draw := schedule.NewDraw(len(after.lines))
		fits := 0.0
		for k := range finish {
			after.draw(after.lattice, k, draw)
			finish[k] = after.player.Play(draw, after.order, nil).Finish[last]
			fits += hit(finish[k] <= after.close) / float64(len(finish))
		}
		a := after.answerAt(finish, level)
		o := Offer{Close: d.Close, Promise: a, Fits: before.options.Recalibration.Chance(fits), Others: Compare(before, after).OnTime}
		o.Safe = !a.Beyond && !a.At.After(d.Close) && !(o.Others.Mean < 0 && o.Others.Sure(2))
		out = append(out, o)
	}
	return out, nil
}

// answerAt is the time by which a car is finished with the chance level.
func (e *Engine) answerAt(finish []float64, level float64) Moment {
	sorted := slices.Clone(finish)
	slices.Sort(sorted)
	return e.moment(score.At(sorted, e.options.Recalibration.Level(level)))
}
