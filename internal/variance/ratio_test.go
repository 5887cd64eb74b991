package variance

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

// Attended 40 h, worked 34 h, sold 37.4 h; £2,244 of labour. Common practice,
// no published source. Worked over attended has a published figure: 957 of
// 1040 h is 92 %, in a dealer training glossary that calls it efficiency.
func TestTheRatiosAreShownWithTheirFractions(t *testing.T) {
	sold, worked, attended := 37*time.Hour+24*time.Minute, 34*time.Hour, 40*time.Hour
	r := Ratios(sold, worked, attended)
	for _, c := range []struct {
		got  Ratio
		want string
	}{
		{r.Efficiency, "110% (37.4 h / 34.0 h)"},
		{r.Utilisation, "85% (34.0 h / 40.0 h)"},
		{r.Productivity, "93.5% (37.4 h / 40.0 h)"},
		{Ratios(0, 957*time.Hour, 1040*time.Hour).Utilisation, "92.02% (957.0 h / 1040.0 h)"},
	} {
		if c.got.String() != c.want {
			t.Errorf("%v, want %s", c.got, c.want)
		}
	}
	if rate, ok := EffectiveRate(2244_00, sold); !ok || rate != 60_00 {
		t.Errorf("an hour sold brought %v %v", rate, ok)
	}
}

func TestARatioOverNothingIsNotAvailable(t *testing.T) {
	r := Ratios(time.Hour, 0, 0)
	for _, x := range []Ratio{r.Efficiency, r.Utilisation, r.Productivity} {
		if p, ok := x.Percent(); ok {
			t.Errorf("%v", p)
		}
	}
	if got := r.Efficiency.String(); got != "not available (1.0 h / 0.0 h)" {
		t.Errorf("%q", got)
	}
	if got := Ratios(0, time.Hour, 8*time.Hour).Efficiency.String(); got != "0% (0.0 h / 1.0 h)" {
		t.Errorf("nothing sold is %q", got)
	}
	if rate, ok := EffectiveRate(100, 0); ok {
		t.Errorf("no hours sold brought %v", rate)
	}
}

func TestProductivityIsTheProductOfTheOtherTwo(t *testing.T) {
	minute := rapid.Int64Range(60, 60_000)
	rapid.Check(t, func(t *rapid.T) {
		attended := minute.Draw(t, "attended")
		worked := rapid.Int64Range(30, attended).Draw(t, "worked")
		sold := rapid.Int64Range(0, 2*worked).Draw(t, "sold")
		r := Ratios(time.Duration(sold)*time.Minute, time.Duration(worked)*time.Minute, time.Duration(attended)*time.Minute)
		e, _ := r.Efficiency.Percent()
		u, _ := r.Utilisation.Percent()
		p, ok := r.Productivity.Percent()
		if d := p - money.Rate(money.Percent(money.Minor(e), u)); !ok || d > 2 || d < -2 {
			t.Fatalf("%v times %v is not %v", e, u, p)
		}
	})
}

// Price 100, cost 80: margin 20 %. Common practice, no published source.
func TestGrossProfitIsPriceLessLabourAndParts(t *testing.T) {
	g := Gross(100_00, 30_00, 50_00)
	if g.Profit != 20_00 || !g.MarginOK || g.Margin != 2000 {
		t.Errorf("%+v", g)
	}
	if g = Gross(0, 30_00, 0); g.Profit != -30_00 || g.MarginOK {
		t.Errorf("work given away: %+v", g)
	}
	if g = Gross(100_00, 30_00, 50_00).Plus(Gross(50_00, 60_00, 0)); g.Profit != 10_00 || g.Margin != 667 {
		t.Errorf("a loss and a profit: %+v", g)
	}
}
