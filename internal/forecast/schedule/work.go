// Package schedule plays one day through: who starts which line when, given how
// long everything takes. It decides as a foreman does, by what can be seen at
// the time and never by what is still to come: how long a line takes is looked
// at when the line starts only to know when it ends, and a part that is not
// there is just not there.
package schedule

import (
	"errors"
	"fmt"
	"math"
)

// Span is a stretch of work, in hours from the moment the day is played from.
type Span struct{ From, To float64 }

// Technician is somebody who works. Breaks are the gaps between spans; a line
// that is not finished at the end of one goes on in the next.
type Technician struct {
	Spans []Span
}

// Car is what lines belong to.
type Car struct {
	// Places is how many lines may be worked on at once; 0 is as 1.
	Places int
	// OnRamp says that it stands on a ramp already.
	OnRamp bool
}

// Line is one piece of work.
type Line struct {
	Car int
	// After are lines that must be finished first.
	After []int
	// Can has a bit for every technician who is able to.
	Can uint64
	// Men is how many work on it at once, 1 or 2; 0 is as 1.
	Men int
	// Ramp says that the car must be up; it stays there from its first such
	// line to its last, waiting included.
	Ramp bool
	// Alone says that nobody else may be at the car meanwhile.
	Alone bool
	// Running are the technicians who are at it already, by a bit each.
	Running uint64
	// Done says that it is finished, or left out.
	Done bool
	// Blocked says that it will not be started: its part is known not to come.
	Blocked bool
	// Found says that nobody knows of it until the lines before it are done.
	// Where a draw then finds nothing it is gone at once.
	Found bool
}

// Shop is a day to be played: what does not differ between draws.
type Shop struct {
	Technicians []Technician
	Cars        []Car
	// Lines are in the order in which each car's are taken up.
	Lines []Line
	Ramps int

	of       [][]int // lines of each car
	before   []int   // how many lines must be finished before a line
	next     [][]int // lines that wait for a line
	prepared bool
}

// Most is how many technicians a day may have: a bit each.
const Most = 64

// Prepare checks a shop and works out what Play needs.
func (s *Shop) Prepare() error {
	if len(s.Technicians) > Most {
		return fmt.Errorf("at most %d technicians", Most)
	}
	for _, t := range s.Technicians {
		last := math.Inf(-1)
		for _, p := range t.Spans {
			if !(p.From >= last) || !(p.To > p.From) {
				return errors.New("spans of work follow one another")
			}
			last = p.To
		}
	}
	s.of = make([][]int, len(s.Cars))
	s.before, s.next = make([]int, len(s.Lines)), make([][]int, len(s.Lines))
	for i, l := range s.Lines {
		if l.Car < 0 || l.Car >= len(s.Cars) {
			return fmt.Errorf("line %d belongs to no car", i)
		}
		s.of[l.Car] = append(s.of[l.Car], i)
		for _, a := range l.After {
			if a < 0 || a >= len(s.Lines) {
				return fmt.Errorf("line %d comes after one that is not there", i)
			}
			if !s.Lines[a].Done {
				s.before[i]++
				s.next[a] = append(s.next[a], i)
			}
		}
	}
	if s.circle() {
		return errors.New("lines wait for one another in a circle")
	}
	s.prepared = true
	return nil
}

// circle says whether some lines wait for each other for ever.
func (s *Shop) circle() bool {
	left := append([]int(nil), s.before...)
	var free []int
	for i := range left {
		if left[i] == 0 {
			free = append(free, i)
		}
	}
	n := 0
	for len(free) > 0 {
		i := free[len(free)-1]
		free = free[:len(free)-1]
		n++
		for _, j := range s.next[i] {
			if left[j]--; left[j] == 0 {
				free = append(free, j)
			}
		}
	}
	return n < len(s.Lines)
}

// Draw is one way in which things may go. All are hours; one figure a line.
type Draw struct {
	// Hours is how long each line takes, or still takes when it runs.
	Hours []float64
	// Here is when its parts are here; 0 and less is now.
	Here []float64
	// Lag is how long after the lines before it a line can be started: while
	// the customer is asked about what was found.
	Lag []float64
	// Gone are lines that there is nothing of.
	Gone []bool
}

// NewDraw makes one for so many lines.
func NewDraw(lines int) *Draw {
	return &Draw{make([]float64, lines), make([]float64, lines), make([]float64, lines), make([]bool, lines)}
}

// Never is when what does not happen within the spans happens.
var Never = math.Inf(1)

// Played is how a draw went.
type Played struct {
	// Finish of each car, in hours; 0 when nothing was left to do, Never when
	// it is not finished within the technicians' spans.
	Finish []float64
	// Start and End of each line; Never where it did not happen. A line that
	// was running started at 0.
	Start, End []float64
	// By is who did it: the technicians' bits.
	By []uint64
}
