// Package handover is what goes with a car when it is fetched: what was done
// and found, what was not done and why, what is not safe and that the customer
// was told, what is due next. It is worked out from the card, frozen, and sets
// the card collected.
package handover

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/post"
	"rampside/internal/signature"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// ID names one handover.
type ID int64

// Kind is what an item of a handover is.
type Kind string

// The kinds, in the order in which they are listed.
const (
	Done     Kind = "done"
	NotDone  Kind = "not done"
	Found    Kind = "found"
	Unsafe   Kind = "unsafe"
	Returned Kind = "returned" // an old part that goes home with the car
	Due      Kind = "due"      // again, on a day or at a distance
	Photo    Kind = "photo"
)

// Item is one thing of a handover.
type Item struct {
	Kind      Kind
	LineID    jobcard.LineID
	FindingID int64
	PhotoID   int64
	What      string
	// Why it was not done, or what became of a finding.
	Why             string
	Severity        jobcard.Severity
	Measured, Limit string
	// Checks and Parts are second checks and parts of what was done.
	Checks, Parts []string
	// DueOn is a day, DueAt what the car's clock then shows; either may be
	// missing.
	DueOn workday.Day
	DueAt int
	// Blob and Thumb are the files of a photo; read, never written.
	Blob, Thumb blob.Key
}

// Acknowledgement is the customer's word that they were told of what is not
// safe.
type Acknowledgement struct {
	Words, Name, How string
	Signature        signature.Drawn
	At               time.Time
}

// Handover is one as it was made.
type Handover struct {
	ID         ID
	CardID     jobcard.CardID
	Turn       int
	CustomerID customer.ID
	VehicleID  vehicle.ID
	// The garage, the customer and the car as they were then.
	GarageName, GarageAddress, GaragePhone, GarageEmail string
	ZoneName                                            string
	Customer                                            string
	Mark, VIN, Car                                      string
	Words                                               string // the customer's
	MileageIn, MileageOut                               *int
	MileageUnit                                         string
	GivenTo, Keys, Note                                 string
	// Unsettled is what was left open, Anyway why the car went all the same.
	Unsettled []string
	Anyway    string
	At        time.Time
	By        actor.StaffID
	ByName    string
	Items     []Item
	// Acknowledged is nil where nothing was unsafe.
	Acknowledged *Acknowledgement
}

// Of gives the items of a kind.
func (h Handover) Of(k Kind) []Item {
	var out []Item
	for _, i := range h.Items {
		if i.Kind == k {
			out = append(out, i)
		}
	}
	return out
}

// Zone is the garage's zone, in which the times of the handover are shown.
func (h Handover) Zone() *time.Location {
	return garage.Settings{ZoneName: h.ZoneName}.Location()
}

// Limits of what may be typed, in characters, and of lists.
const (
	MaxShort    = 120
	MaxNote     = 1000
	MaxReturned = 20
	MaxDue      = 20
	MaxPhotos   = 12
)

// Interval is how long the work of an operation lasts before it is due again.
// Months or Distance is 0 where it says nothing.
type Interval struct {
	OperationID      garage.OperationID
	Name             string
	Months, Distance int
	Version          int // 0 while none is noted
}

// Service is what the desk, the pages and the API do with handovers.
type Service struct {
	db     *change.DB
	cards  *jobcard.Service
	public func(path string) string
	mail   *post.Service
}

// New makes the service. public makes a whole link of a path, for letters.
func New(db *change.DB, cards *jobcard.Service, public func(path string) string, mail *post.Service) *Service {
	return &Service{db, cards, public, mail}
}
