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
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// rig is the garage with its day's end. An hour is planned to cost 18.00; Posy
// costs that, Bram 20.00, the owner 25.00, and labour sells at 60.00.
type rig struct {
	*cardtest.Garage
	*testing.T
	ends   *dayend.Service
	clocks *clocking.Service
	roster *roster.Service
	zone   *time.Location
}

func open(t *testing.T) *rig {
	t.Helper()
	g := cardtest.Open(t)
	zone, err := workday.Zone("Europe/London")
	g.OK(err)
	return &rig{Garage: g, T: t, ends: dayend.New(g.DB), clocks: clocking.New(g.DB), roster: roster.New(g.DB), zone: zone}
}

// move puts the garage into another zone.
func (r *rig) move(zone string) {
	r.Helper()
	set, err := garage.Load(r.Context(), r.DB.Pool)
	r.OK(err)
	set.ZoneName = zone
	_, err = r.Settings.SaveSettings(r.Context(), r.Owner, set)
	r.OK(err)
	r.zone = set.Location()
}

// at sets the clock by the garage's own, on the rig's day.
func (r *rig) at(h, m int) {
	r.Clock = workday.At(r.Garage.Day, workday.Clock(h*60+m), r.zone)
}

func (r *rig) on(who actor.Actor, l jobcard.Line) {
	r.Helper()
	_, err := r.clocks.ClockOn(r.Context(), who, clocking.OnInput{LineID: l.ID, Read: l.Cautions})
	r.OK(err)
}

func (r *rig) off(who actor.Actor) {
	r.Helper()
	_, err := r.clocks.ClockOff(r.Context(), who, clocking.OffInput{})
	r.OK(err)
}

// work has somebody on a line for so many minutes from a time of the day.
func (r *rig) work(who actor.Actor, l jobcard.Line, h, m, minutes int) {
	r.Helper()
	r.at(h, m)
	r.on(who, l)
	r.Clock = r.Clock.Add(time.Duration(minutes) * time.Minute)
	r.off(who)
}

func (r *rig) tick(who actor.Actor, l jobcard.Line) {
	r.Helper()
	r.Fits(l.CardID) // or the gate stays closed
	_, err := r.clocks.Tick(r.Context(), who, clocking.LineInput{LineID: l.ID})
	r.OK(err)
}

func (r *rig) stage(id jobcard.CardID, s jobcard.Stage) {
	r.Helper()
	_, err := r.Cards.SetStage(r.Context(), r.Desk, jobcard.StageInput{CardID: id, Stage: s, Reason: "test"})
	r.OK(err)
}

// part adds a part to a line of a card, or to the card when line is below 0.
func (r *rig) part(s *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	r.Helper()
	if line >= 0 {
		terms.LineID = s.Lines[line].ID
	}
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	done, err := r.Cards.AddPart(r.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
	return done.PartID
}

// changePart edits a part as it stands.
func (r *rig) changePart(card jobcard.CardID, id jobcard.PartID, change func(*jobcard.PartTerms)) {
	r.Helper()
	p, ok := r.Sheet(card).Part(id)
	if !ok {
		r.Fatalf("no part %d on card %d", id, card)
	}
	t := jobcard.PartTerms{
		LineID: p.LineID, Name: p.Name, Number: p.Number, SupplierID: p.SupplierID, Qty: p.Qty, Cost: p.Cost, Price: p.Price,
		MarkUp: p.MarkUp, VATCode: p.VATCode, Source: p.Source, Supply: p.Supply, DueAt: p.DueAt,
	}
	change(&t)
	_, err := r.Cards.EditPart(r.Context(), r.Desk, jobcard.EditPartInput{PartID: id, Version: p.Version, PartTerms: t})
	r.OK(err)
}

func (r *rig) supply(card jobcard.CardID, id jobcard.PartID, s jobcard.Supply) {
	r.Helper()
	r.changePart(card, id, func(t *jobcard.PartTerms) { t.Supply = s })
}

func (r *rig) answer(card jobcard.CardID, a jobcard.Consent, lines ...jobcard.LineID) {
	r.Helper()
	_, err := r.Cards.Answer(r.Context(), r.Desk, jobcard.ConsentInput{CardID: card, Lines: lines, Answer: a, SaidBy: "Odette Marlowe", How: "by phone"})
	r.OK(err)
}

// end reckons a day up, today when d is zero, and holds it to its own sums.
func (r *rig) end(d workday.Day) dayend.Day {
	r.Helper()
	got, err := r.ends.Day(r.Context(), r.Owner, d)
	r.OK(err)
	addsUp(r, got)
	return got
}

func (r *rig) today() dayend.Day { r.Helper(); return r.end(workday.Day{}) }

// whole reckons a card up over the whole of its life.
func (r *rig) whole(id jobcard.CardID) dayend.Whole {
	r.Helper()
	got, err := r.ends.Card(r.Context(), r.Owner, id)
	r.OK(err)
	return got
}

// card finds a card of a day.
func (r *rig) card(d dayend.Day, id jobcard.CardID) dayend.CardResult {
	r.Helper()
	for _, c := range d.Cards {
		if c.ID == id {
			return c
		}
	}
	r.Fatalf("card %d is not in the day", id)
	return dayend.CardResult{}
}

// fatal is what addsUp needs of a test, ordinary or by rapid.
type fatal interface {
	Helper()
	Fatalf(format string, args ...any)
}

// addsUp holds a day to the sums of its parts, to the penny and the nanosecond.
func addsUp(t fatal, d dayend.Day) {
	t.Helper()
	var day dayend.Totals
	for _, c := range d.Cards {
		var card dayend.Totals
		for _, a := range c.Accounts {
			card = card.Plus(a.Totals)
			balances(t, a.Title, a.Totals)
		}
		if card != c.Totals {
			t.Fatalf("card %d: its lines come to\n%+v and it says\n%+v", c.ID, card, c.Totals)
		}
		balances(t, "card", c.Totals)
		day = day.Plus(card)
	}
	if day != d.Totals {
		t.Fatalf("the cards come to\n%+v and the day says\n%+v", day, d.Totals)
	}
	balances(t, "day", d.Totals)

	sold, worked := d.Hours.Nobody, time.Duration(0)
	for _, list := range [][]dayend.PersonHours{d.Hours.Technicians, d.Hours.Others} {
		for _, p := range list {
			var shares, clocked time.Duration
			for _, s := range p.Shares {
				shares += s.Of
			}
			for _, w := range p.Pieces {
				clocked += w.Time
			}
			if shares != p.Sold || clocked != p.Worked {
				t.Fatalf("%s sold %v of shares %v, worked %v of pieces %v", p.Name, p.Sold, shares, p.Worked, clocked)
			}
			sold += p.Sold
			worked += p.Worked
		}
	}
	if sold != d.Labour.StandardTime || worked != d.OnDay.Time {
		t.Fatalf("people sold %v and worked %v, the day %v and %v", sold, worked, d.Labour.StandardTime, d.OnDay.Time)
	}
	var lost, risk dayend.Forgone
	for _, u := range d.Unrecovered {
		if u.Open {
			risk = risk.Plus(u.Forgone)
		} else {
			lost = lost.Plus(u.Forgone)
		}
	}
	if lost != d.Lost || risk != d.AtRisk {
		t.Fatalf("lost %+v and at risk %+v, the lines say %+v and %+v", d.Lost, d.AtRisk, lost, risk)
	}
}

// balances holds totals to the equations between them.
func balances(t fatal, what string, x dayend.Totals) {
	t.Helper()
	for _, eq := range []struct {
		says        string
		left, right money.Minor
	}{
		{"labour spent on the day, less what goes on, plus earlier days", x.OnDay.Cost - x.Going.Cost + x.Earlier.Cost, x.Labour.ActualCost},
		{"rate and efficiency", x.Labour.Rate + x.Labour.Efficiency, x.Labour.Total},
		{"labour total", x.Labour.ActualCost - x.Labour.StandardCost, x.Labour.Total},
		{"price and usage", x.Parts.Price + x.Parts.Usage, x.Parts.Total},
		{"parts total", x.Parts.ActualCost - x.Parts.StandardCost, x.Parts.Total},
		{"gross profit", x.Gross.Price - x.Labour.ActualCost - x.Parts.ActualCost, x.Gross.Profit},
		{"gross labour", x.Gross.LabourCost, x.Labour.ActualCost},
		{"gross parts", x.Gross.PartsCost, x.Parts.ActualCost},
	} {
		if eq.left != eq.right {
			t.Fatalf("%s: %s: %v is not %v in %+v", what, eq.says, eq.left, eq.right, x)
		}
	}
	if got := x.OnDay.Time - x.Going.Time + x.Earlier.Time; got != x.Labour.ActualTime {
		t.Fatalf("%s: %v were worked on what ended, the labour says %v", what, got, x.Labour.ActualTime)
	}
}
