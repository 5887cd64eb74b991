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
	// Learn is how many days each garage works before it is scored, Score for
	// how many it is then.
	Learn, Score int
	Points       law.Points
	// Oracle is how many ways of each day are drawn by its own truth, to see
	// how well anybody could say it.
	Oracle int
}

// Scores are of one way of forecasting.
type Scores struct {
	Outcomes []score.Outcome
	Places   []float64
}

// Result of a backtest: car by car, in the same order everywhere.
type Result struct {
	Cars int
	// Raw is the forecast as it comes, Corrected after what the same garage's
	// earlier days taught of it; Oracle draws from the truth itself.
	Raw, Corrected, Oracle Scores
	Added, Normal          Scores // without places
}

// Run works the garages off.
func Run(t Trial) (*Result, error) {
	r := &Result{}
	for _, seed := range t.Seeds {
		if err := r.garage(seed, t); err != nil {
			return nil, err
		}
	}
	return r, nil
}

func (r *Result) garage(seed uint64, t Trial) error {
	g := NewGarage(seed)
	var lines []learn.Line
	for range t.Learn {
		d := g.Next()
		lines = append(lines, g.clockings(d, g.truth(d))...)
	}
	model := learn.Fit(lines, learn.Start)
	var past []float64
	for k := range t.Score {
		d := g.Next()
		e, err := forecast.New(d.Known, model, forecast.Options{Seed: seed<<20 + uint64(k), Points: t.Points})
		if err != nil {
			return err
		}
		look, plain := e.Look(), e.Plain()
		correct := score.Recalibrate(past)
		oracle := make([][]float64, len(look.Cars))
		for range t.Oracle {
			for c, f := range e.PlayOut(g.truth(d)) {
				oracle[c] = append(oracle[c], f)
			}
		}
		finish := e.PlayOut(g.truth(d))
		for c := range look.Cars {
			a := &look.Cars[c]
			promise := a.Promise.Sub(d.Known.Now).Hours()
			was := finish[c] <= promise
			place := a.PlaceOf(finish[c])
			r.Cars++
			r.Raw.add(a.Raw, was, place)
			r.Corrected.add(correct.Chance(a.Raw), was, correct.Chance(place))
			r.Added.add(plain[c].Added, was, math.NaN())
			r.Normal.add(plain[c].Normal, was, math.NaN())
			if t.Oracle > 0 {
				r.Oracle.add(score.Place(oracle[c], math.Nextafter(promise, math.Inf(1))), was, score.Place(oracle[c], finish[c]))
			}
			past = append(past, place)
		}
	}
	return nil
}

func (s *Scores) add(said float64, was bool, place float64) {
	s.Outcomes = append(s.Outcomes, score.Outcome{Said: said, Was: was})
	s.Places = append(s.Places, place)
}

// Brier is the score of the chances.
func (s *Scores) Brier() float64 { return score.Brier(s.Outcomes) }

// Skill is against always saying the rate.
func (s *Scores) Skill() float64 { return score.Skill(s.Outcomes) }

// Covers is the share finished by the time that was said for a level.
func (s *Scores) Covers(level float64) score.Coverage { return score.Cover(s.Places, level) }
