package schedule_test

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"rampside/internal/forecast/schedule"
)

// The first project of the set j30 of PSPLIB: R. Kolisch and A. Sprecher,
// PSPLIB: A Project Scheduling Problem Library, European Journal of Operational
// Research 96 (1997) 205-216. Thirty activities, four resources of 12, 13, 4
// and 12 units; each activity takes some of one of them. Published are the
// critical path, 38, and the optimum, 43.
var (
	j301Units = []int{12, 13, 4, 12}
	// Activities 2 to 31: hours, resource, units.
	j301 = [][3]int{
		{8, 1, 4}, {4, 1, 10}, {6, 4, 3}, {3, 1, 3}, {8, 4, 8}, {5, 1, 4}, {9, 2, 1}, {2, 1, 6}, {7, 4, 1}, {9, 2, 5},
		{2, 2, 7}, {6, 1, 4}, {3, 2, 8}, {9, 1, 3}, {10, 4, 5}, {6, 4, 8}, {5, 4, 7}, {3, 2, 1}, {7, 2, 10}, {2, 4, 6},
		{7, 1, 2}, {2, 1, 3}, {3, 2, 9}, {3, 1, 4}, {7, 3, 4}, {8, 4, 7}, {3, 2, 8}, {7, 2, 7}, {2, 2, 7}, {2, 3, 2},
	}
	j301Next = [][]int{
		{6, 11, 15}, {7, 8, 13}, {5, 9, 10}, {20}, {30}, {27}, {12, 19, 27}, {14}, {16, 25}, {20, 26},
		{14}, {17, 18}, {17}, {25}, {21, 22}, {22}, {20, 22}, {24, 29}, {23, 25}, {28},
		{23}, {24}, {30}, {30}, {31}, {28}, {31}, {}, {}, {},
	}
)

const (
	j301CriticalPath = 38
	j301Optimum      = 43
)

// project makes each activity a car with one line, and each unit of a resource
// a technician; enough makes the units so many that none is ever waited for.
func project(t *testing.T, enough bool) (*schedule.Player, *schedule.Draw) {
	s := &schedule.Shop{}
	can := make([]uint64, len(j301Units))
	for r, n := range j301Units {
		for range n {
			can[r] |= 1 << len(s.Technicians)
			s.Technicians = append(s.Technicians, crew(1)...)
		}
	}
	after := make([][]int, len(j301))
	for i, next := range j301Next {
		for _, j := range next {
			after[j-2] = append(after[j-2], i)
		}
	}
	var h []float64
	for i, a := range j301 {
		l := schedule.Line{Car: i, After: after[i], Can: can[a[1]-1], Men: a[2]}
		if enough { // thirty technicians and one for each
			l.Can, l.Men = 1<<i, 1
		}
		s.Cars, s.Lines, h = append(s.Cars, schedule.Car{}), append(s.Lines, l), append(h, float64(a[0]))
	}
	return player(t, s), hours(h...)
}

// tails are how long the longest way from the start of an activity to the end
// of the project is.
func tails() []float64 {
	out := make([]float64, len(j301))
	for i := len(out) - 1; i >= 0; i-- { // those after one have higher numbers
		for _, j := range j301Next[i] {
			out[i] = math.Max(out[i], out[j-2])
		}
		out[i] += float64(j301[i][0])
	}
	return out
}

func TestAProjectWithoutWantTakesItsPublishedCriticalPath(t *testing.T) {
	p, d := project(t, true)
	want(t, "the project", last(p.Play(d, upTo(len(j301)), nil)), j301CriticalPath)
	longest := 0.0
	for _, v := range tails() {
		longest = math.Max(longest, v)
	}
	want(t, "the longest way", longest, j301CriticalPath)
}

func TestAProjectWithWantStaysAboveItsPublishedOptimumAndReachesIt(t *testing.T) {
	p, d := project(t, false)
	tail := tails()
	r := rand.New(rand.NewPCG(30, 1))
	best, first := math.Inf(1), 0.0
	for k := range 3000 {
		// The longest way first, and then roughly so.
		key := make([]float64, len(tail))
		for i := range key {
			key[i] = -tail[i]
			if k > 0 {
				key[i] += 8 * r.NormFloat64()
			}
		}
		out := p.Play(d, sorted(key), nil)
		got := last(out)
		if got < j301Optimum {
			t.Fatalf("%g is below the optimum", got)
		}
		if k == 0 {
			first = got
			obeys(t, out)
		}
		best = math.Min(best, got)
	}
	t.Logf("the longest way first takes %g, the best of 3,000 orders %g", first, best)
	if first > 1.2*j301Optimum || best > j301Optimum {
		t.Errorf("the longest way first takes %g, the best order found %g", first, best)
	}
}

func sorted(key []float64) []int {
	out := upTo(len(key))
	for i := range out {
		for j := i; j > 0 && key[out[j]] < key[out[j-1]]; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// obeys checks a schedule of the project against its file, not by the player.
func obeys(t *testing.T, out *schedule.Played) {
	t.Helper()
	for i, next := range j301Next {
		if out.End[i] != out.Start[i]+float64(j301[i][0]) || bits.OnesCount64(out.By[i]) != j301[i][2] {
			t.Errorf("activity %d goes from %g to %g with %d", i+2, out.Start[i], out.End[i], bits.OnesCount64(out.By[i]))
		}
		for _, j := range next {
			if out.Start[j-2] < out.End[i] {
				t.Errorf("activity %d begins before %d ends", j, i+2)
			}
		}
	}
	for at := range 100 {
		var used [4]int
		for i, a := range j301 {
			if out.Start[i] <= float64(at) && float64(at) < out.End[i] {
				used[a[1]-1] += a[2]
			}
		}
		for r, n := range used {
			if n > j301Units[r] {
				t.Errorf("at %d, %d of %d units of resource %d are in use", at, n, j301Units[r], r+1)
			}
		}
	}
}
