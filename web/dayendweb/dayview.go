package dayendweb

import (
	"strings"

	"rampside/internal/dayend"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// dayView is a day's end as the page shows it: every word and figure made.
type dayView struct {
	Title, Day, Printed string
	Prev, Next, Today   string // addresses; empty where there is none
	Diary               string
	SoFar               string // says that the day is not over
	Form                *ui.Form
	Checks              []checkView
	Cost                []costRow
	Work                []workRow
	Variances           []varianceRow
	Hours               []hoursRow
	HoursNote           []string
	Lost                []lostRow
	Cars                []carView
	Asked               []askedView
}

type checkView struct{ Words, Path, Label string }

// workRow is what was worked on the day, and where it stands.
type workRow struct {
	Head, Path                        string
	Time, Cost, Ended, Going, Earlier fig
	Sum                               bool
}

func (r workRow) figures() []fig { return []fig{r.Time, r.Cost, r.Ended, r.Going, r.Earlier} }

type varianceRow struct {
	Name, Rule string
	Actual     string
	Standard   string
	Amount     fig
	Sum        bool
}

type lostRow struct {
	Head, Path, Title, Why string
	Hours, Cost, Price     string
	Sum                    bool
}

type askedView struct{ Card, Path, Title, Words, Price string }

func dayPath(d workday.Day) string { return Path + "?day=" + d.String() }

func newDayView(d dayend.Day, f *ui.Form) *dayView {
	p := newPen(d.Garage, d.Day)
	today := d.Garage.Today(d.Now)
	v := &dayView{
		Title: "Day's end, " + d.Day.Long(), Day: d.Day.String(), Prev: dayPath(d.Day.AddDays(-1)),
		Diary: "/diary?day=" + d.Day.String(), Form: f,
		Printed: workday.Of(d.Now, p.loc).Long() + ", " + workday.FormatClock(workday.ClockOf(d.Now, p.loc)),
	}
	if d.Day.Before(today) {
		v.Next = dayPath(d.Day.AddDays(1))
	}
	switch {
	case d.Day.After(today):
		v.Today, v.SoFar = Path, "This day has not come yet."
	case d.Day != today:
		v.Today = Path
	default:
		v.SoFar = "The day so far, at " + workday.FormatClock(workday.ClockOf(d.Now, p.loc)) + "."
	}
	for _, c := range d.Checks {
		v.Checks = append(v.Checks, newCheck(c))
	}
	for _, c := range d.Cards {
		if rows := p.ended(c.Accounts); len(rows) > 0 {
			row := p.total(strings.TrimSpace(cardWords(c.ID)+" "+c.Mark), c.Totals, rows, " of card "+ui.Itoa(c.ID))
			row.Sum, row.Path, row.Sub = false, costPath(c.ID), c.Car
			v.Cost = append(v.Cost, row)
		}
	}
	if len(v.Cost) > 0 {
		v.Cost = append(v.Cost, p.total("The day", d.Totals, v.Cost, " of the day"))
	}
	v.Work = p.work(d)
	v.Variances = p.variances(d)
	p.hours(d, v)
	v.Lost = p.lost(d)
	for _, c := range d.Cards {
		v.Cars = append(v.Cars, p.car(c))
	}
	for _, a := range d.Asked {
		v.Asked = append(v.Asked, p.asked(a))
	}
	return v
}

func newCheck(c dayend.Check) checkView {
	switch {
	case c.Clocking != 0:
		return checkView{c.Words, "/floor/clockings/" + ui.Itoa(c.Clocking), "Correct the clocking"}
	case c.Attendance != 0:
		return checkView{c.Words, "/attendance/" + ui.Itoa(c.Attendance), "Correct the attendance"}
	}
	return checkView{c.Words, linePath(c.Card, c.Line), "Open card " + ui.Itoa(c.Card)}
}

// work lists what was worked on the day, card by card.
func (p pen) work(d dayend.Day) []workRow {
	var out []workRow
	for _, c := range d.Cards {
		if c.OnDay.Time == 0 && c.Earlier.Time == 0 {
			continue
		}
		of := " of card " + ui.Itoa(c.ID)
		var onDay, costs, ended, going, earlier []ui.Step
		for _, a := range c.Accounts {
			for _, w := range a.Pieces {
				on := w.Day == d.Day
				words := w.Name + " on “" + a.Title + "”"
				cost := step(words+", "+at(w.Time, p.money(w.Rate)), p.money(w.Cost))
				switch {
				case on && a.In:
					ended = append(ended, cost)
				case on:
					going = append(going, cost)
				case a.In:
					earlier = append(earlier, step(w.Day.Short()+": "+cost.Label, cost.Value))
				}
				if on {
					onDay = append(onDay, step(words+", "+p.span(w.Span)+goingOn(w), hours.Format(w.Time)))
					costs = append(costs, cost)
				}
			}
		}
		out = append(out, workRow{
			Head: strings.TrimSpace(cardWords(c.ID) + " " + c.Mark), Path: costPath(c.ID),
			Time:    added(hours.Format(c.OnDay.Time), "hours worked"+of, onDay),
			Cost:    added(p.money(c.OnDay.Cost), "cost of the work"+of, costs),
			Ended:   added(p.money(c.OnDay.Cost-c.Totals.Going.Cost), "work on lines that ended"+of, ended),
			Going:   added(p.money(c.Totals.Going.Cost), "work on lines still going on"+of, going),
			Earlier: added(p.money(c.Earlier.Cost), "work of other days on lines that ended"+of, earlier),
		})
	}
	if len(out) == 0 {
		return nil
	}
	gather := func(pick func(workRow) fig) []ui.Step {
		var steps []ui.Step
		for _, r := range out {
			steps = append(steps, step(r.Head, pick(r).Value))
		}
		return steps
	}
	return append(out, workRow{
		Head: "The day", Sum: true,
		Time:    added(hours.Format(d.OnDay.Time), "hours worked on the day", gather(func(r workRow) fig { return r.Time })),
		Cost:    added(p.money(d.OnDay.Cost), "cost of the day's work", gather(func(r workRow) fig { return r.Cost })),
		Ended:   added(p.money(d.OnDay.Cost-d.Going.Cost), "work of the day on lines that ended", gather(func(r workRow) fig { return r.Ended })),
		Going:   added(p.money(d.Going.Cost), "work of the day on lines still going on", gather(func(r workRow) fig { return r.Going })),
		Earlier: added(p.money(d.Earlier.Cost), "work of other days on lines that ended", gather(func(r workRow) fig { return r.Earlier })),
	})
}

// variances lists the four, and what they come to.
func (p pen) variances(d dayend.Day) []varianceRow {
	if len(p.anyEnded(d)) == 0 {
		return nil
	}
	row := func(name, rule string, actual, standard money.Minor, pick func(dayend.Totals) money.Minor) varianceRow {
		var steps []ui.Step
		for _, c := range p.anyEnded(d) {
			steps = append(steps, step(strings.TrimSpace(cardWords(c.ID)+" "+c.Mark), p.variance(pick(c.Totals))))
		}
		return varianceRow{
			Name: name, Rule: rule, Actual: p.money(actual), Standard: p.money(standard),
			Amount: p.differs(pick(d.Totals), name+" of the day", append(steps, sum("together", p.variance(pick(d.Totals))))),
		}
	}
	l, m := d.Labour, d.Parts
	total := row("Together", "", l.ActualCost+m.ActualCost, l.StandardCost+m.StandardCost, dayend.Totals.Variance)
	total.Sum = true
	if d.NotSold != 0 {
		total.Rule = "of it " + p.money(d.NotSold) + " is the cost of what was never agreed, or ended without being done"
	}
	return []varianceRow{
		row("Labour rate", "hours taken, at what they cost and at what they were planned to", l.ActualCost, l.FlexedCost,
			func(t dayend.Totals) money.Minor { return t.Labour.Rate }),
		row("Labour efficiency", "hours taken and hours quoted, at what they were planned to cost", l.FlexedCost, l.StandardCost,
			func(t dayend.Totals) money.Minor { return t.Labour.Efficiency }),
		row("Parts price", "parts used, at what they cost and at what the quote counted on", m.ActualCost, m.FlexedCost,
			func(t dayend.Totals) money.Minor { return t.Parts.Price }),
		row("Parts usage", "parts used and parts quoted, at what the quote counted on", m.FlexedCost, m.StandardCost,
			func(t dayend.Totals) money.Minor { return t.Parts.Usage }),
		total,
	}
}

func (p pen) anyEnded(d dayend.Day) []dayend.CardResult {
	var out []dayend.CardResult
	for _, c := range d.Cards {
		if len(p.ended(c.Accounts)) > 0 {
			out = append(out, c)
		}
	}
	return out
}

// lost lists work that brings nothing, and sums it up.
func (p pen) lost(d dayend.Day) []lostRow {
	var out []lostRow
	for _, u := range d.Unrecovered {
		why := u.Why
		if u.Open {
			why += "; the customer may still agree"
		}
		out = append(out, lostRow{
			Head: strings.TrimSpace(cardWords(u.Card) + " " + u.Mark), Path: linePath(u.Card, u.Line), Title: u.Title, Why: why,
			Hours: hours.Format(u.Time), Cost: p.money(u.Cost), Price: p.money(u.Price),
		})
	}
	if d.Lost != (dayend.Forgone{}) {
		out = append(out, p.lostSum("Lost", d.Lost))
	}
	if d.AtRisk != (dayend.Forgone{}) {
		out = append(out, p.lostSum("Still to be agreed", d.AtRisk))
	}
	return out
}

func (p pen) lostSum(head string, f dayend.Forgone) lostRow {
	return lostRow{Head: head, Hours: hours.Format(f.Time), Cost: p.money(f.Cost), Price: p.money(f.Price), Sum: true}
}

func (p pen) asked(a dayend.Asked) askedView {
	words := "not asked yet"
	switch {
	case a.Again:
		words = "dearer than was agreed"
	case a.Found != "":
		words = "found during “" + a.Found + "”"
	}
	return askedView{strings.TrimSpace(cardWords(a.Card) + " " + a.Mark), linePath(a.Card, a.Line), a.Title, words, p.money(a.Price)}
}
