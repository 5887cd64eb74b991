package lateness_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/lateness"
)

func came(late ...time.Duration) []lateness.Delivery {
	out := make([]lateness.Delivery, len(late))
	for i, l := range late {
		out[i] = lateness.Delivery{Late: l}
	}
	return out
}

// TestAQuantileIsThePublishedOne is the worked example of NIST/SEMATECH,
// e-Handbook of Statistical Methods, 7.2.6.2 Percentiles: of twelve
// measurements the 90th percentile is between the eleventh, 95.1959, and the
// twelfth, 95.1990, at 0.7 of the way: 95.1981.
func TestAQuantileIsThePublishedOne(t *testing.T) {
	var ds []lateness.Delivery
	// In ten-thousandths, each as a second, so that interpolation is exact.
	for _, x := range []time.Duration{951772, 951567, 951937, 951959, 951442, 950610, 951591, 951195, 951065, 950925, 951990, 951682} {
		ds = append(ds, lateness.Delivery{Late: x * time.Second})
	}
	r := lateness.Make(24*time.Hour, ds)
	got, ok := r.Quantile(90)
	if want := 951959*time.Second + 31*time.Second*7/10; !ok || got.Late != want || got.Late.Round(time.Second) != 951981*time.Second {
		t.Errorf("the 90th percentile is %v, %v, want %v", got.Late.Seconds(), ok, want.Seconds())
	}
	// The median of an even number is the middle of the two in the middle, by
	// any definition that interpolates.
	if got, ok := r.Quantile(50); !ok || got.Late != (951567+951591)*time.Second/2 {
		t.Errorf("the median is %v", got.Late.Seconds())
	}
}

// TestEqualChanceLiesBetweenAllNeighbours is what definition 6 promises: with
// 99 values the kth percentile is the kth value (R, package resample, Quantile).
func TestEqualChanceLiesBetweenAllNeighbours(t *testing.T) {
	var late []time.Duration
	for i := 99; i >= 1; i-- {
		late = append(late, time.Duration(i*i)*time.Minute)
	}
	r := lateness.Make(9*time.Hour, came(late...))
	for k := 1; k <= 99; k++ {
		if q, ok := r.Quantile(k); !ok || q.Late != time.Duration(k*k)*time.Minute {
			t.Errorf("%d: %v, %v", k, q.Late, ok)
		}
	}
}

func TestTooFewDeliveriesTellNothing(t *testing.T) {
	for n := range 12 {
		r := lateness.Make(9*time.Hour, came(make([]time.Duration, n)...))
		for percent, least := range map[int]int{50: 5, 80: 5, 90: 9} {
			if _, ok := r.Quantile(percent); ok != (n >= least) {
				t.Errorf("%d of %d is told: %v", percent, n, ok)
			}
		}
	}
	r := lateness.Make(9*time.Hour, came(make([]time.Duration, 500)...))
	for _, odd := range []int{-1, 0, 100, 101} {
		if _, ok := r.Quantile(odd); ok {
			t.Errorf("a quantile at %d", odd)
		}
	}
}

func TestWhatNeverCameIsLaterThanAllElse(t *testing.T) {
	ds := append(came(0, time.Hour, 2*time.Hour, 3*time.Hour, 4*time.Hour, 5*time.Hour, 6*time.Hour), lateness.Delivery{Never: true}, lateness.Delivery{Never: true})
	r := lateness.Make(9*time.Hour, ds)
	if q, ok := r.Quantile(50); !ok || q.Never || q.Late != 4*time.Hour {
		t.Errorf("half: %+v %v", q, ok)
	}
	if q, ok := r.Quantile(70); !ok || q.Never || q.Late != 6*time.Hour {
		t.Errorf("seven in ten: %+v %v", q, ok)
	}
	for _, percent := range []int{75, 80, 90} {
		if q, ok := r.Quantile(percent); !ok || !q.Never {
			t.Errorf("%d: %+v %v", percent, q, ok)
		}
	}
}

func TestEachDeliveryIsCountedWhereItsLatenessIs(t *testing.T) {
	day := 9 * time.Hour
	r := lateness.Make(day, append(came(-time.Hour, 0, 59*time.Second, time.Minute, time.Hour, time.Hour+1, day/2, day/2+1, day, day+1, 90*day), lateness.Delivery{Never: true}))
	var got []int
	for _, c := range r.Counts() {
		got = append(got, c.N)
	}
	if want := [6]int{3, 2, 2, 2, 2, 1}; [6]int(got) != want {
		t.Errorf("counted %v, want %v", got, want)
	}
}

func TestQuantilesRiseAndCountsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ds := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) lateness.Delivery {
			return lateness.Delivery{Late: time.Duration(rapid.Int64Range(-1e15, 1e15).Draw(t, "late")), Never: rapid.IntRange(0, 9).Draw(t, "never") == 0}
		}), 0, 60).Draw(t, "deliveries")
		r := lateness.Make(9*time.Hour, ds)
		sum := 0
		for _, c := range r.Counts() {
			sum += c.N
		}
		if sum != len(ds) || r.N != sum {
			t.Fatalf("%d counted of %d", sum, len(ds))
		}
		last, ok := lateness.Quantile{Late: -1e16}, true
		for p := 1; p <= 99; p++ {
			q, told := r.Quantile(p)
			if told && !ok && r.N >= lateness.Fewest {
				t.Fatalf("%d is told and an earlier one is not", p)
			}
			if told && q.Compare(last) < 0 {
				t.Fatalf("%d is less late than the one before", p)
			}
			if told {
				last = q
			}
			ok = told
		}
	})
}
