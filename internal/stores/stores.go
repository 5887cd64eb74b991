// Package stores is what a garage's parts go through: what must be ordered
// from whom, what came and in what state, what goes back and the money owed
// for it, and the shelf. Where a card's part is stands on the card; this
// package moves it along through jobcard.
package stores

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// OrderID is also the number that is written on an order.
type OrderID int64

// LineID names a line of an order.
type LineID int64

// ItemID names something kept on the shelf.
type ItemID int64

// LotID names what came on to the shelf at one time.
type LotID int64

// ReturnID names something that goes back to a supplier.
type ReturnID int64

// Limits of what may be typed, in characters, and of an order, in lines.
const (
	MaxName   = 120
	MaxNumber = 60
	MaxShort  = 120
	MaxNote   = 500
	MaxLines  = 100
	maxQty    = 100_000_000 // thousandths
	maxCost   = money.Minor(100_000_000)
)

// MaxAmount is the largest amount that a credit may come to.
const MaxAmount = money.MaxTyped

// Ways are how an order is given.
var Ways = []string{"by phone", "by e-mail", "on their site", "at the counter"}

// CoverOfOwn says in plain words what it means when the customer brings a part.
const CoverOfOwn = "The garage answers for its work, not for a part that the customer brought: whether it is the right one and sound is between the " +
	"customer and whoever sold it. If it fails, fitting another one is paid work. Say so before it is fitted. Local law decides."

// Service is what the desk, the floor, the pages and the API do in the stores.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// openBetween is how long the garage is open between two moments, below zero
// when to is before from: a part that comes on Monday morning instead of
// Friday evening is not two days late for anybody who works.
func openBetween(set garage.Settings, from, to time.Time) time.Duration {
	if to.Before(from) {
		return -openBetween(set, to, from)
	}
	loc := set.Location()
	span := workday.Span{From: from, To: to}
	var sum time.Duration
	last := workday.Of(to, loc)
	// A record of years ago is as late as one of a year: the sum is bounded.
	for d, n := workday.Of(from, loc), 0; !d.After(last) && n < 400; d, n = d.AddDays(1), n+1 {
		if set.WorksOn(d) {
			open := workday.Span{From: workday.At(d, set.Opens, loc), To: workday.At(d, set.Closes, loc)}
			sum += span.Overlap(open).Elapsed()
		}
	}
	return sum
}

// openDay is how long the garage is open on a day.
func openDay(set garage.Settings) time.Duration {
	return time.Duration(set.Closes-set.Opens) * time.Minute
}

// nextDay is the next day after d on which the garage works.
func nextDay(set garage.Settings, d workday.Day) workday.Day {
	for n := 0; n < 14; n++ {
		if d = d.AddDays(1); set.WorksOn(d) {
			return d
		}
	}
	return d
}

// Garage reads the settings that times and amounts are shown by.
func (s *Service) Garage(ctx context.Context, who actor.Actor) (garage.Settings, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return garage.Settings{}, err
	}
	return garage.Load(ctx, s.db.Pool)
}
