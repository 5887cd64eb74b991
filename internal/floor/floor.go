// Package floor says what a technician does next, and why, in words. It is
// worked out from one look at all that is here to be worked on; the working
// out knows no database and no clock of its own.
//
// A line stands in exactly one of the lists of a Plan. Of those that the
// customer agreed to, the next one is, in this order of weight: one that
// nothing hinders; one that must be done before one for which there is time;
// one that the technician has begun; one that is not meant for somebody else;
// the one whose car comes first in the order that was set for the day; the one
// whose car is promised first; one meant for this technician; the one that
// stands higher on the card.
package floor

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
)

// Snapshot is the floor at one moment as one technician may plan from it.
type Snapshot struct {
	Garage garage.Settings
	Now    time.Time
	Me     actor.StaffID
	// In tells whether the technician is signed in to work.
	In    bool
	Staff map[actor.StaffID]string
	Cars  map[jobcard.CardID]Car
	// Lines are those of all cars that are here to be worked on, but for the
	// ones struck out.
	Lines []Line
}

// Car is a card as the floor sees it.
type Car struct {
	CardID     jobcard.CardID
	Mark       string // as it is shown, or else the VIN
	Name       string
	PromisedAt time.Time // zero when nothing is promised
	// Place is the car's in the order that was set for the day; 0 for none.
	Place int
}

// Line is a line as the floor sees it. There is no money on it.
type Line struct {
	ID          jobcard.LineID
	CardID      jobcard.CardID
	Position    int
	Title       string
	MustDo      bool
	WorkState   jobcard.WorkState
	StateReason string
	DecidedBy   string
	Consent     jobcard.Consent
	Estimate    hours.Estimate
	Safety      bool
	WheelsOff   bool
	// Stripped tells whether the old parts are off.
	Stripped   bool
	AssignedTo actor.StaffID
	DoneBy     actor.StaffID
	Checked    bool // by a second person
	After      []jobcard.LineID
	Parts      []Part
	Hands      []Hand
	// Again says of a line that is asked that it was agreed to at a lower price;
	// Ahead is why it may be worked on all the same, empty when nobody said so.
	Again bool
	Ahead string
	// Blocked says what stood in the way last, while nobody has gone on since.
	Blocked string
	// Cautions are those of the work and of the car; Read are those that the
	// technician has read for this line.
	Cautions, Read []caution.Key
}

// Part is a part of a line as the floor sees it.
type Part struct {
	ID      jobcard.PartID
	LineID  jobcard.LineID
	Name    string
	Number  string
	Supply  jobcard.Supply
	Verdict jobcard.Verdict
	// Held tells whether the part keeps the gate of its line closed.
	Held  bool
	DueAt time.Time
}

// outstanding tells whether work may have to wait for the part.
func (p Part) outstanding() bool { return p.Supply == jobcard.Needed || p.Supply == jobcard.Ordered }

// Hand is somebody who has worked on a line.
type Hand struct {
	StaffID actor.StaffID
	Worked  time.Duration // up to now
	Since   time.Time     // when they last began, if they are on it now; else zero
}

// On are those who are on the line now.
func (l Line) On() []Hand {
	var on []Hand
	for _, h := range l.Hands {
		if !h.Since.IsZero() {
			on = append(on, h)
		}
	}
	return on
}

func (l Line) hand(id actor.StaffID) (Hand, bool) {
	for _, h := range l.Hands {
		if h.StaffID == id {
			return h, true
		}
	}
	return Hand{}, false
}

// Worked is the time put into the line so far, by everybody.
func (l Line) Worked() time.Duration {
	var sum time.Duration
	for _, h := range l.Hands {
		sum += h.Worked
	}
	return sum
}

// Unagreed tells whether the line waits for the customer's yes: nobody can
// start or tick it.
func (l Line) Unagreed() bool { return l.Consent == jobcard.Asked && l.Ahead == "" }

// settled tells whether nothing is left to do on the line at this visit.
func (l Line) settled() bool {
	return l.Consent == jobcard.Declined || l.WorkState == jobcard.Done || l.WorkState == jobcard.Deferred
}

// needsCheck tells whether a second person still has to look at it.
func (l Line) needsCheck() bool {
	return l.WorkState == jobcard.Done && (l.Safety || l.WheelsOff) && !l.Checked
}
