package jobcard

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// LineID names one line of a card.
type LineID int64

// WorkState is how far the work on a line has come. It says nothing about
// whether the customer agreed to it: that is Consent.
type WorkState string

// The work states.
const (
	Open     WorkState = "open"
	InHand   WorkState = "in hand"
	Done     WorkState = "done"
	Deferred WorkState = "deferred"
	Waiting  WorkState = "waiting on parts"
)

// Consent is what the customer said to a line.
type Consent string

// The consents.
const (
	Asked    Consent = "asked"
	Agreed   Consent = "agreed"
	Declined Consent = "declined"
)

// Line is one labour operation on a card.
type Line struct {
	ID          LineID
	CardID      CardID
	Position    int
	OperationID garage.OperationID // 0 for a line written freely
	Title       string
	MustDo      bool // else: if there is time
	WorkState   WorkState
	StateReason string // why it is deferred or waiting
	DecidedBy   string // who decided to defer it
	Consent     Consent
	LabourType  garage.LabourTypeID
	LabourName  string
	Rate        money.Minor // net, an hour
	Estimate    hours.Estimate
	FixedPrice  *money.Minor // net, instead of time
	VATCode     money.VATCode
	StdCostRate money.Minor // planned cost of an hour when it was written
	// AgreedTime and AgreedNet are what was agreed to, labour and parts
	// together; nil until then.
	AgreedTime  *time.Duration
	AgreedNet   *money.Minor
	Cautions    []caution.Key
	Safety      bool
	WheelsOff   bool
	Inspects    bool
	AssignedTo  actor.StaffID
	CarriedFrom LineID
	FoundOn     LineID
	DoneAt      time.Time
	DoneBy      actor.StaffID
	StrippedAt  time.Time // when the old parts came off
	StruckAt    time.Time
	StruckWhy   string
	Note        string
	// UpTo is the customer's limit for the line, with VAT; nil for none.
	UpTo *money.Minor
	// AheadWhy is why the line may be worked on though the customer has not
	// agreed, AheadBy who said so; empty when nobody did.
	AheadWhy string
	AheadBy  actor.StaffID
	AheadAt  time.Time
	Version  int
}

// Struck tells whether the line was struck out.
func (l Line) Struck() bool { return !l.StruckAt.IsZero() }

// Stripped tells whether the old parts are off.
func (l Line) Stripped() bool { return !l.StrippedAt.IsZero() }

// Settled tells whether nothing is left to do on the line at this visit.
func (l Line) Settled() bool {
	return l.Struck() || l.Consent == Declined || l.WorkState == Done || l.WorkState == Deferred
}

// price is how the labour price of the line comes about: its fixed price, or
// its likely hours at its rate.
func (l Line) price() pricing.Price {
	if l.FixedPrice != nil {
		return pricing.Fixed{Net: *l.FixedPrice}
	}
	return pricing.ByTime{For: l.Estimate.Likely, PerHour: l.Rate}
}

// LabourNet is the labour price of the line, to the nearest penny.
func (l Line) LabourNet() money.Minor { return pricing.List(l.price()) }

// Priced is the labour of the line for a quote or a bill, at a VAT rate.
func (l Line) Priced(rate money.Rate) pricing.Line {
	return pricing.Line{
		Key: LineKey(l.ID), Kind: pricing.Labour, Text: l.Title,
		VAT: pricing.VAT{Code: l.VATCode, Rate: rate}, Price: l.price(),
	}
}

// SoldTime is the time that the line sells: what was agreed, or else the
// likely estimate.
func (l Line) SoldTime() time.Duration {
	if l.AgreedTime != nil {
		return *l.AgreedTime
	}
	return l.Estimate.Likely
}

// work says which work states may follow which.
var work = map[WorkState][]WorkState{
	Open:     {InHand, Done, Deferred, Waiting},
	InHand:   {Open, Done, Deferred, Waiting},
	Waiting:  {Open, InHand, Deferred},
	Deferred: {Open},
	Done:     {Open},
}

func (l Line) mayBecome(to WorkState) error {
	switch {
	case l.Struck():
		return apperr.New(apperr.Conflict, "this line has been struck out")
	case to != Deferred && to != Open && l.Consent == Declined:
		return apperr.New(apperr.Conflict, "the customer declined this line: record a yes before it is worked on")
	}
	for _, s := range work[l.WorkState] {
		if s == to {
			return nil
		}
	}
	if l.WorkState == to {
		return apperr.New(apperr.Conflict, "this line is %s already", to)
	}
	return apperr.New(apperr.Conflict, "a line that is %s cannot become %s", l.WorkState, to)
}
