package workday

import (
	"errors"
	"time"
)

// Shift is when somebody works on a day: from Start to End by the clock, with
// breaks of so long in between. It ends on the day it starts.
type Shift struct {
	Start, End Clock
	Break      time.Duration
}

// Errors of Shift.Check, fit to stand beside the field.
var (
	ErrShiftEnd   = errors.New("the shift must end after it starts, on the same day")
	ErrShiftBreak = errors.New("the breaks must be shorter than the shift")
)

// Check gives the first thing wrong with the shift, or nil.
func (s Shift) Check() error {
	switch {
	case !s.Start.Valid() || !s.End.Valid():
		return ErrHour
	case s.End <= s.Start:
		return ErrShiftEnd
	case s.Break < 0 || s.Break >= time.Duration(s.End-s.Start)*time.Minute:
		return ErrShiftBreak
	}
	return nil
}

// Span is the shift as real time on d, breaks included.
func (s Shift) Span(d Day, loc *time.Location) Span {
	return Span{At(d, s.Start, loc), At(d, s.End, loc)}
}

// Available is how much real time the shift leaves for work on d, its breaks
// taken off; never below zero.
func (s Shift) Available(d Day, loc *time.Location) time.Duration {
	return max(0, s.Span(d, loc).Elapsed()-s.Break)
}

// Span is real time from From up to but not including To. A span whose To is
// not after From is empty.
type Span struct{ From, To time.Time }

// Elapsed is how much real time passes in the span; zero when it is empty.
func (s Span) Elapsed() time.Duration { return max(0, s.To.Sub(s.From)) }

// Empty tells whether no time passes in the span.
func (s Span) Empty() bool { return !s.To.After(s.From) }

// Contains tells whether t lies in the span.
func (s Span) Contains(t time.Time) bool { return !t.Before(s.From) && t.Before(s.To) }

// Overlap is the part that s and o share; empty when they share none.
func (s Span) Overlap(o Span) Span {
	if o.From.After(s.From) {
		s.From = o.From
	}
	if o.To.Before(s.To) {
		s.To = o.To
	}
	if s.Empty() {
		return Span{}
	}
	return s
}

// OnDay is how much of the span falls on d in loc.
func (s Span) OnDay(d Day, loc *time.Location) time.Duration {
	return s.Overlap(BoundsSpan(d, loc)).Elapsed()
}

// Piece is the part of a span that falls on one day.
type Piece struct {
	Day Day
	Span
}

// Split cuts the span at the ends of the garage's days. The pieces are in
// order, none is empty, and together they are the span; there is one for each
// day, so mind a span of years.
func (s Span) Split(loc *time.Location) []Piece {
	var pieces []Piece
	if s.Empty() {
		return nil
	}
	for d := Of(s.From, loc).AddDays(-1); ; d = d.AddDays(1) {
		day := BoundsSpan(d, loc)
		if !day.From.Before(s.To) {
			return pieces
		}
		if p := s.Overlap(day); !p.Empty() {
			pieces = append(pieces, Piece{d, p})
		}
	}
}

// Total is the real time of all the spans; time in two of them counts twice.
func Total(spans []Span) time.Duration {
	var sum time.Duration
	for _, s := range spans {
		sum += s.Elapsed()
	}
	return sum
}
