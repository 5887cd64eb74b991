package hours

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func hoursOf(low, likely, high float64) Estimate {
	d := func(x float64) time.Duration { return time.Duration(x * float64(time.Hour)) }
	return Estimate{d(low), d(likely), d(high)}
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within }

// Published three-point figures: 5, 8, 14 in the documentation of Schematex, a
// drawing tool for project networks; the others from solved coursework.
func TestThreePointFiguresMatchThePublishedOnes(t *testing.T) {
	for _, c := range []struct {
		e        Estimate
		mean, sd float64
	}{
		{hoursOf(5, 8, 14), 8.5, 1.5},
		{hoursOf(4, 7, 10), 7, 1},
		{hoursOf(16, 19, 28), 20, 2},
	} {
		if err := c.e.Check(); err != nil {
			t.Errorf("%+v: %v", c.e, err)
		}
		if !near(c.e.MeanHours(), c.mean, 1e-12) || !near(c.e.SDHours(), c.sd, 1e-12) {
			t.Errorf("%+v: mean %v, sd %v, want %v, %v", c.e, c.e.MeanHours(), c.e.SDHours(), c.mean, c.sd)
		}
		if got := c.e.Mean(); got.Hours() != c.mean {
			t.Errorf("%+v: mean %v", c.e, got)
		}
	}
}

// The chain in the Schematex documentation, which prints mean 17.83, sd 1.69
// and the second line; the other three follow from what it prints.
func TestLinesInAChainAddTheirMeansAndVariances(t *testing.T) {
	mean, sd := Chain([]Estimate{hoursOf(2, 3, 5), hoursOf(5, 8, 14), hoursOf(3, 4, 6), hoursOf(1, 2, 3)})
	if !near(mean, 17.83, 0.005) || !near(sd, 1.69, 0.005) {
		t.Errorf("mean %v, sd %v", mean, sd)
	}
	if mean, sd = Chain(nil); mean != 0 || sd != 0 {
		t.Errorf("no lines take %v, %v", mean, sd)
	}
}

func TestTheMeanIsTakenToTheNearestMinute(t *testing.T) {
	e := Estimate{10 * time.Minute, 20 * time.Minute, 33 * time.Minute} // 20.5
	if got := e.Mean(); got != 21*time.Minute {
		t.Errorf("%v", got)
	}
}

func TestAnEstimateOutOfOrderIsRefused(t *testing.T) {
	for _, c := range []struct {
		e    Estimate
		want error
	}{
		{hoursOf(2, 1, 3), ErrOrder},
		{hoursOf(1, 3, 2), ErrOrder},
		{hoursOf(-1, 1, 2), ErrEstimate},
		{hoursOf(0, 0, 0), ErrEstimate},
		{hoursOf(1, 2, 201), ErrEstimate},
	} {
		if err := c.e.Check(); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v, want %v", c.e, err, c.want)
		}
	}
	if err := One(time.Hour).Check(); err != nil {
		t.Error(err)
	}
}

func TestTheMeanLiesBetweenLowAndHigh(t *testing.T) {
	minutes := rapid.Int64Range(1, int64(Max/time.Minute))
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := minutes.Draw(t, "a"), minutes.Draw(t, "b"), minutes.Draw(t, "c")
		low, high := min(a, b, c), max(a, b, c)
		e := Estimate{time.Duration(low) * time.Minute, time.Duration(a+b+c-low-high) * time.Minute, time.Duration(high) * time.Minute}
		if err := e.Check(); err != nil {
			t.Fatal(err)
		}
		if got := e.Mean(); got < e.Low || got > e.High || got%time.Minute != 0 || !near(got.Hours(), e.MeanHours(), 0.5/60+1e-9) {
			t.Fatalf("%+v has the mean %v", e, got)
		}
	})
}
