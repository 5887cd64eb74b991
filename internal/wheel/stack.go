package wheel

import (
	"math"

	"rampside/internal/length"
)

// Link is one measurement of a chain: its size, counted with its sign, and by
// how much it may be off either way.
type Link struct {
	Name string
	Size length.Micron
	Off  length.Micron
}

// Stack is a chain of measurements that leave a gap.
type Stack []Link

// Gap is the sum of the chain.
func (s Stack) Gap() length.Micron {
	var sum length.Micron
	for _, l := range s {
		sum += l.Size
	}
	return sum
}

// Worst is the tolerance of the gap if all are off the wrong way at once: the
// sum of theirs. It is what a part that must not touch is judged by.
func (s Stack) Worst() length.Micron {
	var sum length.Micron
	for _, l := range s {
		sum += l.Off.Abs()
	}
	return sum
}

// Likely is the tolerance if they are off by chance and apart from each other:
// the root of the sum of their squares. To the nearest micrometre.
func (s Stack) Likely() length.Micron {
	sum := 0.0
	for _, l := range s {
		sum += l.Off.MM() * l.Off.MM()
	}
	return length.Float(math.Sqrt(sum))
}

// Answer is whether a gap is enough.
type Answer string

// The answers.
const (
	Clears     Answer = "fits"
	Fouls      Answer = "does not fit"
	CannotTell Answer = "cannot tell"
)

// Room is a gap against what it needs to be.
type Room struct {
	Stack
	// Need is the least gap that is asked for.
	Need length.Micron
}

// Margin is what the gap has over its need, without tolerance.
func (r Room) Margin() length.Micron { return r.Gap() - r.Need }

// WorstMargin is the margin with all tolerances against it, LikelyMargin with
// the tolerance by chance.
func (r Room) WorstMargin() length.Micron  { return r.Margin() - r.Worst() }
func (r Room) LikelyMargin() length.Micron { return r.Margin() - r.Likely() }

// Answer: it clears when it does in the worst case, fouls when it would even
// in the best, and else nobody can tell without measuring closer.
func (r Room) Answer() Answer {
	switch {
	case r.WorstMargin() >= 0:
		return Clears
	case r.Margin()+r.Worst() < 0:
		return Fouls
	}
	return CannotTell
}
