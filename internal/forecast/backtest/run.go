package backtest

import (
	"math"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
	"rampside/internal/forecast/score"
)

// Trial is how a backtest is run.
type Trial struct {
	Seeds []uint64 // one garage each
	// Men are the technicians of each; 0 is for three to five.
	Men int
	// Learn are how many days each garage has worked before it is scored; each
	// is tried on the same days. Score is how many days are scored.
	Learn []int
	Score int
	// Hours after opening at which the forecast is made again.
	Hours  []float64
	Points law.Points
	// Oracle is how many ways of each day are drawn by its own truth, to see
	// how well anybody could say it.
	Oracle int
	// Progress, when it is there, hears of every day that was scored.
	Progress func(done, of int)
}

// Result of a backtest with so many days learned, car by car.
type Result struct {
	Learned         int
	Opening, Hourly Scored
}

// Scored is what was said, the same cars in the same order everywhere: of all
// that were not done, and the chances of those whose promise was still to come.
type Scored struct {
	Cars int
	// Raw is the forecast as it comes, Corrected after what the same garage's
	// earlier days taught of it; Oracle draws from the truth itself.
	Raw, Corrected, Oracle Scores
	// The hours added up, the normal, and at opening the plan made a chance by
	// what became of the days before; without places.
	Added, Normal, Plan Scores
	// Days is which day of the trial each outcome is of, PlaceDays each place.
	Days, PlaceDays []int
}

// Run works the garages off: a result for each of t.Learn.
func Run(t Trial) ([]Result, error) {
	out := make([]Result, len(t.Learn))
	for i, n := range t.Learn {
		out[i].Learned = n
	}
	for k, seed := range t.Seeds {
		r := runner{t: t, out: out, g: NewGarage(seed, t.Men), seed: seed, day: k * t.Score}
		if err := r.garage(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

type runner struct {
	t    Trial
	out  []Result
	g    *Garage
	seed uint64
	day  int // of the trial

	models []*learn.Model
	finds  []finds
	plans  []func(float64) float64 // nil without a past
	past   [][]float64             // places at opening, for the correction
}

func (r *runner) garage() error {
	if err := r.learn(); err != nil {
		return err
	}
	for range r.t.Score {
		if err := r.score(); err != nil {
			return err
		}
		r.day++
		if r.t.Progress != nil {
			r.t.Progress(r.day, len(r.t.Seeds)*r.t.Score)
		}
	}
	return nil
}

// learn lets the garage work before it is scored.
func (r *runner) learn() error {
	most := 0
	for _, n := range r.t.Learn {
		most = max(most, n)
	}
	lines, plans, found := make([][]learn.Line, most), make([]plan, most), make([]finds, most)
	for k := range most {
		d, t, c, e, err := r.live(nil)
		if err != nil {
			return err
		}
		lines[k], found[k] = r.g.clockings(d, t), finds{}
		found[k].add(d, t)
		for i := range lines[k] {
			lines[k][i].Age = float64(most - k)
		}
		for i, p := range e.Plain() {
			due := d.Known.Cars[i].Promise.Sub(d.Known.Now).Hours()
			plans[k].add(due-p.Planned, c.Finish[i] <= due)
		}
	}
	for _, n := range r.t.Learn {
		var taught []learn.Line
		var p plan
		f := finds{}
		for k := most - n; k < most; k++ {
			taught = append(taught, lines[k]...)
			f.join(found[k])
			p.slack, p.was = append(p.slack, plans[k].slack...), append(p.was, plans[k].was...)
		}
		r.models, r.finds = append(r.models, learn.Fit(taught, learn.Start)), append(r.finds, f)
		if n == 0 {
			r.plans = append(r.plans, nil)
		} else {
			r.plans = append(r.plans, p.curve())
		}
	}
	r.past = make([][]float64, len(r.t.Learn))
	return nil
}

// live makes up a day and lets it go as it really goes.
func (r *runner) live(m *learn.Model) (Day, truth, forecast.Course, *forecast.Engine, error) {
	d := r.g.Next()
	t := r.g.way(r.g.r, d, func(car int64) bool { return d.rusty[car] })
	e, err := forecast.New(d.Known, m, forecast.Options{Points: law.Points{N: 251, Factor: 76}})
	if err != nil {
		return d, t, forecast.Course{}, nil, err
	}
	return d, t, e.Follow(t.of, t.order), e, nil
}

// score forecasts one day at opening and at every hour.
func (r *runner) score() error {
	d, t, c, _, err := r.live(nil)
	if err != nil {
		return err
	}
	correct := make([]score.Recalibration, len(r.models))
	for m := range correct {
		correct[m] = score.Recalibrate(r.past[m])
	}
	for k, h := range append([]float64{0}, r.t.Hours...) {
		s := r.g.stand(d, t, c, h)
		if len(s.known.Cars) == 0 {
			continue
		}
		oracle, err := r.oracle(s)
		if err != nil {
			return err
		}
		for m, model := range r.models {
			e, err := forecast.New(r.finds[m].tell(s.known), model, forecast.Options{Seed: r.seed<<20 + uint64(r.day), Points: r.t.Points})
			if err != nil {
				return err
			}
			look, plain := e.Look(), e.Plain()
			into := &r.out[m].Hourly
			if k == 0 {
				into = &r.out[m].Opening
			}
			for i := range look.Cars {
				a, due, finish := &look.Cars[i], s.due(i), s.finish(c, i)
				place := a.PlaceOf(finish)
				into.Cars++
				into.PlaceDays = append(into.PlaceDays, r.day)
				into.Raw.places(place)
				into.Corrected.places(correct[m].Chance(place))
				into.Oracle.places(score.Place(oracle[i], finish))
				if k == 0 {
					r.past[m] = append(r.past[m], place)
				}
				if due <= 0 {
					continue
				}
				was := finish <= due
				into.Days = append(into.Days, r.day)
				into.Raw.add(a.Raw, was, 0)
				into.Corrected.add(correct[m].Chance(a.Raw), was, 0)
				into.Oracle.add(score.Place(oracle[i], math.Nextafter(due, math.Inf(1))), was, r.t.Oracle)
				into.Added.add(plain[i].Added, was, 0)
				into.Normal.add(plain[i].Normal, was, 0)
				if k == 0 && r.plans[m] != nil {
					into.Plan.add(r.plans[m](due-plain[i].Planned), was, 0)
				}
			}
		}
	}
	return nil
}

// oracle plays the rest of the day by its own laws, car by car.
func (r *runner) oracle(s *state) ([][]float64, error) {
	e, err := forecast.New(s.known, nil, forecast.Options{Points: law.Points{N: 251, Factor: 76}})
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(s.known.Cars))
	for range r.t.Oracle {
		way, order := s.way(r.g.o)
		for c, f := range e.PlayOut(func(id int64) forecast.Actual { return way[id] }, order) {
			out[c] = append(out[c], f)
		}
	}
	return out, nil
}
