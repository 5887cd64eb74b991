package dayend_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

var (
	zones  = []string{"Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"}
	anchor = map[string]workday.Day{ // a day on which the clocks change
		"Europe/London": workday.Must(2026, time.October, 25), "America/New_York": workday.Must(2026, time.March, 8),
		"Australia/Lord_Howe": workday.Must(2026, time.April, 5), "Asia/Kathmandu": workday.Must(2026, time.May, 1),
	}
)

// days is how many days around the anchor a random snapshot is about.
const days = 5

func at(t *rapid.T, first workday.Day, label string) time.Time {
	s := rapid.Int64Range(0, int64(days)*24*3600).Draw(t, label)
	return first.UTC().Add(time.Duration(s) * time.Second)
}

func maybe[T any](t *rapid.T, label string, g *rapid.Generator[T]) *T {
	if !rapid.Bool().Draw(t, label+" is there") {
		return nil
	}
	v := g.Draw(t, label)
	return &v
}

var (
	anyMoney = rapid.Map(rapid.Int64Range(0, 200_000), func(n int64) money.Minor { return money.Minor(n) })
	anyQty   = rapid.Int64Range(1, 9_999)
	anyTime  = rapid.Map(rapid.Int64Range(1, 600), func(n int64) time.Duration { return time.Duration(n) * time.Minute })
)

func anyLine(t *rapid.T, card jobcard.CardID, id jobcard.LineID, first workday.Day) jobcard.Line {
	l := jobcard.Line{
		ID: id, CardID: card, Title: "a line", Rate: anyMoney.Draw(t, "rate"), FixedPrice: maybe(t, "fixed price", anyMoney),
		StdCostRate: anyMoney.Draw(t, "standard"), AgreedTime: maybe(t, "agreed time", anyTime),
		WorkState: rapid.SampledFrom([]jobcard.WorkState{jobcard.Open, jobcard.InHand, jobcard.Done, jobcard.Deferred, jobcard.Waiting}).Draw(t, "state"),
		Consent:   rapid.SampledFrom([]jobcard.Consent{jobcard.Asked, jobcard.Agreed, jobcard.Declined}).Draw(t, "consent"),
	}
	l.Estimate.Likely = anyTime.Draw(t, "likely")
	if l.AgreedTime != nil {
		net := anyMoney.Draw(t, "agreed net")
		l.AgreedNet = &net
	}
	if l.WorkState == jobcard.Done {
		l.DoneAt, l.DoneBy = at(t, first, "done"), actor.StaffID(rapid.IntRange(0, 3).Draw(t, "done by"))
	}
	if rapid.IntRange(0, 5).Draw(t, "struck") == 0 {
		l.StruckAt = at(t, first, "struck")
	}
	return l
}

func anyPart(t *rapid.T, card jobcard.CardID, line jobcard.LineID) jobcard.Part {
	p := jobcard.Part{
		CardID: card, LineID: line, Name: "a part", Qty: anyQty.Draw(t, "qty"), Cost: anyMoney.Draw(t, "cost"), Price: maybe(t, "price", anyMoney),
		QuotedQty: maybe(t, "quoted", anyQty), QuotedCost: maybe(t, "quoted cost", anyMoney),
		Source: rapid.SampledFrom([]jobcard.Source{jobcard.FromGarage, jobcard.FromCustomer}).Draw(t, "source"),
		Supply: rapid.SampledFrom(jobcard.Supplies).Draw(t, "supply"),
	}
	if rapid.IntRange(0, 5).Draw(t, "part struck") == 0 {
		p.StruckAt = time.Unix(0, 0)
	}
	return p
}

// anySnapshot is a few cards over a few days, with work in any order and over
// any midnight.
func anySnapshot(t *rapid.T) (dayend.Snapshot, workday.Day) {
	zone := rapid.SampledFrom(zones).Draw(t, "zone")
	first := anchor[zone].AddDays(-2)
	s := dayend.Snapshot{
		Garage: garage.Settings{ZoneName: zone}, Now: first.UTC().AddDate(0, 0, days+3),
		Staff: map[actor.StaffID]dayend.Person{1: {"Ada", actor.Technician}, 2: {"Bea", actor.Technician}, 3: {"Cyd", actor.Owner}},
	}
	var line jobcard.LineID
	for id := range jobcard.CardID(rapid.IntRange(1, 3).Draw(t, "cards")) {
		c := dayend.Card{Card: jobcard.Card{ID: id + 1, Stage: jobcard.InWork, OnSiteAt: first.UTC()}}
		if rapid.Bool().Draw(t, "ready") {
			c.Stage, c.ReadyAt = jobcard.Ready, at(t, first, "ready at")
		}
		for range rapid.IntRange(0, 3).Draw(t, "lines") {
			line++
			c.Lines = append(c.Lines, anyLine(t, c.ID, line, first))
			for range rapid.IntRange(0, 2).Draw(t, "parts") {
				c.Parts = append(c.Parts, anyPart(t, c.ID, line))
			}
			for range rapid.IntRange(0, 3).Draw(t, "clockings") {
				from := at(t, first, "from")
				s.Work = append(s.Work, clocking.Work{
					StaffID: actor.StaffID(rapid.IntRange(1, 3).Draw(t, "who")), LineID: line, CardID: c.ID, CostRate: anyMoney.Draw(t, "cost rate"),
					Span: workday.Span{From: from, To: from.Add(time.Duration(rapid.Int64Range(1, 30*3600).Draw(t, "seconds")) * time.Second)},
				})
			}
		}
		for range rapid.IntRange(0, 2).Draw(t, "loose parts") {
			c.Parts = append(c.Parts, anyPart(t, c.ID, 0))
		}
		s.Cards = append(s.Cards, c)
	}
	for id := range actor.StaffID(3) {
		s.Attended = append(s.Attended, roster.DayAttendance{StaffID: id + 1, Role: s.Staff[id+1].Role, Attended: anyTime.Draw(t, "attended")})
	}
	return s, first
}

func TestAnyDayIsTheSumOfItsPartsToThePenny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, first := anySnapshot(t)
		for i := range days + 3 {
			addsUp(t, dayend.OfDay(s, first.AddDays(i-1)))
		}
	})
}

// Every hour and every penny is compared once: the days together come to what
// the whole lives of the cards come to.
func TestTheDaysTogetherAreTheWholeLivesOfTheCards(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, first := anySnapshot(t)
		var byDays, whole dayend.Totals
		for i := range days + 6 {
			byDays = byDays.Plus(dayend.OfDay(s, first.AddDays(i-2)).Totals)
		}
		for _, c := range s.Cards {
			r, ok := dayend.OfCard(s, c.ID)
			if !ok {
				t.Fatalf("card %d is not there", c.ID)
			}
			balances(t, "whole life", r.Totals)
			whole = whole.Plus(r.Totals)
		}
		if byDays.Labour != whole.Labour || byDays.Parts != whole.Parts || byDays.Gross != whole.Gross || byDays.NotSold != whole.NotSold || byDays.OnDay != whole.OnDay {
			t.Fatalf("the days come to\n%+v, the cards to\n%+v", byDays, whole)
		}
		var spent dayend.Spent
		for _, w := range s.Work {
			spent.Time += w.Span.Elapsed()
		}
		if spent.Time != whole.OnDay.Time {
			t.Fatalf("%v were clocked, %v are in the cards", spent.Time, whole.OnDay.Time)
		}
	})
}

func TestWhereEverybodyCostsWhatWasPlannedThereIsNoRateVariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, first := anySnapshot(t)
		rate := anyMoney.Draw(t, "planned")
		for i := range s.Work {
			s.Work[i].CostRate = rate
		}
		for i := range s.Cards {
			for k := range s.Cards[i].Lines {
				s.Cards[i].Lines[k].StdCostRate = rate
			}
		}
		for i := range days + 3 {
			if d := dayend.OfDay(s, first.AddDays(i-1)); d.Labour.Rate != 0 {
				t.Fatalf("a rate variance of %v", d.Labour.Rate)
			}
		}
	})
}

func TestNothingIsPricedBeyondWhatWasAgreed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _ := anySnapshot(t)
		for _, c := range s.Cards {
			r, _ := dayend.OfCard(s, c.ID)
			for _, a := range r.Accounts {
				if a.Price() > a.AgreedNet || a.Price() > a.Net || a.Price() < 0 {
					t.Fatalf("%+v is priced %v", a, a.Price())
				}
				if a.Sold && (a.Ending != dayend.EndDone || a.Line != 0 && (a.Written.Consent == jobcard.Declined || a.Written.AgreedNet == nil)) {
					t.Fatalf("%+v is sold, though it is not done or not agreed", a)
				}
				if a.In && a.Gross.Price != a.Price() {
					t.Fatalf("the price %v is counted as %v", a.Price(), a.Gross.Price)
				}
			}
		}
	})
}
