// Package diary is what is booked for which day: the cars that come in, what
// each was promised for, what it waits for, and whether there are hours enough
// for it all.
//
// # Hours
//
// The hours a card takes of a day are the likely hours of its lines, less what
// was put into them before that day; a line that is struck out, declined or
// deferred takes none, and neither does one that was done before. So a job
// that is carried over takes only what is left of it. Against them stand the
// hours there are: the technicians' shifts less their breaks and absences.
package diary

import (
	"cmp"
	"slices"
	"time"

	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// Diary is some days of bookings as they stand at Now.
type Diary struct {
	Garage garage.Settings
	Now    time.Time
	Today  workday.Day
	Days   []Day
	// Cut says that there is more than the diary holds, and the last of it is
	// missing.
	Cut bool
}

// Day is one day of the diary.
type Day struct {
	Day workday.Day
	// Works tells whether the garage is open that day.
	Works    bool
	Bookings []Booking
	// Over are cars of earlier days that are still in the garage, and Missed
	// those booked for an earlier day that never came. Both are on today only.
	Over, Missed []Booking
	Room         Room
}

// Booking is one card in the diary.
type Booking struct {
	Card       jobcard.CardID
	VehicleID  vehicle.ID
	Mark       string // or the VIN of a car that has none
	Car        string // make and model
	CustomerID customer.ID
	Customer   string
	// Phone is how to reach whoever brings the car; empty for those who may
	// not read it.
	Phone       string
	Stage       jobcard.Stage
	BookedFor   workday.Day
	ArrivesAt   time.Time // zero when not said
	PromisedAt  time.Time // zero when nothing is promised
	ReadyAt     time.Time
	CollectedAt time.Time
	// Late says that the promise has passed and the car is not ready.
	Late bool
	// Lines counts the lines to be done at this visit, Done those that are.
	Lines, Done int
	// Hours is what the card takes of the day it stands on, Left what is left
	// of that now.
	Hours, Left time.Duration
	Shares      []LineHours
	Waits       []Wait
}

// LineHours is what one line takes of a day.
type LineHours struct {
	Title  string
	Likely time.Duration
	// Before was put into it before that day; Takes is what remains of Likely.
	Before, Takes time.Duration
	// Worked was put into it by now, and Left is what remains.
	Worked, Left time.Duration
	Done         bool
}

// line and part are as they were read.
type line struct {
	card    jobcard.CardID
	id      jobcard.LineID
	title   string
	state   jobcard.WorkState
	consent jobcard.Consent
	likely  time.Duration
	doneAt  time.Time
	// unchecked says that a second person's check is needed and missing.
	unchecked bool
}

// counts tells whether the line is to be done at this visit.
func (l line) counts() bool { return l.consent != jobcard.Declined && l.state != jobcard.Deferred }

type part struct {
	card   jobcard.CardID
	name   string
	supply jobcard.Supply
	own    bool // the customer brings it
	dueAt  time.Time
}

type stint struct {
	line jobcard.LineID
	name string
	from time.Time
	to   time.Time // zero while it goes on
}

// loaded is what was read for a diary, before anything is worked out.
type loaded struct {
	bookings []Booking
	lines    map[jobcard.CardID][]line
	parts    map[jobcard.CardID][]part
	stints   map[jobcard.LineID][]stint
	cut      bool
}

// put works a booking out as it stands on day d.
func (l *loaded) put(b Booking, d workday.Day, set garage.Settings, now time.Time) Booking {
	start, _ := workday.Bounds(d, set.Location())
	for _, x := range l.lines[b.Card] {
		if !x.counts() {
			continue
		}
		b.Lines++
		h := LineHours{Title: x.title, Likely: x.likely, Done: x.state == jobcard.Done}
		for _, s := range l.stints[x.id] {
			to := s.to
			if to.IsZero() {
				to = now
			}
			span := workday.Span{From: s.from, To: to}
			h.Worked += span.Elapsed()
			h.Before += span.Overlap(workday.Span{From: s.from, To: start}).Elapsed()
		}
		if h.Done {
			b.Done++
		} else {
			h.Left = max(0, h.Likely-h.Worked)
		}
		if !h.Done || !x.doneAt.Before(start) {
			h.Takes = max(0, h.Likely-h.Before)
		}
		b.Hours += h.Takes
		if b.Stage.Live() {
			b.Left += h.Left
		}
		b.Shares = append(b.Shares, h)
	}
	b.Late = b.Stage.Live() && b.Stage != jobcard.Ready && !b.PromisedAt.IsZero() && b.PromisedAt.Before(now)
	b.Waits = l.waits(b, set, now)
	return b
}

// byTime orders a day as the cars come in; those that may come at any time
// are last.
func byTime(a, b Booking) int {
	last := func(t time.Time) int {
		if t.IsZero() {
			return 1
		}
		return 0
	}
	return cmp.Or(
		cmp.Compare(last(a.ArrivesAt), last(b.ArrivesAt)), a.ArrivesAt.Compare(b.ArrivesAt),
		cmp.Compare(last(a.PromisedAt), last(b.PromisedAt)), a.PromisedAt.Compare(b.PromisedAt),
		cmp.Compare(a.Card, b.Card))
}

// onDay gathers one day.
func (l *loaded) onDay(d workday.Day, set garage.Settings, now time.Time) Day {
	today := set.Today(now)
	out := Day{Day: d, Works: set.WorksOn(d)}
	for _, b := range l.bookings {
		switch {
		case b.BookedFor == d:
			out.Bookings = append(out.Bookings, l.put(b, d, set, now))
		case d != today || !b.BookedFor.Before(d) || !b.Stage.Live():
		case b.Stage == jobcard.Booked:
			out.Missed = append(out.Missed, l.put(b, d, set, now))
		default:
			out.Over = append(out.Over, l.put(b, d, set, now))
		}
	}
	slices.SortFunc(out.Bookings, byTime)
	for _, old := range [][]Booking{out.Over, out.Missed} {
		slices.SortFunc(old, func(a, b Booking) int { return cmp.Or(a.BookedFor.Compare(b.BookedFor), byTime(a, b)) })
	}
	return out
}
