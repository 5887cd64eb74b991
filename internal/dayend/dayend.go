// Package dayend is what a day came to: what work cost against what it was
// quoted to cost, what was done and what was not and why, and how the hours
// were used.
//
// # The rules
//
// Time and its cost belong to the day they fall on. A clocking over midnight
// is cut there, each piece costs its time at the rate its clocking began with,
// to the nearest penny, and the pieces add up to all that was ever spent.
//
// A line is set against its quote on the day it ends, with everything that
// went into it on whatever day. It ends when it is ticked, or struck out; one
// that is deferred or declined ends when its card is ready. Until then what
// was spent on it is work in progress, and has no variance. So every hour and
// every penny is compared once.
//
// The standard is what was agreed: the hours of the line at the hour's planned
// cost when it was written, and the parts as the quote counted on them. Work
// that was never agreed, and lines that ended without being done, have no
// standard: all their cost is adverse. A part counts when it is fitted; one
// that is struck out, goes back or never comes is out of the price and out of
// the standard. The customer's own parts cost nothing.
//
// The price of a line that is done is what it comes to as it stands, with its
// discounts, its share of a menu and its fees, and never more than was agreed.
// A fee that is paid on is a cost, and its own standard. Parts for the card as
// a whole, small material, and discounts and surcharges of the card count on
// the day the card is ready, for the lines that are done and agreed.
//
// Figures follow the records: a clocking corrected or a line opened again
// later changes the days that it belongs to.
package dayend

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/roster"
	"rampside/internal/variance"
	"rampside/internal/workday"
)

// Snapshot is everything that a reckoning is made from, as it was read at Now.
type Snapshot struct {
	Garage garage.Settings
	// VAT is the garage's table of rates.
	VAT   []garage.VATRate
	Now   time.Time
	Cards []Card
	// Work is all that was ever put into those cards.
	Work  []clocking.Work
	Staff map[actor.StaffID]Person
	// Attended is who was in on the day, and Open names the attendances that
	// nobody has ended.
	Attended []roster.DayAttendance
	Open     map[actor.StaffID]roster.AttendanceID
}

// Person is one of the staff.
type Person struct {
	Name string
	Role actor.Role
}

// Card is one visit with what hangs on it.
type Card struct {
	jobcard.Card
	Mark, Car, Customer string
	Lines               []jobcard.Line
	Parts               []jobcard.Part
	// Extras are discounts, surcharges, menus and fees.
	Extras jobcard.Extras
	// SaidBy is who gave the last answer to a line.
	SaidBy map[jobcard.LineID]string
}

// Spent is working time and what it cost.
type Spent struct {
	Time time.Duration
	Cost money.Minor
}

// Plus adds more of it.
func (s Spent) Plus(o Spent) Spent { return Spent{s.Time + o.Time, s.Cost + o.Cost} }

// Totals is what lines, a card or a day come to over a period: a day, or the
// whole of a card's life.
type Totals struct {
	// OnDay is what was worked in the period, on whatever line.
	OnDay Spent
	// Going is the part of OnDay on lines that did not end in the period, and
	// Earlier what other days put into those that did: Labour.ActualCost is
	// OnDay less Going plus Earlier.
	Going, Earlier Spent
	// Labour and Parts are the lines that ended in the period against their
	// quotes, and Gross what they brought.
	Labour variance.Labour
	Parts  variance.Parts
	Gross  variance.GrossProfit
	// NotSold is the cost of what ended without a price, labour and parts.
	NotSold money.Minor
}

// Plus adds the totals of another line or card.
func (t Totals) Plus(o Totals) Totals {
	return Totals{
		OnDay: t.OnDay.Plus(o.OnDay), Going: t.Going.Plus(o.Going), Earlier: t.Earlier.Plus(o.Earlier),
		Labour: t.Labour.Plus(o.Labour), Parts: t.Parts.Plus(o.Parts), Gross: t.Gross.Plus(o.Gross),
		NotSold: t.NotSold + o.NotSold,
	}
}

// Variance is all of actual cost less standard cost.
func (t Totals) Variance() money.Minor { return t.Labour.Total + t.Parts.Total }

// CardResult is one card over a period.
type CardResult struct {
	ID                  jobcard.CardID
	Mark, Car, Customer string
	Stage               jobcard.Stage // as it is now
	// Standing is where the car stood at the end of the period, and Since when.
	Standing Standing
	Since    time.Time
	Totals
	// Accounts are the lines that were worked on or ended in the period, in
	// their order on the card; the parts for the card as a whole come last.
	Accounts []Account
	// What became of the lines. Parts are named with those that wait.
	Done, Deferred, Declined, Waiting, Left []Outcome
}

// Day is what a day came to.
type Day struct {
	Garage garage.Settings
	Day    workday.Day
	Now    time.Time
	// Over tells that the day has passed; else the figures are those so far.
	Over bool
	Totals
	Cards []CardResult
	Hours Hours
	// Unrecovered is work that brings nothing. Lost is what has ended so, and
	// AtRisk what may still be agreed.
	Unrecovered  []Unrecovered
	Lost, AtRisk Forgone
	// Asked are lines that the customer has still to be asked about.
	Asked []Asked
	// Checks are to be put right before the figures hold.
	Checks []Check
}
