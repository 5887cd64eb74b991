package money

import (
	"math"
	"math/big"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestLabourIsPricedByTheHourToTheNearestPenny(t *testing.T) {
	for _, c := range []struct {
		d       time.Duration
		perHour Minor
		want    Minor
	}{
		// £2,244 for 37.4 hours sold at £60.00 an hour: common practice, no
		// published source.
		{37*time.Hour + 24*time.Minute, 60_00, 2244_00},
		{0, 60_00, 0},
		{time.Hour, 0, 0},
		{6 * time.Minute, 72_00, 7_20},
		{time.Minute, 72_00, 1_20},
		{time.Minute, 72_30, 1_21},  // 120.5 pence
		{time.Minute, 72_29, 1_20},  // 120.48 pence
		{-time.Minute, 72_30, -121}, // a credit is the exact negative
		{20 * time.Minute, 1, 0},
		{30 * time.Minute, 1, 1},
	} {
		if got := LabourNet(c.d, c.perHour); got != c.want {
			t.Errorf("LabourNet(%v, %d) = %d, want %d", c.d, c.perHour, got, c.want)
		}
	}
}

func TestRevenueOverHoursIsTheEffectiveRate(t *testing.T) {
	// £2,244 over 37.4 hours: common practice, no published source.
	if got, ok := PerHour(2244_00, 37*time.Hour+24*time.Minute); !ok || got != 60_00 {
		t.Errorf("%v %v", got, ok)
	}
	for _, d := range []time.Duration{0, -time.Hour, 1} {
		if got, ok := PerHour(2244_00, d); ok {
			t.Errorf("over %v it is %v", d, got)
		}
	}
}

// Rows of the public example invoice ubl-tc434-example1.xml (lines 1, 4, 9,
// 19, 20) and of Peppol BIS Billing's Allowance-example.xml (10 x 410; 10 x
// 200 for a base quantity of 2).
func TestPartsArePricedByTheQuantity(t *testing.T) {
	for _, c := range []struct {
		qty  int64
		unit Minor
		want Minor
	}{
		{2000, 9_95, 19_90},
		{2000, 7_23, 14_46},
		{3000, 4_79, 14_37},
		{6000, 17_02, 102_12},
		{-6000, 18_33, -109_98},
		{10_000, 410_00, 4100_00},
		{5_000, 200_00, 1000_00},
		{4_250, 8_99, 38_21}, // 38.2075
		{500, 1, 1},          // half a penny goes up
		{-500, 1, -1},
		{499, 1, 0},
	} {
		if got := PartNet(c.qty, c.unit); got != c.want {
			t.Errorf("PartNet(%d, %d) = %d, want %d", c.qty, c.unit, got, c.want)
		}
	}
}

// HMRC VAT manual VATREC12030: below half a penny down, half and above up.
func TestHalfAPennyIsRoundedUp(t *testing.T) {
	for _, c := range []struct {
		m    Minor
		r    Rate
		want Minor
	}{
		{2, 2500, 1}, // 0.5
		{1, 4999, 0}, // 0.4999
		{1, 5000, 1}, // 0.5
		{3, 5000, 2}, // 1.5
		{-3, 5000, -2},
		{100_00, 2000, 20_00},
		{100_00, 0, 0},
	} {
		if got := Percent(c.m, c.r); got != c.want {
			t.Errorf("Percent(%d, %d) = %d, want %d", c.m, c.r, got, c.want)
		}
	}
}

func TestAmountsBeyondTheLimitsAreRefusedNotWrapped(t *testing.T) {
	for _, m := range []Minor{
		LabourNet(math.MaxInt64, math.MaxInt64),
		PartNet(math.MaxInt64, math.MaxInt64),
		PartNet(math.MinInt64, math.MinInt64),
		PartNet(MaxQuantity, MaxTyped),
		MarkUp(math.MaxInt64, math.MaxInt64-wholeRate),
	} {
		if m <= MaxLine || m.Check() == nil {
			t.Errorf("%d passes for an amount", m)
		}
	}
	if m := PartNet(math.MinInt64, math.MaxInt64); m >= -MaxLine || m.Check() == nil {
		t.Errorf("%d passes for an amount", m)
	}
	if MaxLine.Check() != nil || (-MaxLine).Check() != nil || (MaxLine+1).Check() == nil {
		t.Error("the limit is not where it says")
	}
}

func TestASharePropertyHoldsAgainstBigArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Int64().Draw(t, "a")
		b := rapid.Int64().Draw(t, "b")
		div := rapid.Int64Range(1, math.MaxInt64).Draw(t, "div")
		got := share(a, b, div)

		// The nearest whole number x has |a*b - x*div| * 2 <= div, and a tie
		// has the larger magnitude.
		exact := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		num := new(big.Int).Abs(exact)
		num.Mul(num, big.NewInt(2)).Add(num, big.NewInt(div))
		want := num.Quo(num, new(big.Int).Mul(big.NewInt(2), big.NewInt(div)))
		if !want.IsInt64() {
			want = big.NewInt(math.MaxInt64)
		}
		if exact.Sign() < 0 {
			want.Neg(want)
		}
		if want.Int64() != got {
			t.Fatalf("%d * %d / %d = %d, want %v", a, b, div, got, want)
		}
		if back := share(-max(a, -math.MaxInt64), b, div); a > math.MinInt64 && back != -got {
			t.Fatalf("the negative of %d came to %d", got, back)
		}
	})
}

func TestMarkUpAndMarginAgree(t *testing.T) {
	// Cost 80, price 100: mark-up 25 %, margin 20 %. Common practice, no
	// published source.
	if p := MarkUp(80_00, 2500); p != 100_00 {
		t.Errorf("80 with 25 %% on it is %v", p)
	}
	if r, ok := MarkUpOf(80_00, 100_00); !ok || r != 2500 {
		t.Errorf("mark-up %v %v", r, ok)
	}
	if r, ok := MarginOf(80_00, 100_00); !ok || r != 2000 {
		t.Errorf("margin %v %v", r, ok)
	}
	if r, ok := MarginFromMarkUp(2500); !ok || r != 2000 {
		t.Errorf("margin of mark-up %v %v", r, ok)
	}
	if r, ok := MarkUpFromMargin(2000); !ok || r != 2500 {
		t.Errorf("mark-up of margin %v %v", r, ok)
	}
	if r, ok := MarginOf(100_00, 80_00); !ok || r != -2500 {
		t.Errorf("a loss is a negative margin, not %v %v", r, ok)
	}
}

func TestAFigureOverNothingIsNotAvailable(t *testing.T) {
	for name, f := range map[string]func() (Rate, bool){
		"mark-up on no cost":        func() (Rate, bool) { return MarkUpOf(0, 100) },
		"margin on no price":        func() (Rate, bool) { return MarginOf(100, 0) },
		"margin of mark-up -100 %":  func() (Rate, bool) { return MarginFromMarkUp(-10_000) },
		"mark-up of margin 100 %":   func() (Rate, bool) { return MarkUpFromMargin(10_000) },
		"nothing of nothing":        func() (Rate, bool) { return Ratio(0, 0) },
		"smallest number of pence":  func() (Rate, bool) { return Ratio(math.MinInt64, -1) },
		"a figure that cannot hold": func() (Rate, bool) { return Ratio(math.MaxInt64, 1) },
	} {
		if r, ok := f(); ok {
			t.Errorf("%s: %v", name, r)
		}
	}
}

func TestMarginAndMarkUpUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mk := Rate(rapid.Int64Range(0, 20_000).Draw(t, "mark-up"))
		margin, ok := MarginFromMarkUp(mk)
		if !ok {
			t.Fatal("not available")
		}
		// A basis point of margin is worth (1+mk)^2 basis points of mark-up.
		slack := Rate(share(int64(wholeRate+mk), int64(wholeRate+mk), wholeRate*wholeRate)) + 1
		back, ok := MarkUpFromMargin(margin)
		if !ok || back < mk-slack || back > mk+slack {
			t.Fatalf("%v became %v", mk, back)
		}
	})
}
