package dayend_test

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

func TestAPlainDayComesToTheRightPennies(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service))
	pads := r.part(s, 0, jobcard.PartTerms{Name: "Brake pads", Cost: 31_40, Supply: jobcard.Arrived})
	r.part(s, 1, jobcard.PartTerms{Name: "Oil", Qty: 4500, Cost: 6_20, Supply: jobcard.Arrived})
	r.part(s, 1, jobcard.PartTerms{Name: "Oil filter", Cost: 7_85, Supply: jobcard.Arrived})
	r.part(s, 1, jobcard.PartTerms{Name: "Wiper blades", Cost: 9_00, Source: jobcard.FromCustomer, Supply: jobcard.Arrived})
	grease := r.part(s, -1, jobcard.PartTerms{Name: "Grease", Cost: 2_00})
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.work(r.Bram, s.Lines[0], 9, 0, 90) // 1.5 h at 20.00 against 1.2 h at 18.00
	r.tick(r.Bram, s.Lines[0])
	r.work(r.Posy, s.Lines[1], 9, 30, 75) // 1.25 h at 18.00 against 1.6 h at 18.00
	r.tick(r.Posy, s.Lines[1])
	r.supply(s.ID, grease, jobcard.Fitted)
	// The pads had gone up by the time the invoice came; the price stays.
	price := r.Sheet(s.ID).Parts[0].Unit()
	r.changePart(s.ID, pads, func(p *jobcard.PartTerms) { p.Cost, p.Price, p.MarkUp = 33_00, &price, nil })
	r.at(16, 0)
	_, err := r.Cards.SecondCheck(t.Context(), r.Posy, jobcard.CheckInput{LineID: s.Lines[0].ID, TorqueNm: 110})
	r.OK(err)
	r.stage(s.ID, jobcard.Ready)

	d := r.today()
	if d.OnDay.Time != 165*time.Minute || d.OnDay.Cost != 30_00+22_50 || d.Going != (dayend.Spent{}) || d.Earlier != (dayend.Spent{}) {
		t.Errorf("worked %+v, going %+v, earlier %+v", d.OnDay, d.Going, d.Earlier)
	}
	l := d.Labour
	// Rate: 1.5 h at 2.00 more; efficiency: 0.3 h over and 0.35 h under at 18.00.
	if l.StandardTime != 168*time.Minute || l.Rate != 3_00 || l.Efficiency != 5_40-6_30 || l.Total != 2_10 || l.StandardCost != 50_40 {
		t.Errorf("labour %+v", l)
	}
	// Pads 33.00 for 31.40, oil 27.90, a filter 7.85, grease 2.00, and nothing
	// for what the customer brought.
	p := d.Parts
	if p.ActualCost != 33_00+27_90+7_85+2_00 || p.Price != 1_60 || p.Usage != 0 || p.Total != 1_60 {
		t.Errorf("parts %+v", p)
	}
	// 2.8 h at 60.00; the parts with 30 % on them: 40.82, 4.5 at 8.06, 10.21 and
	// 2.60.
	g := d.Gross
	if g.Price != 168_00+40_82+36_27+10_21+2_60 || g.Profit != g.Price-52_50-70_75 || !g.MarginOK {
		t.Errorf("gross profit %+v", g)
	}
	if q := r.Sheet(s.ID).Quote.Agreed.Net; g.Price != q {
		t.Errorf("the day's price is %v, the card's %v", g.Price, q)
	}
	if len(d.Cards) != 1 || len(d.Cards[0].Done) != 2 || d.Cards[0].Standing != dayend.Ready || len(d.Unrecovered) != 0 || len(d.Checks) != 0 {
		t.Errorf("the card: %+v\nunrecovered %+v, checks %+v", d.Cards[0], d.Unrecovered, d.Checks)
	}
	if w := r.whole(s.ID); w.Totals != d.Totals {
		t.Errorf("the whole life of a card of one day is %+v, the day %+v", w.Totals, d.Totals)
	}
	// A day later nothing of it is left but a car that waits to be collected.
	r.Garage.Day = r.Garage.Day.AddDays(1)
	r.at(9, 0)
	next := r.today()
	if next.Totals != (dayend.Totals{}) || r.card(next, s.ID).Standing != dayend.Ready || len(r.card(next, s.ID).Done) != 0 {
		t.Errorf("the next day has %+v", next)
	}
	r.stage(s.ID, jobcard.Collected)
	if got := r.card(r.today(), s.ID); got.Standing != dayend.Collected || !got.Since.Equal(r.Clock) {
		t.Errorf("collected, it is %q since %v", got.Standing, got.Since)
	}
	if again := r.end(workday.Must(2026, time.October, 5)); again.Totals != d.Totals || !again.Over {
		t.Errorf("the first day changed to %+v", again.Totals)
	}
}

func TestALineIsComparedOnTheDayItEndsWithAllThatWentIn(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Clutch", 5*time.Hour))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.work(r.Posy, s.Lines[0], 13, 0, 180)
	monday := r.today()
	if monday.OnDay.Cost != 54_00 || monday.Going.Cost != 54_00 || monday.Labour.Total != 0 || monday.Gross.Price != 0 {
		t.Errorf("on Monday, with the line still open: %+v", monday.Totals)
	}
	if c := r.card(monday, s.ID); c.Standing != dayend.StillHere || len(c.Left) != 1 || len(c.Accounts) != 1 || c.Accounts[0].In {
		t.Errorf("on Monday the card is %+v", c)
	}
	first := r.Garage.Day
	r.Garage.Day = first.AddDays(1)
	r.work(r.Bram, s.Lines[0], 9, 0, 150)
	r.tick(r.Bram, s.Lines[0])
	tuesday := r.today()
	if tuesday.OnDay.Cost != 50_00 || tuesday.Earlier.Cost != 54_00 || tuesday.Labour.ActualCost != 104_00 || tuesday.Labour.ActualTime != 330*time.Minute {
		t.Errorf("on Tuesday: %+v", tuesday.Totals)
	}
	// 2.5 h at 2.00 more, and half an hour over at 18.00.
	if l := tuesday.Labour; l.Rate != 5_00 || l.Efficiency != 9_00 || tuesday.Gross.Price != 300_00 || tuesday.Gross.Profit != 196_00 {
		t.Errorf("on Tuesday: %+v", tuesday.Totals)
	}
	// Five hours sold, shared as 3 h to 2.5 h.
	for _, p := range tuesday.Hours.Technicians {
		want := map[actor.StaffID]time.Duration{
			r.Posy.StaffID: 5 * time.Hour * 6 / 11 / time.Second * time.Second, r.Bram.StaffID: 5*time.Hour - 5*time.Hour*6/11/time.Second*time.Second,
		}[p.StaffID]
		if p.Sold != want {
			t.Errorf("%s sold %v, want %v", p.Name, p.Sold, want)
		}
	}
	if w := r.whole(s.ID); w.Labour != tuesday.Labour || w.OnDay.Cost != 104_00 || w.Earlier.Cost != 0 {
		t.Errorf("the whole life is %+v", w.Totals)
	}
	// Monday, looked at again, has what was worked on it and no comparison.
	if again := r.end(first); again.Totals != monday.Totals || len(r.card(again, s.ID).Left) != 1 {
		t.Errorf("Monday became %+v", again.Totals)
	}
}

func TestTheDayIsForThoseWhoMaySeeMargins(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service))
	for _, c := range []struct {
		who  actor.Actor
		kind apperr.Kind
	}{{r.Posy, apperr.Forbidden}, {actor.Actor{}, apperr.Unsigned}} {
		if _, err := r.ends.Day(t.Context(), c.who, workday.Day{}); !apperr.Is(err, c.kind) {
			t.Errorf("the day for %q: %v", c.who.Role, err)
		}
		if _, err := r.ends.Card(t.Context(), c.who, s.ID); !apperr.Is(err, c.kind) {
			t.Errorf("the card for %q: %v", c.who.Role, err)
		}
	}
	for _, who := range []actor.Actor{r.Owner, r.Desk} {
		if _, err := r.ends.Day(t.Context(), who, workday.Day{}); err != nil {
			t.Errorf("the day for %q: %v", who.Role, err)
		}
	}
	if _, err := r.ends.Card(t.Context(), r.Owner, 999_999); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a card that is none: %v", err)
	}
}

func TestADayOnWhichNothingHappenedHasNothing(t *testing.T) {
	r := open(t)
	for _, d := range []workday.Day{{}, workday.Must(1999, time.December, 31), workday.Must(2100, time.February, 28)} {
		if got := r.end(d); got.Totals != (dayend.Totals{}) || len(got.Cards) != 0 || len(got.Hours.Technicians) != 0 {
			t.Errorf("%s has %+v", d, got)
		}
	}
}

func TestAPartThatIsOutIsInNeitherThePriceNorTheCost(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", time.Hour), cardtest.Free("Horn", time.Hour))
	r.part(s, 0, jobcard.PartTerms{Name: "Silencer", Cost: 40_00, Supply: jobcard.Arrived})
	clamp := r.part(s, 0, jobcard.PartTerms{Name: "Clamp", Cost: 3_00, Supply: jobcard.Fitted})
	back := r.part(s, 0, jobcard.PartTerms{Name: "Gasket", Cost: 5_00, Supply: jobcard.Arrived})
	r.part(s, 1, jobcard.PartTerms{Name: "Horn", Cost: 20_00, Supply: jobcard.Fitted})
	r.Agree(s.ID)
	p, _ := r.Sheet(s.ID).Part(clamp)
	_, err := r.Cards.StrikePart(t.Context(), r.Desk, jobcard.StrikeInput{PartID: clamp, Version: p.Version, Reason: "the old one will do"})
	r.OK(err)
	r.supply(s.ID, back, jobcard.GoingBack)
	l := r.Sheet(s.ID).Lines
	r.work(r.Posy, l[0], 9, 0, 60)
	r.tick(r.Posy, l[0])
	_, err = r.Cards.StrikeLine(t.Context(), r.Desk, jobcard.StrikeInput{LineID: l[1].ID, Version: r.Sheet(s.ID).Lines[1].Version, Reason: "it works after all"})
	r.OK(err)

	d := r.today()
	// The silencer as quoted; the horn is fitted to a line that is not sold, so
	// that none of its cost was quoted.
	if p := d.Parts; p.ActualCost != 60_00 || p.StandardCost != 40_00 || p.Usage != 20_00 || p.Price != 0 {
		t.Errorf("parts %+v", p)
	}
	if d.Gross.Price != 60_00+52_00 || d.NotSold != 20_00 {
		t.Errorf("price %v, not sold %v", d.Gross.Price, d.NotSold)
	}
}
