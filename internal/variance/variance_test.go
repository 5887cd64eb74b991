package variance

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

// Heisinger and Hoyle, Accounting for Managers (Saylor Academy, open
// textbook), 10.4: Figure 10.6, Jerry's Ice Cream, and Review Problem 10.4,
// Carol's Cookies. Dollars there, pence here.
func TestLabourVariancesMatchTheTextbook(t *testing.T) {
	for _, c := range []struct {
		name                     string
		actual, standard         time.Duration
		actualRate, standardRate money.Minor
		want                     Labour
	}{
		{
			"Figure 10.6", 18_900 * time.Hour, 21_000 * time.Hour, 15_00, 13_00,
			Labour{
				ActualTime: 18_900 * time.Hour, StandardTime: 21_000 * time.Hour,
				ActualCost: 283_500_00, FlexedCost: 245_700_00, StandardCost: 273_000_00,
				Rate: 37_800_00, Efficiency: -27_300_00, Total: 10_500_00,
			},
		},
		{
			"Review Problem 10.4", 97_500 * time.Hour, 78_000 * time.Hour, 11_00, 12_00,
			Labour{
				ActualTime: 97_500 * time.Hour, StandardTime: 78_000 * time.Hour,
				ActualCost: 1_072_500_00, FlexedCost: 1_170_000_00, StandardCost: 936_000_00,
				Rate: -97_500_00, Efficiency: 234_000_00, Total: 136_500_00,
			},
		},
	} {
		got := OfLabour(LabourInput{
			ActualTime: c.actual, ActualCost: money.LabourNet(c.actual, c.actualRate),
			StandardTime: c.standard, StandardRate: c.standardRate,
		})
		if got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// The same text, 10.3: Figure 10.4 and Review Problem 10.3. It takes the price
// variance on what was bought and the usage variance on what was used; a
// garage buys for the job, so here each is asked for with its own quantity.
func TestPartsVariancesMatchTheTextbook(t *testing.T) {
	for _, c := range []struct {
		name                       string
		bought, used, standard     int64
		actualPrice, standardPrice money.Minor
		price, usage               money.Minor
	}{
		{"Figure 10.4", 440_000, 399_000, 420_000, 1_20, 1_00, 88_000_00, -21_000_00},
		{"Review Problem 10.3", 640_000, 624_000, 585_000, 1_80, 2_00, -128_000_00, 78_000_00},
	} {
		of := func(quantity int64) Parts {
			return OfPart(PartInput{
				ActualQuantity: quantity * 1000, ActualCost: money.PartNet(quantity*1000, c.actualPrice),
				StandardQuantity: c.standard * 1000, StandardPrice: c.standardPrice,
			})
		}
		if got := of(c.bought).Price; got != c.price {
			t.Errorf("%s: price variance %v, want %v", c.name, got, c.price)
		}
		if got := of(c.used).Usage; got != c.usage {
			t.Errorf("%s: usage variance %v, want %v", c.name, got, c.usage)
		}
	}
}

func TestAVarianceIsWrittenWithItsWordAndNoSign(t *testing.T) {
	for v, want := range map[money.Minor]string{
		37_800_00: "£37,800.00 adverse", -27_300_00: "£27,300.00 favourable", 0: "none",
	} {
		if got := Format(v); got != want {
			t.Errorf("%d: %q", int64(v), got)
		}
	}
}

func TestWorkThatWasNeverAgreedIsAdverseInFull(t *testing.T) {
	l := OfLabour(LabourInput{ActualTime: 90 * time.Minute, ActualCost: 30_00, StandardRate: 20_00})
	if l.StandardCost != 0 || l.Efficiency != 30_00 || l.Rate != 0 || l.Total != 30_00 {
		t.Errorf("%+v", l)
	}
	p := OfPart(PartInput{ActualQuantity: 1000, ActualCost: 12_00, StandardPrice: 12_00})
	if p.Usage != 12_00 || p.Price != 0 || p.Total != 12_00 {
		t.Errorf("%+v", p)
	}
}

var (
	minutes = rapid.Int64Range(0, 200*60)
	amount  = rapid.Int64Range(0, 1_000_000)
)

var anyLabour = rapid.Custom(func(t *rapid.T) LabourInput {
	return LabourInput{
		ActualTime:   time.Duration(minutes.Draw(t, "actual")) * time.Minute,
		ActualCost:   money.Minor(amount.Draw(t, "cost")),
		StandardTime: time.Duration(minutes.Draw(t, "standard")) * time.Minute,
		StandardRate: money.Minor(amount.Draw(t, "rate")),
	}
})

var anyPart = rapid.Custom(func(t *rapid.T) PartInput {
	return PartInput{
		ActualQuantity:   rapid.Int64Range(0, money.MaxQuantity).Draw(t, "actual"),
		ActualCost:       money.Minor(amount.Draw(t, "cost")),
		StandardQuantity: rapid.Int64Range(0, money.MaxQuantity).Draw(t, "standard"),
		StandardPrice:    money.Minor(amount.Draw(t, "price")),
	}
})

func TestVariancesAddUpToActualLessStandardToThePenny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var labour Labour
		var labourCost, labourStandard money.Minor
		for _, in := range rapid.SliceOfN(anyLabour, 1, 8).Draw(t, "labour") {
			l := OfLabour(in)
			if l.Rate+l.Efficiency != l.Total || l.Total != in.ActualCost-l.StandardCost {
				t.Fatalf("%+v does not add up", l)
			}
			labour = labour.Plus(l)
			labourCost += in.ActualCost
			labourStandard += l.StandardCost
		}
		if labour.Rate+labour.Efficiency != labour.Total || labour.Total != labourCost-labourStandard {
			t.Fatalf("the card's %+v does not add up", labour)
		}

		var parts Parts
		for _, in := range rapid.SliceOfN(anyPart, 1, 8).Draw(t, "parts") {
			p := OfPart(in)
			if p.Price+p.Usage != p.Total || p.Total != in.ActualCost-p.StandardCost {
				t.Fatalf("%+v does not add up", p)
			}
			parts = parts.Plus(p)
		}
		if parts.Price+parts.Usage != parts.Total || parts.Total != parts.ActualCost-parts.StandardCost {
			t.Fatalf("the card's %+v does not add up", parts)
		}
	})
}

func TestEachVarianceIsWithinAPennyOfTheExactFigure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyLabour.Draw(t, "labour")
		l := OfLabour(in)
		exact := in.ActualTime.Hours()*float64(in.StandardRate) - in.StandardTime.Hours()*float64(in.StandardRate)
		if d := float64(l.Efficiency) - exact; d > 1.001 || d < -1.001 {
			t.Fatalf("efficiency %d, exactly %v", int64(l.Efficiency), exact)
		}
		exact = float64(in.ActualCost) - in.ActualTime.Hours()*float64(in.StandardRate)
		if d := float64(l.Rate) - exact; d > 0.501 || d < -0.501 {
			t.Fatalf("rate %d, exactly %v", int64(l.Rate), exact)
		}
	})
}
