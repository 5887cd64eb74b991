package backtest

import (
	"math"
	"math/rand/v2"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
)

// state is a day as it stands some hours after opening: what the garage knows,
// and what somebody who knows the truth's laws could know.
type state struct {
	g     *Garage
	day   Day
	at    float64
	known forecast.Day
	// car is, for each car of known, its number in the whole day.
	car []int
	// rusty is the chance that a car is, by the hours of its lines so far.
	rusty []float64
	// lines that are not done, with what is known of each.
	lines []open
}

type open struct {
	id, of  int64 // of is the line it was found on
	car     int   // of known
	job     job
	found   float64 // estimate, for a line that was found
	waits   bool    // for a part
	due     float64
	running [2]*cut // by whether the car is rusty
	asked   float64 // how long ago the customer was asked, for one not answered
	pending bool
	looks   bool // and has not looked yet
}

// stand makes the state after so many hours of a day that goes like this.
func (g *Garage) stand(d Day, t truth, c forecast.Course, at float64) *state {
	s := &state{g: g, day: d, at: at, known: d.Known}
	s.known.Now = d.Known.Now.Add(time.Duration(at * float64(time.Hour)))
	s.known.Cars = nil
	for k, car := range d.Known.Cars {
		s.addCar(k, car, t, c)
	}
	return s
}

// worked is how many hours somebody has worked from begin to now.
func (s *state) worked(begin float64) (sum float64) {
	for _, p := range s.known.Technicians[0].Spans { // all work alike
		from, to := p.From.Sub(s.day.Known.Now).Hours(), p.To.Sub(s.day.Known.Now).Hours()
		sum += max(min(to, s.at)-max(from, begin), 0)
	}
	return sum
}

func (s *state) addCar(k int, car forecast.Car, t truth, c forecast.Course) {
	lines := car.Lines
	car.Lines, car.OnRamp = nil, false
	kept, sure, up, upLeft := len(s.lines), 0, false, false
	odds := rusty / (1 - rusty)
	add := func(l forecast.Line, o open, w forecast.Went, actual forecast.Actual) {
		l.Spent, l.On = 0, nil
		switch {
		case w.End <= s.at:
			l.Done, l.Spent, l.Parts, l.Finds, l.Asked = true, actual.Hours, nil, nil, nil
			if o.of == 0 {
				odds *= s.g.law(o.job, true).density(actual.Hours) / s.g.law(o.job, false).density(actual.Hours)
			}
		case w.Begin < s.at:
			l.Spent, l.On, l.Parts = s.worked(w.Begin)*float64(len(w.By)), w.By, nil
			for i, r := range []bool{false, true} {
				o.running[i] = s.g.lawOf(o, r).after(l.Spent)
			}
			odds *= o.running[1].survives() / o.running[0].survives()
			o.waits = false
		}
		car.Lines = append(car.Lines, l)
		up = up || l.Ramp && w.Begin < s.at
		if l.Done {
			return
		}
		upLeft = upLeft || l.Ramp
		if !o.pending {
			sure++
		}
		s.lines = append(s.lines, o)
	}
	for _, l := range lines {
		a, w := t.lines[l.ID], c.Lines[l.ID]
		o := open{id: l.ID, car: len(s.known.Cars), job: s.day.jobs[l.ID], looks: l.Finds != nil}
		if due, waits := s.day.parts[l.ID]; waits && a.Here > s.at {
			o.waits, o.due = true, due
		} else {
			l.Parts = nil
		}
		add(l, o, w, a)
		if w.End > s.at || a.Asked <= 0 {
			continue
		}
		// Something was found, and the customer asked.
		f := forecast.Line{ID: foundID(l.ID), Operation: foundOperation, Layout: l.Layout, Estimate: law.Single(t.wants[l.ID])}
		o = open{id: f.ID, of: l.ID, car: o.car, found: t.wants[l.ID]}
		went := forecast.Went{Begin: math.Inf(1), End: math.Inf(1)}
		if ago := s.at - w.End; ago < a.Asked {
			f.Asked = &forecast.Asked{Agreed: forecast.UsualFinds.Agreed, Answer: forecast.UsualFinds.Asking}
			o.pending, o.asked = true, ago
		} else if a.Found > 0 {
			went = c.Found[l.ID]
		} else {
			continue
		}
		add(f, o, went, forecast.Actual{Hours: a.Found})
	}
	if sure == 0 { // done, or done but for what the customer may want
		s.lines = s.lines[:kept]
		return
	}
	car.OnRamp = up && upLeft
	s.known.Cars = append(s.known.Cars, car)
	s.car = append(s.car, k)
	s.rusty = append(s.rusty, odds/(1+odds))
}

// lawOf is what a line takes; lines that were found have one of their own.
func (g *Garage) lawOf(o open, rusty bool) hours {
	if o.of != 0 {
		return hours{k: 1 / (foundCV * foundCV), scale: o.found}
	}
	return g.law(o.job, rusty)
}

// way draws one way in which the day may go on, in hours from now.
func (s *state) way(r *rand.Rand) (map[int64]forecast.Actual, []int) {
	rust := make([]bool, len(s.known.Cars))
	for c := range rust {
		rust[c] = r.Float64() < s.rusty[c]
	}
	out := make(map[int64]forecast.Actual, len(s.lines))
	for _, o := range s.lines {
		var a forecast.Actual
		i := 0
		if rust[o.car] {
			i = 1
		}
		switch {
		case o.running[0] != nil:
			a.Hours = o.running[i].left(r)
		case o.of != 0:
			a.Hours = o.found * gamma(r, foundCV)
		default:
			a.Hours = s.g.takes(r, o.job, rust[o.car])
		}
		if o.pending {
			a.Asked = (askedMost - o.asked) * r.Float64()
			if r.Float64() >= agreedTruth {
				a.Hours = 0
			}
		}
		if o.waits {
			a.Here = s.at
			for a.Here <= s.at { // given that it is not here yet
				a.Here = comes(r, o.due)
			}
			a.Here -= s.at
		}
		if o.looks && r.Float64() < foundTruth {
			a.Asked = askedMost * r.Float64()
			if r.Float64() < agreedTruth {
				a.Found = (foundLeast + foundMore*r.Float64()) * gamma(r, foundCV)
			}
		}
		out[o.id] = a
	}
	return out, roughly(r, len(s.known.Cars))
}

// finish is when a car of the state was finished, in hours from now.
func (s *state) finish(c forecast.Course, car int) float64 { return c.Finish[s.car[car]] - s.at }

// due is the hours until the promise.
func (s *state) due(car int) float64 {
	return s.known.Cars[car].Promise.Sub(s.known.Now).Hours()
}
