package dayend_test

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/variance"
	"rampside/internal/workday"
)

// book is one finished line of a textbook: so much agreed at the standard, so
// much put in at the actual rate and price. Quantities are in whole pieces.
type book struct {
	hours, standardHours int64
	rate, standardRate   money.Minor
	used, standardQty    int64
	cost, standardCost   money.Minor
}

// day reckons the book's line up as the only one of a day.
func (b book) day(t *testing.T) dayend.Day {
	t.Helper()
	d := workday.Must(2026, time.October, 5)
	noon := d.UTC().Add(12 * time.Hour)
	agreed, net := time.Duration(b.standardHours)*time.Hour, money.MaxLine
	l := jobcard.Line{
		ID: 1, CardID: 1, Title: "The year's production", WorkState: jobcard.Done, DoneAt: noon, Consent: jobcard.Agreed,
		AgreedTime: &agreed, AgreedNet: &net, StdCostRate: b.standardRate,
	}
	s := dayend.Snapshot{
		Garage: garage.Settings{ZoneName: "Europe/London"}, Now: noon.Add(time.Hour), Staff: map[actor.StaffID]dayend.Person{1: {Name: "All", Role: actor.Technician}},
	}
	c := dayend.Card{Card: jobcard.Card{ID: 1, Stage: jobcard.InWork, OnSiteAt: noon.AddDate(-3, 0, 0)}, Lines: []jobcard.Line{l}}
	if b.used != 0 {
		qty := b.standardQty * 1000
		c.Parts = []jobcard.Part{{
			ID: 1, CardID: 1, LineID: 1, Name: "Direct materials", Qty: b.used * 1000, Cost: b.cost, QuotedQty: &qty, QuotedCost: &b.standardCost,
			Source: jobcard.FromGarage, Supply: jobcard.Fitted,
		}}
	}
	s.Cards = []dayend.Card{c}
	if b.hours != 0 {
		s.Work = []clocking.Work{{
			ID: 1, StaffID: 1, Name: "All", LineID: 1, CardID: 1, CostRate: b.rate,
			Span: workday.Span{From: noon.Add(-time.Duration(b.hours) * time.Hour), To: noon},
		}}
	}
	got := dayend.OfDay(s, d)
	addsUp(t, got)
	return got
}

// Heisinger and Hoyle, Accounting for Managers (Saylor Academy, open
// textbook), 10.4, Figure 10.6: Jerry's Ice Cream used 18,900 hours at $15
// where 21,000 at $13 were planned. The time was worked over two years, and
// the line ends today: it is compared today, with all of it.
func TestAYearsLabourEndsAsTheTextbookHasIt(t *testing.T) {
	got := book{hours: 18_900, standardHours: 21_000, rate: 15_00, standardRate: 13_00}.day(t)
	want := variance.Labour{
		ActualTime: 18_900 * time.Hour, StandardTime: 21_000 * time.Hour,
		ActualCost: 283_500_00, FlexedCost: 245_700_00, StandardCost: 273_000_00,
		Rate: 37_800_00, Efficiency: -27_300_00, Total: 10_500_00,
	}
	if got.Labour != want {
		t.Errorf("%+v, want %+v", got.Labour, want)
	}
	if h := got.Hours; h.Sold != 21_000*time.Hour || h.Worked != 13*time.Hour {
		t.Errorf("sold %v, and worked on the day itself %v", h.Sold, h.Worked)
	}
}

// The same text, 10.3, Figure 10.4. It takes the price variance on the 440,000
// pounds that were bought, and the usage variance on the 399,000 used; a
// garage buys for the job, so each is asked for with its own quantity.
func TestAYearsMaterialsEndAsTheTextbookHasThem(t *testing.T) {
	bought := book{used: 440_000, standardQty: 420_000, cost: 1_20, standardCost: 1_00}.day(t)
	if bought.Parts.Price != 88_000_00 {
		t.Errorf("price variance %v", bought.Parts.Price)
	}
	used := book{used: 399_000, standardQty: 420_000, cost: 1_20, standardCost: 1_00}.day(t)
	if used.Parts.Usage != -21_000_00 {
		t.Errorf("usage variance %v", used.Parts.Usage)
	}
}

// An exercise in which all that is bought is used, as worked at
// accountingqa.blogspot.com/2018/11/ex-23-5-direct-materials-variances.html:
// 450 units at $6.50 where 430 at $6.90 were planned come to $180 favourable,
// $138 unfavourable, and $42 favourable together.
func TestMaterialsThatAreAllUsedEndAsTheExerciseHasThem(t *testing.T) {
	got := book{used: 450, standardQty: 430, cost: 6_50, standardCost: 6_90}.day(t).Parts
	if got.ActualCost != 2925_00 || got.Price != -180_00 || got.Usage != 138_00 || got.Total != -42_00 {
		t.Errorf("%+v", got)
	}
}

// The same figures a thousandth as large, made through the services: Jerry's
// 21 hours at 13.00 take two people 18.9 at 15.00, and the 450 units are 45 of
// a part.
func TestTheTextbooksDayWorkedInTheGarageComesToTheSame(t *testing.T) {
	r := open(t)
	set, err := garage.Load(t.Context(), r.DB.Pool)
	r.OK(err)
	set.StandardCostRate = 13_00
	_, err = r.Settings.SaveSettings(t.Context(), r.Owner, set)
	r.OK(err)
	_, err = r.DB.Pool.Exec(t.Context(), `update staff set cost_rate_minor = 1500 where role = 'technician'`)
	r.OK(err)

	s := r.Book(cardtest.Free("Ice cream", 21*time.Hour))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Milk", Qty: 43_000, Cost: 6_90, Supply: jobcard.Arrived})
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.at(9, 0)
	r.on(r.Posy, s.Lines[0])
	r.on(r.Bram, s.Lines[0])
	r.Clock = r.Clock.Add(9*time.Hour + 27*time.Minute)
	// Two more are used than were counted on, at a lower cost; the price of the
	// quantity goes up, so the customer is asked again and says yes.
	price := money.Minor(8_97)
	r.changePart(s.ID, id, func(p *jobcard.PartTerms) { p.Qty, p.Cost, p.Price, p.MarkUp = 45_000, 6_50, &price, nil })
	r.Agree(s.ID)
	r.tick(r.Posy, s.Lines[0])

	d := r.today()
	if l := d.Labour; l.Rate != 37_80 || l.Efficiency != -27_30 || l.Total != 10_50 || l.ActualCost != 283_50 || l.StandardCost != 273_00 {
		t.Errorf("labour %+v", l)
	}
	if p := d.Parts; p.Price != -18_00 || p.Usage != 13_80 || p.Total != -4_20 {
		t.Errorf("parts %+v", p)
	}
	// Priced at 60.00 an hour and 8.97 each.
	if g := d.Gross; g.Price != 21*60_00+45*8_97 || g.Profit != g.Price-283_50-292_50 {
		t.Errorf("gross profit %+v", g)
	}
	if h := d.Hours; h.Ratios.Efficiency.String() != "111.11% (21.0 h / 18.9 h)" {
		t.Errorf("efficiency %s", h.Ratios.Efficiency)
	}
}
