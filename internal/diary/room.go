package diary

import (
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/internal/variance"
	"rampside/internal/workday"
)

// Room is the hours booked on a day against the hours there are.
type Room struct {
	Booked, There time.Duration
	// Jobs add up to Booked, Hands to There.
	Jobs  []Job
	Hands []Hand
	// Left is what is left of the jobs now, and LeftThere what is left of the
	// shifts; both on today only.
	Left, LeftThere time.Duration
	Today           bool
}

// Job is what one card takes of a day.
type Job struct {
	Card  jobcard.CardID
	Mark  string
	Hours time.Duration
	Left  time.Duration
	// Over says that it was carried over from an earlier day.
	Over bool
}

// Hand is the hours of one technician on a day: the shift less its breaks,
// none when they are away.
type Hand struct {
	Name  string
	Hours time.Duration
	Left  time.Duration
}

// Full is hours booked over the hours there are.
func (r Room) Full() variance.Ratio { return variance.Ratio{Part: r.Booked, Whole: r.There} }

// Free is how many hours may still be booked; below zero when the day is
// booked beyond what there is.
func (r Room) Free() time.Duration { return r.There - r.Booked }

// roomOn works a day's room out. What is carried over takes its place first.
func roomOn(d Day, plan roster.Plan, now time.Time) Room {
	r := Room{Today: plan.Garage.Today(now) == d.Day}
	for _, b := range d.Over {
		r.job(b, true)
	}
	for _, b := range d.Bookings {
		r.job(b, false)
	}
	for _, w := range plan.Technicians {
		h := Hand{Name: w.Name, Hours: plan.Hours(w.Week, d.Day)}
		if r.Today && h.Hours > 0 {
			h.Left = leftOf(*w.On(d.Day), d.Day, plan.Garage.Location(), now)
		}
		r.There += h.Hours
		r.LeftThere += h.Left
		r.Hands = append(r.Hands, h)
	}
	return r
}

func (r *Room) job(b Booking, over bool) {
	j := Job{Card: b.Card, Mark: b.Mark, Hours: b.Hours, Over: over}
	if r.Today {
		j.Left = b.Left
	}
	r.Booked += j.Hours
	r.Left += j.Left
	r.Jobs = append(r.Jobs, j)
}

// leftOf is how much of a shift is still to come at now. Its break counts as
// taken in the middle, as everywhere in the roster.
func leftOf(s workday.Shift, d workday.Day, loc *time.Location, now time.Time) time.Duration {
	span := s.Span(d, loc)
	if !now.After(span.From) {
		return s.Available(d, loc)
	}
	left := workday.Span{From: now, To: span.To}.Elapsed()
	if now.Before(workday.At(d, (s.Start+s.End)/2, loc)) {
		left = max(0, left-s.Break)
	}
	return left
}
