package pricing

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"rampside/internal/money"
	"rampside/internal/workday"
)

var (
	standard = VAT{money.Standard, 2000}
	dk25     = VAT{money.Standard, 2500}
	dk12     = VAT{money.Reduced, 1200}
	exempt   = VAT{Code: money.Exempt}
)

func must(t *testing.T, s Sheet) Sum {
	t.Helper()
	if s.Rounding == "" {
		s.Rounding = money.PerDocument
	}
	sum, err := Work(s)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// Peppol BIS Billing's Allowance-example.xml, whole: 10 x 410 + 1 - 101 =
// 4000; 10 x 200 for 2 = 1000, exempt; 900; a charge of 20 % of 1000 and an
// allowance of 200 at 25 %; 1000 paid before. Its charge is of part of the
// lines, so it stands here as the amount it comes to.
func TestTheAllowanceExampleComesOutToThePenny(t *testing.T) {
	line := []Adjustment{{Text: "Cleaning", Up: true, Amount: 1_00}, {Text: "Discount", Amount: 101_00}}
	sum := must(t, Sheet{
		Lines: []Line{
			{Text: "item", Kind: Part, VAT: dk25, Price: Each{Qty: 10_000, Net: 410_00}, Adjust: line},
			{Text: "item", Kind: Fee, VAT: exempt, Price: Each{Qty: 10_000, Net: 100_00}},
			{Text: "item", Kind: Part, VAT: dk25, Price: Fixed{1000_00}, Adjust: line},
		},
		Card:     []Adjustment{{Text: "Cleaning", Up: true, Amount: 200_00, On: []Kind{Part}}, {Text: "Discount", Amount: 200_00, On: []Kind{Part}}},
		Deposits: []Deposit{{Amount: 1000_00}},
	})
	nets := []money.Minor{4000_00, 1000_00, 900_00}
	for i, l := range sum.Lines {
		if l.Net != nets[i] {
			t.Errorf("line %d comes to %v, not %v", i+1, l.Net, nets[i])
		}
	}
	want := Sum{LineNet: 5900_00, Allowances: 200_00, Charges: 200_00, Paid: 1000_00, Due: 6125_00, Totals: money.Totals{
		Net: 5900_00, VAT: 1225_00, Gross: 7125_00, ByRate: []money.RateTotal{
			{Code: money.Standard, Rate: 2500, Net: 4900_00, VAT: 1225_00}, {Code: money.Exempt, Net: 1000_00},
		}}}
	if sum.LineNet != want.LineNet || sum.Allowances != want.Allowances || sum.Charges != want.Charges ||
		sum.Paid != want.Paid || sum.Due != want.Due || !reflect.DeepEqual(sum.Totals, want.Totals) {
		t.Errorf("%+v", sum)
	}
}

// ubl-tc434-example5.xml of the repository ConnectingEurope/eInvoicing-EN16931:
// lines of 1000 (less 10 %, plus 10 %), 500 and 2500; an allowance and a charge
// of 10 % on 1500 at 25 %; half of it paid before.
func TestExample5ComesOutToThePenny(t *testing.T) {
	sum := must(t, Sheet{
		Lines: []Line{
			{Kind: Part, VAT: dk25, Price: Each{Qty: 1_000_000, Net: 1_00}, Adjust: []Adjustment{{Text: "Loyal customer", Percent: 1000}, {Text: "Packaging", Up: true, Percent: 1000}}},
			{Kind: Part, VAT: dk25, Price: Fixed{500_00}},
			{Kind: Labour, VAT: dk12, Price: Fixed{2500_00}},
		},
		Card:     []Adjustment{{Text: "Loyal customer", Percent: 1000, On: []Kind{Part}}, {Text: "Packaging", Up: true, Percent: 1000, On: []Kind{Part}}},
		Deposits: []Deposit{{Amount: 2337_50}},
	})
	if got := sum.Lines[0].Adjust[0]; got.Base != 1000_00 || got.Amount != 100_00 {
		t.Errorf("the first line's discount is %+v", got)
	}
	for _, c := range sum.Card {
		if c.Base != 1500_00 || c.Amount != 150_00 || c.VAT != dk25 {
			t.Errorf("%+v", c)
		}
	}
	if sum.LineNet != 4000_00 || sum.Allowances != 150_00 || sum.Charges != 150_00 || sum.Totals.Net != 4000_00 ||
		sum.Totals.VAT != 675_00 || sum.Totals.Gross != 4675_00 || sum.Due != 2337_50 {
		t.Errorf("%+v", sum)
	}
}

func TestLabourIsPricedByTheTimeExactly(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want Measure
		list money.Minor
	}{
		// £2,244 for 37.4 hours sold at £60.00: common practice, no published source.
		{37*time.Hour + 24*time.Minute, Measure{37_400, Hour, 60_00, 1000}, 2244_00},
		{20 * time.Minute, Measure{20_000, Minute, 60_00, 60_000}, 20_00},
		{90 * time.Minute, Measure{1500, Hour, 60_00, 1000}, 90_00},
		{time.Second, Measure{1000, Second, 60_00, 3_600_000}, 2}, // 1.67p
		{0, Measure{0, Hour, 60_00, 1000}, 0},
	} {
		sum := must(t, Sheet{Lines: []Line{{Kind: Labour, VAT: standard, Price: ByTime{c.d, 60_00}}}})
		if l := sum.Lines[0]; l.Measure != c.want || l.List != c.list {
			t.Errorf("%v: %+v", c.d, l)
		}
	}
}

// Prices of a garage's lines: common practice, no published source.
func TestALineIsPricedByEachOfItsWays(t *testing.T) {
	for name, c := range map[string]struct {
		price Price
		want  money.Minor
	}{
		"time":                     {ByTime{100 * time.Minute, 72_00}, 120_00},
		"fixed":                    {Fixed{49_95}, 49_95},
		"set price":                {Each{Qty: 4_250, Unit: Litre, Net: 8_99}, 38_21}, // 38.2075
		"cost and 25 % on it":      {CostPlus{Qty: 2000, Cost: 80_00, MarkUp: 2500}, 200_00},
		"the customer's own part":  {CustomersOwn{Qty: 4000}, 0},
		"what is given back":       {Each{Qty: -1000, Net: 35_00}, -35_00},
		"a fixed amount back":      {Fixed{-5_00}, -5_00},
		"agreed with VAT in it":    {AllIn{60_00}, 50_00},
		"all in, an awkward penny": {AllIn{14_85}, 12_37},
	} {
		l := must(t, Sheet{Lines: []Line{{VAT: standard, Price: c.price}}}).Lines[0]
		if l.Net != c.want || money.Share(l.Price, l.Qty, l.Per) != c.want || l.Price < 0 {
			t.Errorf("%s: %+v, want %v", name, l, c.want)
		}
	}
}

func TestAnExchangeSurchargeIsGivenBackAsItWasCharged(t *testing.T) {
	old := VAT{money.Standard, 1750}
	charged := must(t, Sheet{Lines: []Line{{Kind: Exchange, Text: "Exchange unit", VAT: old, Price: Each{Qty: 2000, Net: 60_00}}}})
	back, ok := GiveBack(charged.Lines[0], 2000, 0)
	if !ok || back.VAT != old {
		t.Fatalf("%+v %v", back, ok)
	}
	sum := must(t, Sheet{Lines: []Line{back}, Card: nil})
	if rest := Rest(charged.Totals, sum.Totals); rest.Gross != 0 || sum.Totals.Gross != -141_00 {
		t.Errorf("%+v leaves %+v", sum.Totals, rest)
	}
	for _, c := range [][2]int64{{3000, 0}, {2000, 1}, {0, 0}, {-1000, 0}, {1000, -1}} {
		if l, ok := GiveBack(charged.Lines[0], c[0], c[1]); ok {
			t.Errorf("%v more than was charged: %+v", c, l)
		}
	}
	if _, ok := GiveBack(LineSum{Kind: Part, Measure: Measure{Qty: 1000}}, 1000, 0); ok {
		t.Error("a part was given back for a surcharge")
	}
}

func TestSundriesAreAPercentageWithALimit(t *testing.T) {
	most := money.Minor(10_00)
	for _, c := range []struct{ labour, want money.Minor }{{100_00, 2_50}, {399_80, 10_00}, {400_00, 10_00}, {4000_00, 10_00}, {0, 0}} {
		sum := must(t, Sheet{
			Lines: []Line{
				{Kind: Labour, VAT: standard, Price: Fixed{c.labour}}, {Kind: Part, VAT: standard, Price: Fixed{500_00}},
				{Kind: Fee, VAT: VAT{Code: money.Outside}, Price: Fixed{54_85}},
			},
			Sundries: &Sundries{Text: "Sundries", Percent: 250, On: []Kind{Labour, Fee}, Cap: &most, VAT: standard},
		})
		if got := sum.LineNet - c.labour - 554_85; got != c.want {
			t.Errorf("%v on %v, want %v", got, c.labour, c.want)
		}
	}
}

func TestADiscountOnTheCardLeavesFeesAndSurchargesAlone(t *testing.T) {
	sum := must(t, Sheet{
		Lines: []Line{
			{Kind: Labour, VAT: standard, Price: Fixed{100_00}}, {Kind: Part, VAT: VAT{money.Reduced, 500}, Price: Fixed{50_00}},
			{Kind: Fee, VAT: VAT{Code: money.Outside}, Price: Fixed{54_85}}, {Kind: Exchange, VAT: standard, Price: Fixed{35_00}},
		},
		Card: []Adjustment{{Text: "Trade", Percent: 1000}, {Text: "Goodwill", Amount: 10_00}},
	})
	want := []money.Minor{10_00, 5_00, 6_67, 3_33} // 10 % of each rate, then £10 over 100 to 50
	for i, c := range sum.Card {
		if c.Amount != want[i] {
			t.Errorf("%d: %+v, want %v", i, c, want[i])
		}
	}
	if sum.Totals.Net != 239_85-25_00 || sum.Allowances != 25_00 {
		t.Errorf("%+v", sum)
	}
}

func TestAMenuPriceIsSharedOutOverItsLines(t *testing.T) {
	lines := []Line{
		{Key: "oil", Kind: Part, VAT: standard, Price: Fixed{40_00}}, {Key: "time", Kind: Labour, VAT: standard, Price: Fixed{80_00}},
		{Key: "test", Kind: Fee, VAT: VAT{Code: money.Outside}, Price: Fixed{54_85}},
	}
	sum := must(t, Sheet{Lines: lines, Menus: []Menu{{Text: "Service and test", Keys: []string{"oil", "time", "test"}, Net: 144_85}}})
	for i, want := range []money.Minor{30_00, 60_00, 54_85} {
		if sum.Lines[i].Net != want {
			t.Errorf("%+v, want %v", sum.Lines[i], want)
		}
	}
	if sum.Totals.VAT != 18_00 || sum.Totals.Gross != 162_85 {
		t.Errorf("%+v", sum.Totals)
	}
}

func TestASheetThatMakesNoSenseIsRefusedInWords(t *testing.T) {
	plain := func(p Price, a ...Adjustment) Sheet {
		return Sheet{Lines: []Line{{Key: "a", Text: "Pads", VAT: standard, Price: p, Adjust: a}}, Rounding: money.PerLine}
	}
	menu := func(m ...Menu) Sheet { s := plain(Fixed{10_00}); s.Menus = m; return s }
	card := func(a ...Adjustment) Sheet { s := plain(Fixed{10_00}); s.Card = a; return s }
	for name, c := range map[string]struct {
		sheet Sheet
		want  error
	}{
		"no price":                 {plain(nil), ErrNothing},
		"negative price":           {plain(Each{Qty: 1000, Net: -1}), errNegativePrice},
		"negative rate":            {plain(ByTime{time.Hour, -1}), errNegativePrice},
		"negative time":            {plain(ByTime{-time.Hour, 1}), ErrTime},
		"time in nanoseconds":      {plain(ByTime{1, 1}), ErrTime},
		"more off than the price":  {plain(Fixed{10_00}, Adjustment{Text: "x", Amount: 10_01}), ErrDiscount},
		"percentage and amount":    {plain(Fixed{10_00}, Adjustment{Text: "x", Amount: 1, Percent: 1}), ErrBoth},
		"no reason":                {plain(Fixed{10_00}, Adjustment{Amount: 1}), ErrNoWord},
		"a percentage beyond all":  {plain(Fixed{10_00}, Adjustment{Text: "x", Percent: money.MaxRate + 1}), ErrPercent},
		"off a price with VAT":     {plain(AllIn{10_00}, Adjustment{Text: "x", Amount: 1}), ErrAllIn},
		"an amount beyond all":     {plain(Fixed{money.MaxLine + 1}), money.ErrTooLarge},
		"a menu of no line":        {menu(Menu{Keys: []string{"b"}}), ErrUnknownKey},
		"a line in two menus":      {menu(Menu{Keys: []string{"a"}}, Menu{Keys: []string{"a"}}), ErrMenuLine},
		"a menu below its fees":    {menu(Menu{Keys: []string{"a"}, Net: -1}), ErrMenuPrice},
		"more off than the card":   {card(Adjustment{Text: "x", Percent: 6000}, Adjustment{Text: "y", Amount: 5_00}), ErrDiscount},
		"more off than one kind":   {card(Adjustment{Text: "x", Amount: 10_01}), ErrDiscount},
		"off nothing":              {card(Adjustment{Text: "x", Amount: 1, On: []Kind{Labour}}), ErrNothing},
		"one key for two lines":    {Sheet{Lines: []Line{{Key: "a", Price: Fixed{1}, VAT: standard}, {Key: "a", Price: Fixed{1}, VAT: standard}}}, ErrSameKey},
		"the key of sundries":      {Sheet{Lines: []Line{{Key: SundriesKey, Price: Fixed{1}}}}, ErrSameKey},
		"a deposit of nothing":     {Sheet{Deposits: []Deposit{{}}, Rounding: money.PerLine}, ErrDeposit},
		"a rounding nobody allows": {Sheet{Rounding: "up"}, money.ErrRounding},
		"absurd sundries":          {Sheet{Sundries: &Sundries{Percent: -1}, Rounding: money.PerLine}, ErrPercent},
	} {
		if _, err := Work(c.sheet); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Rates of the United Kingdom over time: 17.5 % until 3 January 2011, 20 %
// from the 4th (Finance (No. 2) Act 2010, section 3).
func TestTheRateOfADayIsTheOneInForce(t *testing.T) {
	vat := Tax{Name: "VAT", Rates: []DatedRate{
		{money.Standard, workday.Must(2011, 1, 4), 2000}, {money.Standard, workday.Must(2010, 1, 1), 1750}, {money.Reduced, workday.Must(1997, 9, 1), 500},
	}}
	for _, c := range []struct {
		code money.VATCode
		day  workday.Day
		rate money.Rate
		ok   bool
	}{
		{money.Standard, workday.Must(2011, 1, 3), 1750, true}, {money.Standard, workday.Must(2011, 1, 4), 2000, true},
		{money.Standard, workday.Must(2009, 12, 31), 0, false}, {money.Reduced, workday.Must(2026, 11, 25), 500, true},
		{money.Outside, workday.Must(1990, 1, 1), 0, true}, {money.Zero, workday.Must(1990, 1, 1), 0, true},
	} {
		if got, ok := vat.On(c.code, c.day); ok != c.ok || got.Rate != c.rate || got.Code != c.code {
			t.Errorf("%s on %v: %+v %v", c.code, c.day, got, ok)
		}
	}
}
