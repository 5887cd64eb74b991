package schedule_test

import (
	"math"
	"slices"
	"testing"

	"rampside/internal/forecast/schedule"
)

const always = 1e6

// crew are so many technicians who work without a break.
func crew(n int) []schedule.Technician {
	out := make([]schedule.Technician, n)
	for i := range out {
		out[i].Spans = []schedule.Span{{From: 0, To: always}}
	}
	return out
}

func all(n int) uint64 { return 1<<n - 1 }

// upTo gives the numbers below n.
func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func player(t testing.TB, s *schedule.Shop) *schedule.Player {
	t.Helper()
	if err := s.Prepare(); err != nil {
		t.Fatal(err)
	}
	return schedule.NewPlayer(s)
}

func hours(h ...float64) *schedule.Draw {
	d := schedule.NewDraw(len(h))
	copy(d.Hours, h)
	return d
}

// jobs has one line a car, all at will.
func jobs(t testing.TB, men, n int) *schedule.Player {
	s := &schedule.Shop{Technicians: crew(men)}
	for i := range n {
		s.Cars = append(s.Cars, schedule.Car{})
		s.Lines = append(s.Lines, schedule.Line{Car: i, Can: all(men)})
	}
	return player(t, s)
}

func last(p *schedule.Played) float64 { return slices.Max(p.Finish) }

func want(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9 {
		t.Errorf("%s is %g, want %g", what, got, want)
	}
}

func TestAListIsWorkedOffAsPublished(t *testing.T) {
	// Jobs of 4, 5, 6, 7, 8 in that order: a textbook exercise in list
	// scheduling, worked by hand.
	h := hours(4, 5, 6, 7, 8)
	want(t, "with two", last(jobs(t, 2, 5).Play(h, upTo(5), nil)), 18)
	want(t, "with three", last(jobs(t, 3, 5).Play(h, upTo(5), nil)), 13)
}

func TestTheBoundsOfListSchedulingAreMetWhereTheyAreTight(t *testing.T) {
	// R. L. Graham, Bounds on Multiprocessing Timing Anomalies, SIAM Journal on
	// Applied Mathematics 17 (1969) 416-429: any list is within 2 − 1/m of the
	// best, longest first within 4/3 − 1/(3m), and both are reached.
	for m := 2; m <= 8; m++ {
		// m(m−1) jobs of 1 and one of m: the list takes 2m − 1, the best m.
		n := m*(m-1) + 1
		h := make([]float64, n)
		for i := range h {
			h[i] = 1
		}
		h[n-1] = float64(m)
		p := jobs(t, m, n)
		list := last(p.Play(hours(h...), upTo(n), nil))
		best := last(p.Play(hours(h...), append([]int{n - 1}, upTo(n-1)...), nil))
		want(t, "the best", best, float64(m))
		want(t, "the list over the best", list/best, 2-1/float64(m))

		// 2m − 1, 2m − 1, 2m − 2, 2m − 2, …, m + 1, m + 1, m, m, m.
		h = nil
		for v := 2*m - 1; v > m; v-- {
			h = append(h, float64(v), float64(v))
		}
		h = append(h, float64(m), float64(m), float64(m))
		p = jobs(t, m, len(h))
		longest := last(p.Play(hours(h...), upTo(len(h)), nil))
		want(t, "longest first", longest, float64(4*m-1))
		// The best puts 2m − 1 with m + 1, 2m − 2 with m + 2 and so on, and the
		// three of m together: 3m. No schedule is shorter than all the work
		// over m.
		sum := 0.0
		for _, v := range h {
			sum += v
		}
		want(t, "the best", sum/float64(m), float64(3*m))
		want(t, "longest first over the best", longest/(sum/float64(m)), 4.0/3-1/(3*float64(m)))
	}
}

func TestTheOrderThatIsBestIsReachedOnSmallTightInstances(t *testing.T) {
	// 3 3 2 2 2 on two: longest first takes 7, the best 6; 5 5 4 4 3 3 3 on
	// three: 11 and 9 (Graham 1969).
	for _, x := range []struct {
		men           int
		h             []float64
		longest, best float64
	}{{2, []float64{3, 3, 2, 2, 2}, 7, 6}, {3, []float64{5, 5, 4, 4, 3, 3, 3}, 11, 9}} {
		p := jobs(t, x.men, len(x.h))
		want(t, "longest first", last(p.Play(hours(x.h...), upTo(len(x.h)), nil)), x.longest)
		best := math.Inf(1)
		permute(upTo(len(x.h)), func(order []int) { best = math.Min(best, last(p.Play(hours(x.h...), order, nil))) })
		want(t, "the best of all orders", best, x.best)
	}
}

func permute(x []int, f func([]int)) {
	var rec func(k int)
	rec = func(k int) {
		if k == len(x) {
			f(x)
			return
		}
		for i := k; i < len(x); i++ {
			x[k], x[i] = x[i], x[k]
			rec(k + 1)
			x[k], x[i] = x[i], x[k]
		}
	}
	rec(0)
}

func TestAFurtherTechnicianMayLengthenTheDay(t *testing.T) {
	// The anomaly of Graham 1969: times 3, 2, 2, 2, 4, 4, 4, 4, 9; the ninth
	// after the first, the fifth to the eighth after the fourth. Three take 12,
	// four 15.
	for men, takes := range map[int]float64{3: 12, 4: 15} {
		s := &schedule.Shop{Technicians: crew(men)}
		for i := range 9 {
			l := schedule.Line{Car: i, Can: all(men)}
			switch i {
			case 4, 5, 6, 7:
				l.After = []int{3}
			case 8:
				l.After = []int{0}
			}
			s.Cars, s.Lines = append(s.Cars, schedule.Car{}), append(s.Lines, l)
		}
		want(t, "the day", last(player(t, s).Play(hours(3, 2, 2, 2, 4, 4, 4, 4, 9), upTo(9), nil)), takes)
	}
}

func TestTheCriticalPathIsThePublishedOne(t *testing.T) {
	// B. W. Taylor, Introduction to Management Science, solutions to chapter 8:
	// 1-2:7, 1-3:10, 2-4:6, 3-4:5, 3-5:4, 4-5:3, 5-6:2; 20 in all along
	// 1-3-4-5-6, slack 2 on 1-2 and 2-4, 4 on 3-5.
	after := [][]int{{}, {}, {0}, {1}, {1}, {2, 3}, {4, 5}}
	h := []float64{7, 10, 6, 5, 4, 3, 2}
	slack := []float64{2, 0, 2, 0, 4, 0, 0}
	s := &schedule.Shop{Technicians: crew(7), Cars: []schedule.Car{{Places: 7}}}
	for _, a := range after {
		s.Lines = append(s.Lines, schedule.Line{Can: all(7), After: a})
	}
	p := player(t, s)
	want(t, "the day", last(p.Play(hours(h...), []int{0}, nil)), 20)
	for i := range h {
		d := hours(h...)
		d.Hours[i] += slack[i]
		want(t, "the day with a line late by its slack", last(p.Play(d, []int{0}, nil)), 20)
		d.Hours[i]++
		want(t, "the day with a line later by one more", last(p.Play(d, []int{0}, nil)), 21)
	}
}

func TestTheSixBySixJobShopStaysAboveItsOptimumAndNearIt(t *testing.T) {
	// H. Fisher and G. L. Thompson (1963), the instance known as ft06, best 55:
	// machine and time of each step. A machine is a technician here, a job a
	// car. A policy that never waits cannot always reach the best; over all
	// orders it comes within 10 %.
	steps := [6][6][2]int{
		{{2, 1}, {0, 3}, {1, 6}, {3, 7}, {5, 3}, {4, 6}},
		{{1, 8}, {2, 5}, {4, 10}, {5, 10}, {0, 10}, {3, 4}},
		{{2, 5}, {3, 4}, {5, 8}, {0, 9}, {1, 1}, {4, 7}},
		{{1, 5}, {0, 5}, {2, 5}, {3, 3}, {4, 8}, {5, 9}},
		{{2, 9}, {1, 3}, {4, 5}, {5, 4}, {0, 3}, {3, 1}},
		{{1, 3}, {3, 3}, {5, 9}, {0, 10}, {4, 4}, {2, 1}},
	}
	s := &schedule.Shop{Technicians: crew(6)}
	var h []float64
	for j := range steps {
		s.Cars = append(s.Cars, schedule.Car{})
		for k, step := range steps[j] {
			l := schedule.Line{Car: j, Can: 1 << step[0]}
			if k > 0 {
				l.After = []int{len(s.Lines) - 1}
			}
			s.Lines, h = append(s.Lines, l), append(h, float64(step[1]))
		}
	}
	p := player(t, s)
	best := math.Inf(1)
	permute(upTo(6), func(order []int) {
		got := last(p.Play(hours(h...), order, nil))
		if got < 55 {
			t.Fatalf("%g is below the optimum", got)
		}
		best = math.Min(best, got)
	})
	if best > 60.5 {
		t.Errorf("the best order takes %g", best)
	}
}
