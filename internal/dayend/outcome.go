package dayend

import (
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Standing is where a car stood at the end of a period.
type Standing string

// The standings.
const (
	Collected  Standing = "collected"
	Ready      Standing = "ready"
	StillHere  Standing = "still here"
	DidNotCome Standing = "did not come"
	Elsewhere  Standing = "" // it had left before, or not come yet
)

// standing tells where a car stood when the period ended, and since when.
func standing(c jobcard.Card, period workday.Span) (Standing, time.Time) {
	before := func(t time.Time) bool { return !t.IsZero() && t.Before(period.To) }
	switch {
	case before(c.CollectedAt):
		if period.Contains(c.CollectedAt) {
			return Collected, c.CollectedAt
		}
		return Elsewhere, c.CollectedAt
	case c.Stage == jobcard.Cancelled:
		return Elsewhere, time.Time{}
	case before(c.ReadyAt):
		return Ready, c.ReadyAt
	case before(c.OnSiteAt):
		return StillHere, c.OnSiteAt
	case c.Stage == jobcard.Booked:
		return DidNotCome, time.Time{}
	}
	return Elsewhere, time.Time{}
}

// Outcome is what became of one line.
type Outcome struct {
	Line  jobcard.LineID
	Title string
	// Why and By are the reason and who decided; At is when it was done.
	Why, By string
	At      time.Time
	// Parts are those the line waits for.
	Parts []Due
}

// Due is a part that is waited for.
type Due struct {
	Name     string
	Supplier string
	Supply   jobcard.Supply
	DueAt    time.Time // zero when nobody said
	Late     bool      // it should have come by now
	Own      bool      // the customer brings it
}

// outcomes says what became of each line of a card by the end of the period.
// A car that was ready before, and only stood there, has had its say.
func (r *CardResult) outcomes(c Card, period workday.Span, now time.Time) {
	if r.Standing == Elsewhere || r.Standing == DidNotCome || r.Standing == Ready && r.Since.Before(period.From) {
		return
	}
	for _, l := range c.Lines {
		if l.Struck() {
			continue
		}
		o := Outcome{Line: l.ID, Title: l.Title, Why: l.StateReason, By: l.DecidedBy, At: l.DoneAt}
		switch {
		case l.WorkState == jobcard.Done && period.Contains(l.DoneAt):
			r.Done = append(r.Done, o)
		case l.WorkState == jobcard.Done && l.DoneAt.Before(period.From):
		case l.WorkState == jobcard.Done:
			r.Left = append(r.Left, o) // it was done on a later day
		case l.WorkState == jobcard.Deferred:
			r.Deferred = append(r.Deferred, o)
		case l.Consent == jobcard.Declined:
			o.By = c.SaidBy[l.ID]
			r.Declined = append(r.Declined, o)
		case l.WorkState == jobcard.Waiting:
			o.Parts = dueParts(c, l.ID, now)
			r.Waiting = append(r.Waiting, o)
		default:
			o.Parts = dueParts(c, l.ID, now)
			r.Left = append(r.Left, o)
		}
	}
}

func dueParts(c Card, line jobcard.LineID, now time.Time) []Due {
	var out []Due
	for _, p := range c.Parts {
		if p.LineID == line && p.Outstanding() {
			out = append(out, Due{
				Name: p.Name, Supplier: p.SupplierName, Supply: p.Supply, DueAt: p.DueAt,
				Late: !p.DueAt.IsZero() && p.DueAt.Before(now), Own: p.Source == jobcard.FromCustomer,
			})
		}
	}
	return out
}

// Forgone is work that brought nothing: its hours, its cost in labour and
// parts, and the price it would have had.
type Forgone struct {
	Time  time.Duration
	Cost  money.Minor
	Price money.Minor
}

// Plus adds more of it.
func (f Forgone) Plus(o Forgone) Forgone {
	return Forgone{f.Time + o.Time, f.Cost + o.Cost, f.Price + o.Price}
}

// Unrecovered is one line of such work.
type Unrecovered struct {
	Card  jobcard.CardID
	Mark  string
	Line  jobcard.LineID
	Title string
	Why   string
	Forgone
	// Open says that the customer may still agree to it.
	Open bool
}

// unrecovered gives what an account brings nothing for, if anything.
func unrecovered(a Account, c Card) (Unrecovered, bool) {
	u := Unrecovered{Card: a.Card, Mark: c.Mark, Line: a.Line, Title: a.Title}
	switch {
	case a.Line == 0:
		return u, false
	case a.In && !a.Sold:
		u.Forgone = Forgone{Time: a.Spent.Time, Cost: a.NotSold}
		switch a.Ending {
		case EndDone:
			u.Why, u.Price = "done and never agreed"+goneAhead(a), a.Net
			u.Open = a.Asked && c.Stage.Live()
		case EndStruck:
			u.Why = "struck out: " + a.Written.StruckWhy
		case EndDeferred:
			u.Why = "deferred: " + a.Written.StateReason
		default:
			u.Why = "declined"
		}
		return u, u.Forgone != Forgone{}
	case a.In && a.Net > a.AgreedNet:
		u.Why = "done beyond what was agreed" + goneAhead(a)
		u.Forgone = Forgone{
			Time: max(0, a.Labour.ActualTime-a.Labour.StandardTime), Cost: max(0, a.Variance()), Price: a.Net - a.AgreedNet,
		}
		u.Open = a.Asked && c.Stage.Live()
		return u, true
	case !a.In && a.OnDay.Time > 0 && a.Ending == Going && (a.Written.AgreedNet == nil || a.Written.Consent == jobcard.Declined):
		u.Why, u.Open = "worked on and not agreed yet"+goneAhead(a), true
		u.Forgone = Forgone{Time: a.OnDay.Time, Cost: a.OnDay.Cost}
		if a.Written.Consent == jobcard.Declined {
			u.Why, u.Open = "worked on and declined", false
		}
		return u, true
	}
	return u, false
}

// goneAhead says why work went ahead that nobody agreed to.
func goneAhead(a Account) string {
	if a.Written.AheadWhy == "" {
		return ""
	}
	return ": went ahead because " + a.Written.AheadWhy
}

// Asked is a line that the customer has still to be asked about.
type Asked struct {
	Card  jobcard.CardID
	Mark  string
	Line  jobcard.LineID
	Title string
	// Found is the line during which it was found; empty when it was on the
	// list from the start.
	Found string
	// Again says that it was agreed to at a lower price.
	Again bool
	Price money.Minor
}

// stillAsked lists what a card has to be asked yet.
func stillAsked(c Card, priced jobcard.Priced) []Asked {
	if !c.Stage.Live() || c.Stage == jobcard.Booked {
		return nil
	}
	title := map[jobcard.LineID]string{}
	for _, l := range c.Lines {
		title[l.ID] = l.Title
	}
	var out []Asked
	for _, l := range c.Lines {
		if l.Struck() || l.Consent != jobcard.Asked || l.WorkState == jobcard.Deferred {
			continue
		}
		a := Asked{Card: c.ID, Mark: c.Mark, Line: l.ID, Title: l.Title, Found: title[l.FoundOn], Again: l.AgreedNet != nil, Price: priced.LineNet(l.ID)}
		out = append(out, a)
	}
	return out
}
