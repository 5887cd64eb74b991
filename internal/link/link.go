// Package link makes and reads the addresses that a customer is sent: signed,
// with an end, and revocable. Whoever holds one may see the one thing that it
// is for, without an account.
package link

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
)

// ID names one link in the garage's books. It opens nothing.
type ID int64

// Purpose is what a link is for.
type Purpose string

// The purposes. The target of each is the identity of that thing.
const (
	Quote    Purpose = "quote"    // a version of a quote, to be answered
	Handover Purpose = "handover" // what was done to a car
	Bill     Purpose = "bill"     // a bill or a credit note
)

// Purposes lists them all.
func Purposes() []Purpose { return []Purpose{Quote, Handover, Bill} }

// Path is where links lead to; the token follows.
const Path = "/your-car/"

// Link is one link as the garage sees it.
type Link struct {
	ID      ID
	Purpose Purpose
	Target  int64
	// CardID is 0 for what belongs to no card.
	CardID jobcard.CardID
	// GivenTo is who it was made for; their answers carry this name.
	GivenTo string
	Until   time.Time
	MadeAt  time.Time
	// WithdrawnAt is zero while it stands.
	WithdrawnAt time.Time
	// Opened counts how often the page behind it was opened; the times are
	// zero while it never was.
	Opened                  int
	FirstOpened, LastOpened time.Time
}

// Over says why a link opens nothing any more at now: it was withdrawn or has
// expired. Empty while it stands.
func (l Link) Over(now time.Time) State {
	switch {
	case !l.WithdrawnAt.IsZero():
		return Withdrawn
	case !now.Before(l.Until):
		return Expired
	}
	return ""
}

// State says why a link is over.
type State string

// The states of a link that opens nothing any more.
const (
	Expired   State = "expired"
	Withdrawn State = "withdrawn"
)

// Customer is the actor of whoever holds the link; device says where from.
func (l Link) Customer(device string) actor.Actor {
	who := actor.CustomerOf(l.GivenTo, device)
	who.Opens = actor.Opened{Purpose: string(l.Purpose), Target: l.Target, Card: int64(l.CardID)}
	return who
}

// NewLink is what a link is made for.
type NewLink struct {
	Purpose Purpose
	Target  int64
	CardID  jobcard.CardID // 0 for none
	GivenTo string
	Until   time.Time
}

// Minted is a link that was made. Token is the secret part of the address: it
// goes to the customer and into no log.
type Minted struct {
	ID    ID
	Token string
}

// Path is the address behind which the link's page stands, on this server.
func (m Minted) Path() string { return Path + m.Token }

// longest is how far ahead a link may end: paper of a repair is wanted for a
// year or so, and what is sent for ever is found by somebody in the end.
const longest = 400 * 24 * time.Hour

// ErrUnknown is what a token that we did not sign gets, whatever is wrong
// with it: nobody learns by trying.
var ErrUnknown = apperr.New(apperr.NotFound, "this link leads nowhere: it may have been cut off on its way")
