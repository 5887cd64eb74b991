package backtest_test

import (
	"testing"

	"rampside/internal/forecast/backtest"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/score"
)

func run(t testing.TB, learn int) *backtest.Result {
	t.Helper()
	r, err := backtest.Run(backtest.Trial{Seeds: []uint64{1, 2}, Learn: learn, Score: 20, Points: law.Points{N: 251, Factor: 76}, Oracle: 100})
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*backtest.Scores{"the oracle": &r.Oracle, "as it comes": &r.Raw, "corrected": &r.Corrected, "hours added": &r.Added, "the normal": &r.Normal} {
		t.Logf("%d days learned, %d cars, %s: Brier %.4f, skill %.3f, within 50 %% %.3f, 80 %% %.3f, 90 %% %.3f", learn, r.Cars, name, s.Brier(), s.Skill(), s.Covers(0.5).Share(), s.Covers(0.8).Share(), s.Covers(0.9).Share())
	}
	return r
}

func TestTheForecastBeatsBothPlainWaysFromTheFirstDayOn(t *testing.T) {
	for _, learn := range []int{0, 60} {
		r := run(t, learn)
		// An oracle that does not cover what it says makes the trial void.
		if low, high := r.Oracle.Covers(0.9).Interval(); low > 0.91 || high < 0.89 {
			t.Fatalf("the oracle covers 90 %% with %g to %g", low, high)
		}
		for name, plain := range map[string][]score.Outcome{"adding the hours up": r.Added.Outcomes, "the normal": r.Normal.Outcomes} {
			if d := score.Better(r.Corrected.Outcomes, plain); d.Mean <= 0 || !d.Sure(2) {
				t.Errorf("after %d days it is better than %s by %g ± %g", learn, name, d.Mean, d.Error)
			}
		}
		if share := r.Corrected.Skill() / r.Oracle.Skill(); learn >= 60 && share < 0.8 {
			t.Errorf("after %d days the skill is %g of the oracle's", learn, share)
		}
		// Before anything is learned it is meant to be too careful.
		if low, high := r.Corrected.Covers(0.9).Interval(); learn > 0 && (low > 0.93 || high < 0.87) {
			t.Errorf("after %d days 90 %% are within %g to %g", learn, low, high)
		}
	}
}
