package brake

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/length"
)

// A tyre and brake forum's example: pads of 14 mm when new, 12 of them gone in
// 30,000 miles, 2 left: 5,000 miles to bare metal.
func TestALiningLastsAsLongAsItsRateSays(t *testing.T) {
	w := Wear{Then: 14 * length.MM, Now: 2 * length.MM, Limit: 0, Distance: 30_000}
	if d, ok := w.Lasts(); !ok || d != 5000 {
		t.Errorf("%d, %v", d, ok)
	}
	if r, ok := w.Rate(); !ok || r != 0.4 {
		t.Errorf("%v a thousand", r)
	}
	if p, ok := w.WornPercent(); !ok || p != 85.7 {
		t.Errorf("%v %%", p)
	}
}

// Common practice, no published source: the figures are worked by hand.
func TestADiscAgainstItsLimit(t *testing.T) {
	w := Wear{Then: 25 * length.MM, Now: 23_600, Limit: 23 * length.MM, Distance: 42_000}
	if d, ok := w.Lasts(); !ok || d != 18_000 || w.Left().MM() != 0.6 || w.Worn().MM() != 1.4 || w.Check(true) != nil {
		t.Errorf("%d, %v, %v", d, w.Left(), w.Worn())
	}
	near, far, known := w.Spread(100)
	if !known || near != 13_125 || far != 24_500 {
		t.Errorf("between %d and %d, %v", near, far, known)
	}
	at := Wear{Then: 25 * length.MM, Now: 23 * length.MM, Limit: 23 * length.MM, Distance: 42_000}
	if d, ok := at.Lasts(); !ok || d != 0 || at.Left() != 0 {
		t.Errorf("at the limit %d more", d)
	}
	at.Now = 22_900
	if d, ok := at.Lasts(); !ok || d != 0 || at.Left().MM() != -0.1 {
		t.Errorf("beyond the limit %d more, %v", d, at.Left())
	}
}

func TestADrumWearsTheOtherWay(t *testing.T) {
	w := Wear{Then: 203 * length.MM, Now: 203_500, Limit: 204 * length.MM, Distance: 50_000, Drum: true}
	if d, ok := w.Lasts(); !ok || d != 50_000 || w.Check(true) != nil || w.Left().MM() != 0.5 {
		t.Errorf("%d, %v", d, w.Left())
	}
}

func TestWithoutARateNothingIsForetold(t *testing.T) {
	for _, w := range []Wear{
		{Now: 20_000, Limit: 18_000}, {Then: 20_000, Now: 20_000, Limit: 18_000, Distance: 1000}, {Then: 22_000, Now: 20_000, Limit: 18_000},
	} {
		if d, ok := w.Lasts(); ok {
			t.Errorf("%+v lasts %d", w, d)
		}
		if _, _, ok := w.Spread(100); ok {
			t.Errorf("%+v has a spread", w)
		}
	}
	if _, _, ok := (Wear{Then: 20_000, Now: 19_900, Limit: 18_000, Distance: 1000}).Spread(100); ok {
		t.Error("wear within the error has a spread")
	}
	if _, ok := (Wear{}).WornPercent(); ok {
		t.Error("nothing is worn by a part of nothing")
	}
}

func TestFiguresThatCannotBeAreSaid(t *testing.T) {
	for want, w := range map[error]Wear{
		ErrNowThicker: {Then: 20_000, Now: 20_001, Limit: 18_000}, ErrNowSmaller: {Then: 200_000, Now: 199_000, Limit: 204_000, Drum: true},
		ErrLimit: {Then: 20_000, Now: 19_000, Limit: 21_000}, ErrLimitDrum: {Then: 200_000, Now: 200_000, Limit: 199_000, Drum: true},
		ErrDistance: {Distance: DistanceMost + 1},
	} {
		if err := w.Check(true); !errors.Is(err, want) {
			t.Errorf("%+v: %v, want %v", w, err, want)
		}
	}
	if err := (Wear{Now: 20_000, Limit: 21_000}).Check(false); err != nil {
		t.Errorf("beyond its limit is no mistake: %v", err)
	}
}

func TestWhatIsLeftWearsAwayInTheDistanceForetold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Int64Range(0, 30_000).Draw(t, "limit")
		now := limit + rapid.Int64Range(1, 20_000).Draw(t, "left")
		then := now + rapid.Int64Range(1, 20_000).Draw(t, "worn")
		w := Wear{length.Micron(then), length.Micron(now), length.Micron(limit), rapid.Int64Range(1, DistanceMost).Draw(t, "distance"), false}
		d, ok := w.Lasts()
		if !ok || d < 0 {
			t.Fatalf("%+v lasts %d, %v", w, d, ok)
		}
		// Wear over d at the rate is what is left, but for the unit cut off.
		if gone := d * int64(w.Worn()); gone > int64(w.Left())*w.Distance || gone+int64(w.Worn()) <= int64(w.Left())*w.Distance {
			t.Fatalf("%+v lasts %d", w, d)
		}
		if near, far, known := w.Spread(100); known && (near > d || far < d) {
			t.Fatalf("%+v: %d is not between %d and %d", w, d, near, far)
		}
	})
}
