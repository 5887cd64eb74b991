package dayendweb

import (
	"time"

	"rampside/internal/dayend"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/variance"
	"rampside/web/ui"
)

// costRow is one line, card or day against its quote.
type costRow struct {
	Head, Path, Sub                                      string
	Mark                                                 string
	Quoted, Taken, Price, Labour, Parts, Profit, Against fig
	Sum                                                  bool
}

func (r costRow) figures() []fig {
	return []fig{r.Quoted, r.Taken, r.Price, r.Labour, r.Parts, r.Profit, r.Against}
}

// account writes one line against its quote.
func (p pen) account(a dayend.Account) costRow {
	of := " of “" + a.Title + "”"
	row := costRow{Head: a.Title, Path: linePath(a.Card, a.Line), Mark: string(a.Ending)}
	row.Taken = added(hours.Format(a.Spent.Time), "hours taken"+of, p.times(a.Pieces))
	row.Labour = added(p.money(a.Spent.Cost), "labour cost"+of, p.costs(a.Pieces))
	row.Parts = added(p.money(a.PartCost), "parts cost"+of, p.uses(a.Uses))
	if a.Line == 0 {
		row.Mark, row.Taken, row.Labour = "", fig{}, fig{}
	}
	if a.Written.AgreedTime != nil {
		row.Quoted = quoted(*a.Written.AgreedTime, of, "agreed with the customer")
	}
	if !a.In {
		row.Sub = "still going on"
		row.Mark = string(a.Written.WorkState)
		return row
	}
	if a.Line != 0 {
		row.Quoted = quoted(a.Labour.StandardTime, of, standardWords(a))
	}
	row.Price = p.price(a, of)
	row.Profit = p.profit(a.Gross, of)
	row.Against = p.against(a.Totals, of, a.Std)
	return row
}

func quoted(d time.Duration, of, why string) fig {
	return fig{Value: hours.Format(d), What: "quoted hours" + of, Steps: []ui.Step{sum(why, hours.Format(d))}}
}

func standardWords(a dayend.Account) string {
	switch {
	case a.Sold:
		return "agreed with the customer"
	case a.Ending == dayend.EndDone:
		return "never agreed: nothing is quoted"
	}
	return string(a.Ending) + ": nothing is sold"
}

func (p pen) times(pieces []dayend.Piece) []ui.Step {
	var out []ui.Step
	for _, w := range pieces {
		out = append(out, step(w.Name+", "+p.span(w.Span)+goingOn(w), hours.Format(w.Time)))
	}
	return out
}

func goingOn(w dayend.Piece) string {
	switch {
	case w.Forgotten:
		return ", most likely"
	case w.Open:
		return ", going on"
	}
	return ""
}

func (p pen) costs(pieces []dayend.Piece) []ui.Step {
	var out []ui.Step
	for _, w := range pieces {
		out = append(out, step(w.Name+", "+at(w.Time, p.money(w.Rate)), p.money(w.Cost)))
	}
	return out
}

func (p pen) uses(uses []dayend.Use) []ui.Step {
	var out []ui.Step
	for _, u := range uses {
		label := money.FormatQuantity(u.Qty) + " × " + u.Name + " at " + p.money(u.Cost)
		if u.Source == jobcard.FromCustomer {
			label = money.FormatQuantity(u.Qty) + " × " + u.Name + ", the customer's own"
		}
		out = append(out, step(label, p.money(u.Variance.ActualCost)))
	}
	return out
}

func (p pen) price(a dayend.Account, of string) fig {
	var steps []ui.Step
	if a.Line != 0 {
		label := "labour, " + at(a.Written.Estimate.Likely, p.money(a.Written.Rate))
		if a.Written.FixedPrice != nil {
			label = "labour, a fixed price"
		}
		if a.LabourNet != a.Written.LabourNet() {
			label += ", with its discounts and surcharges"
		}
		steps = append(steps, step(label, p.money(a.LabourNet)))
	}
	for _, u := range a.Uses {
		label := money.FormatQuantity(u.Qty) + " × " + u.Name
		if u.Price == u.Net() {
			label += " at " + p.money(u.Unit())
		}
		steps = append(steps, step(label, p.money(u.Price)))
	}
	if a.OnTop != 0 {
		steps = append(steps, step("small material, discounts and surcharges of the card", p.money(a.OnTop)))
	}
	switch {
	case !a.Sold && a.Ending == dayend.EndDone:
		steps = append(steps, sum("never agreed, so it brings", p.money(0)))
	case !a.Sold:
		steps = append(steps, sum(string(a.Ending)+", so it brings", p.money(0)))
	case a.Net > a.AgreedNet:
		steps = append(steps, sum("as it stands", p.money(a.Net)), sum("no more than was agreed", p.money(a.Price())))
	default:
		steps = append(steps, sum("net", p.money(a.Price())))
	}
	return fig{Value: p.money(a.Price()), What: "price" + of, Steps: steps}
}

// profit opens what is left of a price, and its share of it.
func (p pen) profit(g variance.GrossProfit, of string) fig {
	margin := "not available"
	if g.MarginOK {
		margin = g.Margin.String()
	}
	return fig{Value: p.money(g.Profit), Note: margin, What: "gross profit" + of, Steps: []ui.Step{
		step("price", p.money(g.Price)), step("less labour", p.less(g.LabourCost)), step("less parts", p.less(g.PartsCost)),
		sum("gross profit", p.money(g.Profit)), sum("margin, its share of the price", margin),
	}}
}

// against opens all that cost differs from the quote by. std is the planned
// cost of an hour where there is one for all.
func (p pen) against(t dayend.Totals, of string, std money.Minor) fig {
	l, m := t.Labour, t.Parts
	planned := "planned rates"
	if std != 0 {
		planned = p.money(std) + " an hour"
	}
	return p.differs(t.Variance(), "cost against quote"+of, []ui.Step{
		step("labour as it was, "+hours.Format(l.ActualTime), p.money(l.ActualCost)),
		step("the same hours at "+planned, p.money(l.FlexedCost)),
		step("the quoted "+hours.Format(l.StandardTime)+" at "+planned, p.money(l.StandardCost)),
		step("parts as they were", p.money(m.ActualCost)),
		step("the same quantities at the quoted cost", p.money(m.FlexedCost)),
		step("the quoted quantities at the quoted cost", p.money(m.StandardCost)),
		sum("labour rate", p.variance(l.Rate)),
		step("labour efficiency", p.variance(l.Efficiency)),
		step("parts price", p.variance(m.Price)),
		step("parts usage", p.variance(m.Usage)),
		sum("together", p.variance(t.Variance())),
	})
}

// total writes the sum of rows, each figure opening to what it is the sum of.
func (p pen) total(head string, t dayend.Totals, rows []costRow, of string) costRow {
	row := costRow{Head: head, Sum: true}
	gather := func(pick func(costRow) fig) []ui.Step {
		var out []ui.Step
		for _, r := range rows {
			if f := pick(r); f.Value != "" {
				out = append(out, step(r.Head, f.Value))
			}
		}
		return out
	}
	row.Quoted = added(hours.Format(t.Labour.StandardTime), "quoted hours"+of, gather(func(r costRow) fig { return r.Quoted }))
	row.Taken = added(hours.Format(t.Labour.ActualTime), "hours taken"+of, gather(func(r costRow) fig { return r.Taken }))
	row.Price = added(p.money(t.Gross.Price), "price"+of, gather(func(r costRow) fig { return r.Price }))
	row.Labour = added(p.money(t.Labour.ActualCost), "labour cost"+of, gather(func(r costRow) fig { return r.Labour }))
	row.Parts = added(p.money(t.Parts.ActualCost), "parts cost"+of, gather(func(r costRow) fig { return r.Parts }))
	row.Profit = p.profit(t.Gross, of)
	row.Against = p.against(t, of, 0)
	return row
}

// ended are the rows of what ended in the period.
func (p pen) ended(accounts []dayend.Account) []costRow {
	var out []costRow
	for _, a := range accounts {
		if a.In {
			out = append(out, p.account(a))
		}
	}
	return out
}
