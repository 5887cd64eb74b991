// Package clocking is who worked on which line, from when to when.
//
// A technician is on at most one line at a time: the database holds that by
// an exclusion constraint, so clocking on to a line clocks off the former one.
// Whoever writes clockings of a person locks, in this order, the person's own
// row and the cards in the order of their numbers; so two tablets in one hand
// wait for one another instead of failing.
//
// A clocking that lasted less than a second is a slip of the finger: it is
// voided, on record. One left over from an earlier day ends where it most
// likely did, on record too, and not with the tap of the next morning.
package clocking

import (
	"errors"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// ID names one clocking.
type ID int64

// Clocking is one technician on one line from a start to an end. It carries
// no money: what the time costs is in Work.
type Clocking struct {
	ID      ID
	StaffID actor.StaffID
	Name    string
	LineID  jobcard.LineID
	CardID  jobcard.CardID
	Title   string // of the line
	Car     string // its mark as it is shown, or else its VIN
	From    time.Time
	To      time.Time // zero while it is open
	// Voided ones never happened and count for nothing.
	Voided  bool
	Version int
}

// Open tells whether the work still goes on.
func (k Clocking) Open() bool { return k.To.IsZero() && !k.Voided }

// Span is the time of the clocking, up to now while it is open.
func (k Clocking) Span(now time.Time) workday.Span {
	if k.To.IsZero() {
		return workday.Span{From: k.From, To: now}
	}
	return workday.Span{From: k.From, To: k.To}
}

// Correction is one change to a clocking afterwards, as it was made.
type Correction struct {
	ClockingID ID
	// Was and Became are the times before and after; To is zero for an open
	// end. Became is the zero Span when the clocking was voided.
	Was, Became workday.Span
	Voided      bool
	Reason      string
	By          string // empty when it was made without anybody's doing
	At          time.Time
}

// Forgotten is a clocking still open although the garage has closed.
type Forgotten struct {
	Clocking
	// Likely is when it most likely ended.
	Likely time.Time
}

// Unread says that a line's cautions must be read before clocking on to it.
type Unread struct {
	LineID   jobcard.LineID
	CardID   jobcard.CardID
	Title    string
	Cautions []caution.Key
}

func (u Unread) err() error {
	e := apperr.New(apperr.Conflict, "read the cautions of “%s” first, and say that you have", u.Title)
	e.Current = u
	return e
}

// UnreadOf gives the cautions that are still to be read, when err says so.
func UnreadOf(err error) (Unread, bool) {
	var e *apperr.Error
	if !errors.As(err, &e) {
		return Unread{}, false
	}
	u, ok := e.Current.(Unread)
	return u, ok
}

const (
	// shortest is what a clocking must last to count.
	shortest = time.Second
	// longest is the longest stretch of work that a correction may claim.
	longest = 24 * time.Hour
	// lateNight is how long work begun on one day may go on into the next
	// before it is taken for forgotten.
	lateNight = 4 * time.Hour
	// skew is how long after its moment a change may find that another one was
	// quicker: it waited for a lock, or the clocks of two servers differ. What
	// it begins then begins where the other one ended.
	skew = time.Minute
)

// Forgot tells whether a clocking that began at from and is open at now has
// been forgotten: the garage has closed since. Work begun after closing is
// forgotten when the garage's day is over.
func Forgot(set garage.Settings, from, now time.Time) bool {
	day := set.Today(from)
	limit := set.ClosesAt(day)
	if !from.Before(limit) {
		_, limit = workday.Bounds(day, set.Location())
	}
	return now.After(limit)
}

// LikelyEnd is when a forgotten clocking most likely ended: with the shift of
// that day, else when the garage closed, else with the day; the first of them
// that comes after from, and no later than now.
func LikelyEnd(set garage.Settings, shift *workday.Shift, from, now time.Time) time.Time {
	day := set.Today(from)
	_, end := workday.Bounds(day, set.Location())
	if c := set.ClosesAt(day); c.After(from) {
		end = c
	}
	if shift != nil {
		if e := workday.At(day, shift.End, set.Location()); e.After(from) {
			end = e
		}
	}
	if end.After(now) {
		return now
	}
	return end
}

// leftOver tells whether a clocking that is being ended at now began on an
// earlier day of the garage, too long ago to be late work.
func leftOver(set garage.Settings, from, now time.Time) bool {
	return now.Sub(from) > lateNight && set.Today(from).Before(set.Today(now))
}
