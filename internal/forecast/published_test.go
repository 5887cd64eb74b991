package forecast_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
)

// listed is a day with a car for each job, and technicians who work on without
// a break.
func listed(men int, hours []float64, after map[int][]int) forecast.Day {
	d := forecast.Day{Now: opening, Close: opening.AddDate(0, 0, 30), Ramps: 1}
	for t := range men {
		d.Technicians = append(d.Technicians, forecast.Technician{ID: int64(t + 1), Spans: []forecast.Span{{From: opening, To: opening.AddDate(0, 0, 30)}}})
	}
	for i, h := range hours {
		l := forecast.Line{ID: int64(i + 1), Operation: "a job", Estimate: law.Single(h)}
		for _, a := range after[i] {
			l.After = append(l.After, int64(a+1))
		}
		d.Cars = append(d.Cars, forecast.Car{ID: int64(i + 1), Lines: []forecast.Line{l}})
	}
	return d
}

// takes is how long the whole day takes in hours, nine times in ten, with a
// model that knows every line takes its estimate.
func takes(t *testing.T, d forecast.Day) float64 {
	t.Helper()
	last := 0.0
	for _, c := range engine(t, d, certain(), forecast.Options{Points: law.Points{N: 251, Factor: 76}}).Look().Cars {
		last = max(last, c.Ninety.At.Sub(opening).Hours())
	}
	return last
}

func nearly(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 0.005 { // whole seconds, and laws that are nearly certain
		t.Errorf("%s is %g, want %g", what, got, want)
	}
}

func TestTheBoundsOfListSchedulingAreMetThroughTheWholeForecast(t *testing.T) {
	// R. L. Graham, Bounds on Multiprocessing Timing Anomalies, SIAM Journal on
	// Applied Mathematics 17 (1969) 416-429: 2 − 1/m for any list, 4/3 − 1/(3m)
	// for the longest first, both reached by these jobs.
	for m := 2; m <= 8; m++ {
		ones := slices.Repeat([]float64{1}, m*(m-1))
		best := takes(t, listed(m, append([]float64{float64(m)}, ones...), nil))
		list := takes(t, listed(m, append(slices.Clone(ones), float64(m)), nil))
		nearly(t, "the list over the best", list/best, 2-1/float64(m))

		// The best pairs 2m − 1 with m + 1 and so on and puts the last three
		// together; a list that does so keeps each pair as lines after one
		// another.
		var jobs []float64
		for v := 2*m - 1; v > m; v-- {
			jobs = append(jobs, float64(v), float64(v))
		}
		jobs = append(jobs, slices.Repeat([]float64{float64(m)}, 3)...)
		n := len(jobs) - 3
		var first, second []float64
		after := map[int][]int{}
		for i := range n / 2 {
			first, second = append(first, jobs[i]), append(second, jobs[n-1-i])
			after[m+i] = []int{i}
		}
		first = append(first, float64(m))
		after[m+n/2] = []int{n / 2}
		after[m+n/2+1] = []int{m + n/2}
		paired := append(first, append(second, float64(m), float64(m))...)
		nearly(t, "longest first over the best", takes(t, listed(m, jobs, nil))/takes(t, listed(m, paired, after)), 4.0/3-1/(3*float64(m)))
	}
}

func TestAFurtherTechnicianMayLengthenTheForecastDay(t *testing.T) {
	// The anomaly of the same paper: three take 12, four 15.
	hours := []float64{3, 2, 2, 2, 4, 4, 4, 4, 9}
	after := map[int][]int{4: {3}, 5: {3}, 6: {3}, 7: {3}, 8: {0}}
	nearly(t, "the day of three", takes(t, listed(3, hours, after)), 12)
	nearly(t, "the day of four", takes(t, listed(4, hours, after)), 15)
	// And so may less work: every job shorter by an hour takes three 13.
	for i := range hours {
		hours[i]--
	}
	nearly(t, "the day with shorter jobs", takes(t, listed(3, hours, after)), 13)
}

func TestAOneManGarageTakesTheSumOfItsLines(t *testing.T) {
	// One technician does one line after another: a sum of hours, whose mean
	// and spread for log-normals without anything shared are known, n·e^(m+s²/2)
	// and √n·e^(m+s²/2)·√(e^(s²)−1).
	p := learn.Start
	const m, s, n = 0.0, 0.3, 12
	p.Mean, p.MeanSD, p.OperationSD, p.LayoutSD, p.CarSD, p.Spread, p.SpreadWeight, p.Snag = m, 1e-6, 1e-6, 1e-6, 1e-6, s, 1e6, 0
	d := listed(1, slices.Repeat([]float64{1}, n), nil)
	look := engine(t, d, learn.Fit(nil, p), forecast.Options{Seed: 3}).Look()
	end := look.Cars[n-1]
	mean := n * math.Exp(m+s*s/2)
	sd := math.Sqrt(n) * math.Exp(m+s*s/2) * math.Sqrt(math.Expm1(s*s))
	// The sum of twelve is nearly normal: half below the mean, less a little
	// for the skew, and 90 in 100 below mean + 1.2816 sd.
	if got := end.Half.At.Sub(opening).Hours(); math.Abs(got-mean) > 0.1*sd {
		t.Errorf("half the days end by %g, want about %g", got, mean)
	}
	if got, want := end.Ninety.At.Sub(opening).Hours(), mean+1.2816*sd; math.Abs(got-want) > 0.12*sd {
		t.Errorf("ninety days in a hundred end by %g, want about %g", got, want)
	}
	// Whatever is begun waits for whatever runs; nobody else helps.
	for i := 1; i < n; i++ {
		if !look.Cars[i].Half.At.After(look.Cars[i-1].Half.At) {
			t.Fatalf("car %d is not after the one before", i)
		}
	}
	// With nobody at all nothing is ever done.
	d.Technicians = nil
	if c := engine(t, d, nil, forecast.Options{}).Look().Cars[0]; c.Chance != 1 || !c.Half.Beyond {
		t.Errorf("with nobody there: %+v", c)
	}
}

func TestALineForTwoTakesHalfAsLongAndWaitsForBoth(t *testing.T) {
	// 4 hours of work for two, while one of them is at a line of 1 hour: from 1
	// to 3, by hand.
	d := listed(2, []float64{1, 4, 1}, nil)
	d.Cars[1].Lines[0].Men = 2
	e := engine(t, d, certain(), forecast.Options{Points: law.Points{N: 251, Factor: 76}}).Look()
	nearly(t, "the line for two", e.Cars[1].Half.At.Sub(opening).Hours(), 3)
	nearly(t, "what comes after it", e.Cars[2].Half.At.Sub(opening).Hours(), 4)
	// In work since 1.5 hours each: 3 of the 4 are spent, half an hour is left.
	l := &d.Cars[1].Lines[0]
	l.Spent, l.On = 3, []int64{1, 2}
	e = engine(t, d, certain(), forecast.Options{Points: law.Points{N: 251, Factor: 76}}).Look()
	nearly(t, "what is left for two", e.Cars[1].Half.At.Sub(opening).Hours(), 0.5)
	nearly(t, "the first then", e.Cars[0].Half.At.Sub(opening).Hours(), 1.5)
	// A one-man garage never begins it, and says so.
	l.Spent, l.On = 0, nil
	d.Technicians = d.Technicians[:1]
	d.Cars[1].Promise = opening.Add(8 * time.Hour)
	if c := engine(t, d, certain(), forecast.Options{}).Look().Cars[1]; c.Chance != 0 || !c.Ninety.Beyond {
		t.Errorf("one person does a line for two: %+v", c)
	}
}

func TestAPartKnownNotToComeHoldsItsCarAndNoOther(t *testing.T) {
	d := listed(1, []float64{1, 1}, nil)
	d.Cars[0].Promise, d.Cars[1].Promise = opening.Add(9*time.Hour), opening.Add(90*time.Minute)
	d.Cars[0].Lines[0].Parts = []forecast.Part{{NotComing: true}}
	d.Cars[0].Lines = append(d.Cars[0].Lines, forecast.Line{ID: 90, Operation: "a job", Estimate: law.Single(0.25)})
	look := engine(t, d, certain(), forecast.Options{}).Look()
	a, b := look.Cars[0], look.Cars[1]
	if a.Chance != 0 || !a.Half.Beyond || len(a.Causes) != 1 || a.Causes[0].Kind != forecast.NotComing || a.Causes[0].Line != 1 {
		t.Errorf("the car that waits for it: %+v", a)
	}
	nearly(t, "the other car, after the line that can be done", b.Half.At.Sub(opening).Hours(), 1.25)
	if look.AllDone != 0 || b.Chance != 1 {
		t.Errorf("all are done with chance %g, the other with %g", look.AllDone, b.Chance)
	}
	// A line after the one that waits is not begun either; the rest of the car
	// is.
	d.Cars[0].Lines[1].After = []int64{1}
	nearly(t, "the other car, with nothing to do at the first", engine(t, d, certain(), forecast.Options{}).Look().Cars[1].Half.At.Sub(opening).Hours(), 1)
}
