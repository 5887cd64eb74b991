package api

import (
	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/variance"
)

// Spent is working time and what it cost.
type Spent struct {
	Time int64       `json:"time_seconds"`
	Cost money.Minor `json:"cost_minor"`
}

func spentOf(s dayend.Spent) Spent { return Spent{seconds(s.Time), s.Cost} }

// Results is what lines, a card or a day come to over a time.
type Results struct {
	OnDay    Spent          `json:"worked" doc:"In the time looked at, on whatever line."`
	Going    Spent          `json:"going" doc:"The part of it on lines that did not end in that time."`
	Earlier  Spent          `json:"earlier" doc:"What other days put into the lines that did."`
	Labour   LabourVariance `json:"labour" doc:"The lines that ended in that time against their quotes."`
	Parts    PartsVariance  `json:"parts"`
	Gross    GrossProfit    `json:"gross"`
	NotSold  money.Minor    `json:"not_sold_minor" doc:"The cost of what ended without a price."`
	Variance money.Minor    `json:"variance_minor" doc:"All of actual cost less standard cost."`
}

// LabourVariance is what labour cost against its standard.
type LabourVariance struct {
	ActualTime   int64       `json:"actual_seconds"`
	StandardTime int64       `json:"standard_seconds"`
	ActualCost   money.Minor `json:"actual_cost_minor"`
	FlexedCost   money.Minor `json:"flexed_cost_minor" doc:"What the actual time costs at the standard rate."`
	StandardCost money.Minor `json:"standard_cost_minor"`
	Rate         money.Minor `json:"rate_variance_minor"`
	Efficiency   money.Minor `json:"efficiency_variance_minor"`
	Total        money.Minor `json:"total_variance_minor"`
}

// PartsVariance is what parts cost against their standard.
type PartsVariance struct {
	ActualCost   money.Minor `json:"actual_cost_minor"`
	FlexedCost   money.Minor `json:"flexed_cost_minor" doc:"What the actual quantity costs at the standard price."`
	StandardCost money.Minor `json:"standard_cost_minor"`
	Price        money.Minor `json:"price_variance_minor"`
	Usage        money.Minor `json:"usage_variance_minor"`
	Total        money.Minor `json:"total_variance_minor"`
}

func partsVarianceOf(p variance.Parts) PartsVariance { return PartsVariance(p) }

// GrossProfit is what is left of a price after its labour and parts.
type GrossProfit struct {
	Price      money.Minor `json:"price_minor"`
	LabourCost money.Minor `json:"labour_cost_minor"`
	PartsCost  money.Minor `json:"parts_cost_minor"`
	Profit     money.Minor `json:"profit_minor"`
	Margin     *money.Rate `json:"margin_bp,omitempty" doc:"Absent where there was no price to take a share of."`
}

func resultsOf(t dayend.Totals) Results {
	l := t.Labour
	out := Results{
		OnDay: spentOf(t.OnDay), Going: spentOf(t.Going), Earlier: spentOf(t.Earlier),
		Labour: LabourVariance{
			seconds(l.ActualTime), seconds(l.StandardTime), l.ActualCost, l.FlexedCost, l.StandardCost, l.Rate, l.Efficiency, l.Total,
		},
		Parts:   partsVarianceOf(t.Parts),
		Gross:   GrossProfit{Price: t.Gross.Price, LabourCost: t.Gross.LabourCost, PartsCost: t.Gross.PartsCost, Profit: t.Gross.Profit},
		NotSold: t.NotSold, Variance: t.Variance(),
	}
	if t.Gross.MarginOK {
		out.Gross.Margin = &t.Gross.Margin
	}
	return out
}

// CardResult is one card over a time.
type CardResult struct {
	CardID   jobcard.CardID  `json:"card_id"`
	Mark     string          `json:"mark"`
	Car      string          `json:"car"`
	Customer string          `json:"customer"`
	Stage    jobcard.Stage   `json:"stage" doc:"As it is now."`
	Standing dayend.Standing `json:"standing"`
	Since    Time            `json:"since,omitzero"`
	Totals   Results         `json:"totals"`
	Accounts []Account       `json:"accounts" doc:"The lines that were worked on or ended in that time; the parts for the card as a whole come last."`
	Done     []Outcome       `json:"done"`
	Deferred []Outcome       `json:"deferred"`
	Declined []Outcome       `json:"declined"`
	Waiting  []Outcome       `json:"waiting"`
	Left     []Outcome       `json:"left"`
}

func cardResultOf(r dayend.CardResult) CardResult {
	return CardResult{
		CardID: r.ID, Mark: r.Mark, Car: r.Car, Customer: r.Customer, Stage: r.Stage, Standing: r.Standing, Since: at(r.Since),
		Totals: resultsOf(r.Totals), Accounts: list(r.Accounts, accountOf), Done: list(r.Done, outcomeOf), Deferred: list(r.Deferred, outcomeOf),
		Declined: list(r.Declined, outcomeOf), Waiting: list(r.Waiting, outcomeOf), Left: list(r.Left, outcomeOf),
	}
}

// Outcome is what became of one line.
type Outcome struct {
	LineID jobcard.LineID `json:"line_id"`
	Title  string         `json:"title"`
	Why    string         `json:"why,omitempty"`
	By     string         `json:"by,omitempty" doc:"Who decided."`
	At     Time           `json:"at,omitzero" doc:"When it was done."`
	Parts  []DuePart      `json:"parts" doc:"Those it waits for."`
}

// DuePart is a part that is waited for.
type DuePart struct {
	Name     string         `json:"name"`
	Supplier string         `json:"supplier,omitempty"`
	Supply   jobcard.Supply `json:"supply"`
	DueAt    Time           `json:"due_at,omitzero"`
	Late     bool           `json:"late"`
	Own      bool           `json:"own" doc:"The customer brings it."`
}

func outcomeOf(o dayend.Outcome) Outcome {
	return Outcome{o.Line, o.Title, o.Why, o.By, at(o.At), list(o.Parts, func(d dayend.Due) DuePart {
		return DuePart{d.Name, d.Supplier, d.Supply, at(d.DueAt), d.Late, d.Own}
	})}
}

// Account is one line set against its quote.
type Account struct {
	LineID   jobcard.LineID `json:"line_id,omitempty" doc:"Absent for the parts for the card as a whole."`
	Title    string         `json:"title"`
	Ending   dayend.Ending  `json:"ending"`
	Ended    Time           `json:"ended_at,omitzero"`
	In       bool           `json:"in" doc:"It ended in the time looked at: only then is it in the totals but for what was worked."`
	Sold     bool           `json:"sold" doc:"It is done and was agreed to."`
	Net      money.Minor    `json:"net_minor" doc:"What it comes to as it stands."`
	Agreed   money.Minor    `json:"agreed_net_minor" doc:"The most that was agreed."`
	Labour   money.Minor    `json:"labour_net_minor" doc:"The part of the net that is labour."`
	Price    money.Minor    `json:"price_minor" doc:"What it brings: nothing unless it is sold."`
	Asked    bool           `json:"asked" doc:"The customer was never asked, or has to be asked again."`
	Std      money.Minor    `json:"standard_rate_minor" doc:"The planned cost of an hour."`
	Pieces   []WorkPiece    `json:"pieces"`
	Uses     []PartUse      `json:"uses"`
	Spent    Spent          `json:"spent" doc:"All the work that was ever put in."`
	PartCost money.Minor    `json:"part_cost_minor" doc:"What was fitted so far."`
	Totals   Results        `json:"totals"`
}

// WorkPiece is a clocking as far as it falls on one of the garage's days.
type WorkPiece struct {
	ClockingID clocking.ID   `json:"clocking_id"`
	StaffID    actor.StaffID `json:"staff_id"`
	Name       string        `json:"name"`
	Day        Day           `json:"day"`
	From       Time          `json:"from"`
	To         Time          `json:"to"`
	Rate       money.Minor   `json:"cost_rate_minor" doc:"An hour."`
	Time       int64         `json:"time_seconds"`
	Cost       money.Minor   `json:"cost_minor"`
	Open       bool          `json:"open" doc:"It goes on."`
	Forgotten  bool          `json:"forgotten" doc:"It is thought to have ended."`
}

func pieceOf(p dayend.Piece) WorkPiece {
	return WorkPiece{
		p.Clocking, p.StaffID, p.Name, on(p.Day), at(p.Span.From), at(p.Span.To), p.Rate, seconds(p.Time), p.Cost, p.Open, p.Forgotten,
	}
}

// PartUse is one part that was fitted.
type PartUse struct {
	PartID       jobcard.PartID `json:"part_id"`
	Name         string         `json:"name"`
	Qty          int64          `json:"qty_milli"`
	Cost         money.Minor    `json:"cost_minor" doc:"Net, each."`
	Price        money.Minor    `json:"price_minor" doc:"What the quantity brings."`
	StandardQty  int64          `json:"standard_qty_milli"`
	StandardCost money.Minor    `json:"standard_cost_minor" doc:"Net, each, as the quote counted on."`
	Variance     PartsVariance  `json:"variance"`
}

func accountOf(a dayend.Account) Account {
	return Account{
		LineID: a.Line, Title: a.Title, Ending: a.Ending, Ended: at(a.Ended), In: a.In, Sold: a.Sold, Net: a.Net, Agreed: a.AgreedNet,
		Labour: a.LabourNet, Price: a.Price(), Asked: a.Asked, Std: a.Std, Pieces: list(a.Pieces, pieceOf), Spent: spentOf(a.Spent),
		PartCost: a.PartCost, Totals: resultsOf(a.Totals),
		Uses: list(a.Uses, func(u dayend.Use) PartUse {
			return PartUse{u.ID, u.Name, u.Qty, u.Cost, u.Price, u.StandardQty, u.StandardCost, partsVarianceOf(u.Variance)}
		}),
	}
}
