// Package jobcard is the card: one visit of one vehicle, the lines of work on
// it, the parts they take, and what the customer said to each.
package jobcard

import (
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/money"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// CardID is also the number written on the card.
type CardID int64

// Stage is how far a visit has come.
type Stage string

// The stages of a card.
const (
	Booked    Stage = "booked"
	OnSite    Stage = "on site"
	InWork    Stage = "in work"
	Ready     Stage = "ready"
	Collected Stage = "collected"
	Cancelled Stage = "cancelled"
)

// Live tells whether there is still something to do on a card at this stage.
func (s Stage) Live() bool { return s == Booked || s == OnSite || s == InWork || s == Ready }

// Workable tells whether technicians may work on a card at this stage.
func (s Stage) Workable() bool { return s == OnSite || s == InWork }

// moves says which stage may follow which by hand. In work also follows from
// the first clocking.
var moves = map[Stage][]Stage{
	Booked:    {OnSite, Cancelled},
	OnSite:    {Booked, InWork, Ready, Cancelled},
	InWork:    {Ready},
	Ready:     {InWork, Collected},
	Collected: {Ready},
}

// Next gives the stages that may follow s by hand.
func (s Stage) Next() []Stage { return moves[s] }

func (s Stage) mayBecome(to Stage) error {
	if slices.Contains(moves[s], to) {
		return nil
	}
	return apperr.Field("stage", "a card that is %s cannot become %s", s, to)
}

// Card is one visit, without its lines.
type Card struct {
	ID            CardID
	VehicleID     vehicle.ID
	CustomerID    customer.ID
	Stage         Stage
	BookedFor     workday.Day
	ArrivesAt     time.Time // zero when not said
	PromisedAt    time.Time // zero when nothing is promised
	Mileage       *int
	MileageUnit   string // "miles" or "km"
	CustomerWords string
	KeysNote      string
	ContactName   string
	ContactPhone  string
	CreatedAt     time.Time
	CreatedBy     actor.StaffID
	OnSiteAt      time.Time
	ReadyAt       time.Time
	CollectedAt   time.Time
	CancelReason  string
	// Sundries are those of this card in place of the garage's; nil for the
	// garage's.
	Sundries *OwnSundries
	// UpTo is the customer's limit for the whole card, with VAT; nil for none.
	UpTo    *money.Minor
	Version int
}

// Limits of what may be typed, in characters.
const (
	MaxTitle  = 120
	MaxNote   = 2000
	MaxShort  = 120
	MaxLines  = 60
	MaxParts  = 120
	MaxMiles  = 3_000_000
	maxOrders = 400
)
