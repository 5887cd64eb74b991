package dayend

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/variance"
	"rampside/internal/workday"
)

// Ending is how a line ended.
type Ending string

// The endings. Going is none: there is still something to come.
const (
	Going       Ending = ""
	EndDone     Ending = "done"
	EndStruck   Ending = "struck out"
	EndDeferred Ending = "deferred"
	EndDeclined Ending = "declined"
)

// ending tells how and when a line ended; zero while it has not.
func ending(c jobcard.Card, l jobcard.Line) (Ending, time.Time) {
	switch {
	case l.Struck():
		return EndStruck, l.StruckAt
	case l.WorkState == jobcard.Done:
		return EndDone, l.DoneAt
	case c.ReadyAt.IsZero():
		return Going, time.Time{}
	case l.WorkState == jobcard.Deferred:
		return EndDeferred, c.ReadyAt
	case l.Consent == jobcard.Declined:
		return EndDeclined, c.ReadyAt
	}
	return Going, time.Time{}
}

// Piece is a clocking as far as it falls on one of the garage's days.
type Piece struct {
	Clocking clocking.ID
	StaffID  actor.StaffID
	Name     string
	Day      workday.Day
	Span     workday.Span
	Rate     money.Minor // an hour
	Spent
	// Open says that it goes on, Forgotten that it is thought to have ended.
	Open, Forgotten bool
}

// pieces cuts work at the ends of the garage's days.
func pieces(w clocking.Work, loc *time.Location) []Piece {
	var out []Piece
	for _, p := range w.Span.Split(loc) {
		out = append(out, Piece{
			Clocking: w.ID, StaffID: w.StaffID, Name: w.Name, Day: p.Day, Span: p.Span, Rate: w.CostRate,
			Spent: Spent{p.Elapsed(), money.LabourNet(p.Elapsed(), w.CostRate)},
			Open:  w.Open, Forgotten: w.Forgotten,
		})
	}
	return out
}

// Use is one part that was fitted.
type Use struct {
	jobcard.Part
	// Price is what it brings, net, before the line's own limit.
	Price    money.Minor
	Variance variance.Parts
	// The quantity and the cost each that were counted on; no quantity for a
	// part that was not.
	StandardQty  int64
	StandardCost money.Minor
}

// Account is one line set against its quote.
type Account struct {
	Card jobcard.CardID
	// Line is 0 for the parts of the card as a whole.
	Line   jobcard.LineID
	Title  string
	Ending Ending
	Ended  time.Time
	// In tells that it ended in the period: only then is it in Totals but for
	// what was worked.
	In bool
	// Sold tells that it is done and was agreed to, so that it has a price and
	// a standard.
	Sold bool
	// Net is what it comes to as it stands, AgreedNet the most that was agreed;
	// the price is the lower of them.
	Net, AgreedNet money.Minor
	// LabourNet is the part of Net that is labour.
	LabourNet money.Minor
	// OnTop is the part of Net that small material, discounts and surcharges of
	// the card as a whole come to.
	OnTop money.Minor
	// Asked says that the customer was never asked, or has to be asked again.
	Asked bool
	// Std is the planned cost of an hour.
	Std    money.Minor
	Pieces []Piece
	Uses   []Use
	// Spent is all the work that was ever put in, Parts what was fitted so far.
	Spent    Spent
	PartCost money.Minor
	Totals
	// Written is the line itself; zero for the parts for the card as a whole.
	Written jobcard.Line
}

// Price is what the line brings: nothing unless it is sold.
func (a Account) Price() money.Minor {
	if !a.Sold {
		return 0
	}
	return min(a.Net, a.AgreedNet)
}

// Empty tells that there is nothing to say of the account in the period.
func (a Account) Empty() bool {
	return a.OnDay.Time == 0 && !(a.In && (a.Ending == EndDone || a.Spent.Time > 0 || len(a.Uses) > 0))
}

// newAccount opens the account of a line with what was put into it.
func newAccount(c Card, priced jobcard.Priced, l jobcard.Line, work []Piece, period workday.Span) Account {
	a := Account{Card: c.ID, Line: l.ID, Title: l.Title, Std: l.StdCostRate, Written: l}
	nets := priced.Nets()
	a.LabourNet = nets[jobcard.LineKey(l.ID)]
	a.Net = a.LabourNet
	a.Ending, a.Ended = ending(c.Card, l)
	agreed := l.Consent != jobcard.Declined && l.AgreedNet != nil
	if agreed {
		a.AgreedNet = *l.AgreedNet
	}
	a.Sold = agreed && a.Ending == EndDone
	a.Asked = l.Consent == jobcard.Asked
	a.In = a.Ending != Going && period.Contains(a.Ended)
	for _, p := range work {
		a.put(p, period)
	}
	if a.Sold {
		a.Labour = a.Labour.Plus(variance.OfLabour(variance.LabourInput{StandardTime: l.SoldTime(), StandardRate: l.StdCostRate}))
	}
	for _, p := range c.Parts {
		if p.LineID == l.ID {
			a.use(p, partNet(nets, p), p.QuotedQty, p.QuotedCost)
		}
	}
	if a.Ending == EndDone {
		a.fees(priced, nets)
	}
	a.settle()
	return a
}

// partNet is what a part brings, with what is charged and given back for the
// exchange of it.
func partNet(nets map[string]money.Minor, p jobcard.Part) money.Minor {
	return nets[jobcard.PartKey(p.ID)] + nets[jobcard.ExchangeKey(p.ID)] + nets[jobcard.ExchangeBackKey(p.ID)]
}

// fees adds the fees of a line that is done: what is paid on is a cost, and
// its own standard.
func (a *Account) fees(priced jobcard.Priced, nets map[string]money.Minor) {
	for _, e := range priced.Entries {
		if e.LineID != a.Line || e.Line.Kind != pricing.Fee {
			continue
		}
		one := int64(1000)
		paid := jobcard.Part{Name: e.Line.Text, Qty: one, Cost: e.Paid, Source: jobcard.FromGarage, Supply: jobcard.Fitted}
		a.use(paid, nets[e.Line.Key], &one, &e.Paid)
	}
}

// newLoose opens the account of the parts for the card as a whole.
func newLoose(c Card, priced jobcard.Priced, period workday.Span) Account {
	a := Account{Card: c.ID, Title: "Parts for the card as a whole"}
	if !c.ReadyAt.IsZero() {
		a.Ending, a.Ended, a.Sold = EndDone, c.ReadyAt, true
		a.In = period.Contains(a.Ended)
	}
	nets := priced.Nets()
	for _, p := range c.Parts {
		if p.LineID == 0 {
			a.use(p, partNet(nets, p), &p.Qty, &p.Cost)
		}
	}
	// A card that comes to more than money can hold cannot be written.
	if a.OnTop, _ = priced.OnTop(jobcard.Entry.Billable); a.OnTop != 0 {
		a.Title, a.Net = "For the card as a whole", a.Net+a.OnTop
	}
	a.AgreedNet = a.Net
	a.settle()
	return a
}

// put adds a piece of work. Each piece has its own rate variance, so that
// there is none where everybody costs what was planned, however it is cut.
func (a *Account) put(p Piece, period workday.Span) {
	a.Pieces = append(a.Pieces, p)
	a.Spent = a.Spent.Plus(p.Spent)
	a.Labour = a.Labour.Plus(variance.OfLabour(variance.LabourInput{ActualTime: p.Time, ActualCost: p.Cost, StandardRate: a.Std}))
	switch on := period.Contains(p.Span.From); {
	case on && a.In:
		a.OnDay = a.OnDay.Plus(p.Spent)
	case on:
		a.OnDay, a.Totals.Going = a.OnDay.Plus(p.Spent), a.Totals.Going.Plus(p.Spent)
	case a.In:
		a.Earlier = a.Earlier.Plus(p.Spent)
	}
}

// use adds a part, if it was fitted, against what was counted on.
func (a *Account) use(p jobcard.Part, price money.Minor, qty *int64, cost *money.Minor) {
	if p.Struck() || p.Supply != jobcard.Fitted {
		return
	}
	u := Use{Part: p, Price: price, StandardCost: p.Cost}
	if cost != nil {
		u.StandardCost = *cost
	}
	if a.Sold && qty != nil {
		u.StandardQty = *qty
	}
	in := variance.PartInput{
		ActualQuantity: p.Qty, ActualCost: p.CostNet(), StandardQuantity: u.StandardQty, StandardPrice: u.StandardCost,
	}
	if p.Source == jobcard.FromCustomer {
		in.StandardPrice, u.StandardCost = 0, 0
	}
	u.Variance = variance.OfPart(in)
	a.Uses = append(a.Uses, u)
	a.Net += u.Price
	a.PartCost += u.Variance.ActualCost
	a.Totals.Parts = a.Totals.Parts.Plus(u.Variance)
}

// settle draws the account up: what did not end in the period is in none of
// its sums but those of the work.
func (a *Account) settle() {
	if !a.In {
		a.Labour, a.Totals.Parts = variance.Labour{}, variance.Parts{}
		return
	}
	a.Gross = variance.Gross(a.Price(), a.Spent.Cost, a.PartCost)
	if !a.Sold {
		a.NotSold = a.Spent.Cost + a.PartCost
	}
}
