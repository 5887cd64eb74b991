package backtest_test

import (
	"testing"

	"rampside/internal/forecast/backtest"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/score"
)

func report(t testing.TB, learned int, when string, s *backtest.Scored) {
	for name, x := range map[string]*backtest.Scores{"the oracle": &s.Oracle, "as it comes": &s.Raw, "corrected": &s.Corrected, "hours added": &s.Added, "the normal": &s.Normal, "the plan": &s.Plan} {
		if len(x.Outcomes) > 0 {
			t.Logf("%d days learned, %s, %d cars, %d chances, %s: Brier %.4f, skill %.3f, within 50 %% %.3f, 80 %% %.3f, 90 %% %.3f", learned, when, s.Cars, len(x.Outcomes), name, x.Brier(), x.Skill(), x.Covers(0.5).Share(), x.Covers(0.8).Share(), x.Covers(0.9).Share())
		}
	}
	share, low, high := s.Share(&s.Corrected)
	t.Logf("%d days learned, %s: %.3f of the oracle's skill, %.3f to %.3f", learned, when, share, low, high)
}

func TestTheForecastBeatsEveryPlainWayFromTheFirstDayOn(t *testing.T) {
	days := 0
	results, err := backtest.Run(backtest.Trial{
		Seeds: []uint64{1, 2}, Learn: []int{0, 60}, Score: 20, Hours: []float64{2, 5}, Points: law.Points{N: 251, Factor: 76}, Oracle: 100,
		Progress: func(done, of int) {
			if days++; done != days || of != 40 {
				t.Errorf("day %d of %d is told as %d", days, of, done)
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := range results {
		r := &results[i]
		for when, s := range map[string]*backtest.Scored{"at opening": &r.Opening, "later": &r.Hourly} {
			report(t, r.Learned, when, s)
			// An oracle that does not cover what it says makes the trial void.
			for _, level := range []float64{0.5, 0.8, 0.9} {
				if low, high := s.Oracle.Covers(level).Interval(); low > level+0.02 || high < level-0.02 {
					t.Fatalf("%s the oracle covers %g with %g to %g", when, level, low, high)
				}
			}
			for name, plain := range map[string][]score.Outcome{"adding the hours up": s.Added.Outcomes, "the normal": s.Normal.Outcomes} {
				if d := score.Better(s.Corrected.Outcomes, plain); d.Mean <= 0 || !d.Sure(2) {
					t.Errorf("after %d days it is %s better than %s by %g ± %g", r.Learned, when, name, d.Mean, d.Error)
				}
			}
			if share, _, _ := s.Share(&s.Corrected); r.Learned >= 60 && share < 0.8 {
				t.Errorf("after %d days the skill is %s %g of the oracle's", r.Learned, when, share)
			}
			// Before anything is learned it is meant to be too careful.
			if low, high := s.Corrected.Covers(0.9).Interval(); r.Learned > 0 && (low > 0.93 || high < 0.87) {
				t.Errorf("after %d days 90 %% are %s within %g to %g", r.Learned, when, low, high)
			}
		}
	}
}
