// Package actor says who is doing something, from where, and what they may
// do. Every service method that changes anything takes an Actor; rights are
// decided here and checked in the service, never in a page.
package actor

import "rampside/internal/apperr"

// StaffID names a member of the garage's staff.
type StaffID int64

// DeviceID names an enrolled tablet.
type DeviceID int64

// Role is what somebody is in the garage.
type Role string

// The roles.
const (
	Owner      Role = "owner"
	Desk       Role = "desk"
	Technician Role = "technician"
	// Customer is whoever holds a link that was sent to them; no sign-in of
	// the garage has this role.
	Customer Role = "customer"
)

// Valid tells whether r is a role that staff can have.
func (r Role) Valid() bool { return r == Owner || r == Desk || r == Technician }

// Via says by which door a change came in.
type Via string

// The doors.
const (
	ViaPage    Via = "page"
	ViaAPI     Via = "api"
	ViaCommand Via = "command"
	ViaLink    Via = "link"
)

// Actor is one person at one door. The zero Actor may do nothing.
type Actor struct {
	StaffID StaffID
	Name    string
	Role    Role
	Via     Via
	// Device is the tablet's or token's name, or the browser's address; it is
	// written beside every change.
	Device string
	// DeviceID is set on an enrolled tablet.
	DeviceID DeviceID
	// Key makes a write happen once however often it is sent. Empty on reads.
	Key string
	// Opens is what the link of a customer was made for; they see and answer
	// nothing else.
	Opens Opened
	// RequestID ties an event to the log.
	RequestID string
}

// Opened is the one thing that a customer's link leads to, such as quote 12, and
// the card that it is of, 0 for none.
type Opened struct {
	Purpose string
	Target  int64
	Card    int64
}

// Known tells whether somebody is signed in.
func (a Actor) Known() bool { return a.Role.Valid() || a.Role == Customer }

// WithKey gives the same actor with an idempotency key.
func (a Actor) WithKey(key string) Actor { a.Key = key; return a }

// Command is the actor of a command on the server's own console: whoever can
// run it already has the database.
func Command(name string) Actor {
	return Actor{Name: name, Role: Owner, Via: ViaCommand, Device: "console"}
}

// CustomerOf is the actor of somebody who holds a link: name is who it was
// sent to, device says where they answered from. What the link opens is set by
// package link.
func CustomerOf(name, device string) Actor {
	return Actor{Name: name, Role: Customer, Via: ViaLink, Device: device}
}

// Right is one thing that a role may or may not do.
type Right string

// The rights.
const (
	ReadCards        Right = "read cards"     // diary, cards, floor, vehicles
	ReadPeople       Right = "read customers" // names, phones, addresses
	SeeMargins       Right = "see margins"    // costs, margins, day's end figures
	BookIn           Right = "book in"        // customers, vehicles, new cards
	EditCard         Right = "edit cards"     // lines, prices, parts, promise, stage
	RecordConsent    Right = "record consent" // a customer's yes or no
	Work             Right = "work on lines"  // clock, tick, snag, photo, check, fitment by hand
	WaiveFit         Right = "let a part through that nobody found to fit"
	CorrectClockings Right = "correct clockings"  // anybody's; one's own needs Work only
	ManageGarage     Right = "manage the garage"  // settings, operations, rates, suppliers, shifts
	KeepTablets      Right = "look after tablets" // enrol and revoke them, let a locked PIN try again
	ManageStaff      Right = "manage staff"       // accounts, tokens, anybody's sign-ins
	OwnSignIn        Right = "see your own sign-ins"
	SendQuote        Right = "send quotes"
	IssueBill        Right = "issue bills and credit notes"
	TakePayment      Right = "take payments"
	HandOver         Right = "hand cars over"
	SeeAccounts      Right = "see the accounts" // who owes what, VAT, exports
	AnswerQuote      Right = "answer a quote"   // the customer, by the link that was sent
)

var rights = map[Role]map[Right]bool{
	Owner: {ReadCards: true, ReadPeople: true, SeeMargins: true, BookIn: true, EditCard: true, RecordConsent: true,
		Work: true, WaiveFit: true, CorrectClockings: true, ManageGarage: true, KeepTablets: true, ManageStaff: true, OwnSignIn: true,
		SendQuote: true, IssueBill: true, TakePayment: true, HandOver: true, SeeAccounts: true},
	Desk: {ReadCards: true, ReadPeople: true, SeeMargins: true, BookIn: true, EditCard: true, RecordConsent: true, Work: true, WaiveFit: true,
		KeepTablets: true, OwnSignIn: true, SendQuote: true, IssueBill: true, TakePayment: true, HandOver: true, SeeAccounts: true},
	Technician: {ReadCards: true, Work: true, OwnSignIn: true},
	Customer:   {AnswerQuote: true},
}

// May tells whether the actor has a right.
func (a Actor) May(r Right) bool { return rights[a.Role][r] }

// Need returns nil when the actor has the right, an Unsigned error when
// nobody is signed in, and else a Forbidden one.
func (a Actor) Need(r Right) error {
	if !a.Known() {
		return apperr.New(apperr.Unsigned, "please sign in first")
	}
	if !a.May(r) {
		return apperr.New(apperr.Forbidden, "your sign-in may not %s", r)
	}
	return nil
}
