package backtest

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"rampside/internal/forecast/score"
)

// Scores are of one way of forecasting.
type Scores struct {
	Outcomes []score.Outcome
	// Places are where the finishes fell in what was said.
	Places []float64
	// drawn is what the Brier score is too high for having been counted from
	// few draws: of each outcome p(1 − p)/(n − 1), which is that on average.
	drawn []float64
}

func (s *Scores) places(place float64) { s.Places = append(s.Places, place) }

func (s *Scores) add(said float64, was bool, draws int) {
	s.Outcomes = append(s.Outcomes, score.Outcome{Said: said, Was: was})
	over := 0.0
	if draws > 1 {
		over = said * (1 - said) / float64(draws-1)
	}
	s.drawn = append(s.drawn, over)
}

// Brier is the score of the chances.
func (s *Scores) Brier() float64 {
	over, _ := score.MeanSD(s.drawn)
	return score.Brier(s.Outcomes) - over
}

// Skill is against always saying the rate.
func (s *Scores) Skill() float64 {
	r := score.Rate(s.Outcomes)
	return 1 - s.Brier()/(r*(1-r))
}

// Covers is the share finished by the time that was said for a level.
func (s *Scores) Covers(level float64) score.Coverage { return score.Cover(s.Places, level) }

// Error is the standard error of Covers, the cars of one day taken together:
// they are late together, so that there is less in them than in as many days.
func (r *Scored) Error(of *Scores, level float64) float64 {
	p := of.Covers(level).Share()
	off := map[int]float64{}
	for i, x := range of.Places {
		off[r.PlaceDays[i]] -= p
		if x <= level {
			off[r.PlaceDays[i]]++
		}
	}
	sum := 0.0
	for _, d := range slices.Sorted(maps.Keys(off)) {
		sum += off[d] * off[d]
	}
	return math.Sqrt(sum) / float64(len(of.Places))
}

// Share is how much of the oracle's skill a way of forecasting has, with where
// that is 95 times in 100: found by drawing days anew from those of the trial
// (B. Efron, Bootstrap Methods: Another Look at the Jackknife, Annals of
// Statistics 7 (1979) 1-26), whole days, since the cars of one are alike.
func (r *Scored) Share(of *Scores) (share, low, high float64) {
	type sums struct{ n, was, of, oracle float64 }
	days := map[int]*sums{}
	var keys []int
	for i, d := range r.Days {
		x, ok := days[d]
		if !ok {
			x = &sums{}
			days[d] = x
			keys = append(keys, d)
		}
		x.n++
		if of.Outcomes[i].Was {
			x.was++
		}
		x.of += score.Brier(of.Outcomes[i:i+1]) - of.drawn[i]
		x.oracle += score.Brier(r.Oracle.Outcomes[i:i+1]) - r.Oracle.drawn[i]
	}
	ratio := func(pick func(int) int) float64 {
		var s sums
		for k := range keys {
			x := days[keys[pick(k)]]
			s.n, s.was, s.of, s.oracle = s.n+x.n, s.was+x.was, s.of+x.of, s.oracle+x.oracle
		}
		always := s.was * (1 - s.was/s.n)
		return (1 - s.of/always) / (1 - s.oracle/always)
	}
	again := make([]float64, 400)
	random := rand.New(rand.NewPCG(1, 2))
	for k := range again {
		again[k] = ratio(func(int) int { return random.IntN(len(keys)) })
	}
	slices.Sort(again)
	return ratio(func(k int) int { return k }), score.At(again, 0.025), score.At(again, 0.975)
}
