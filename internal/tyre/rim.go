package tyre

import (
	"rampside/internal/length"
)

// rimBand is how wide a rim tyres of an aspect ratio take, as parts of the
// nominal section width in thousandths.
type rimBand struct {
	from                         int // aspect ratio from which the band holds
	measuring, narrowest, widest length.Micron
}

// rimBands follow the guide of ISO 4000-1 and ETRTO (the ratios from memory).
// They give the measuring rims that a tyre trader publishes for twelve sizes
// and the narrowest rims of ETRTO's table of the 80 series; a size in which
// the standard's own table departs from its guide by half an inch exists.
var rimBands = []rimBand{
	{75, 700, 650, 850},
	{70, 750, 650, 850},
	{60, 750, 700, 900},
	{50, 800, 700, 900},
	{45, 850, 800, 950},
	{35, 900, 850, 1000},
	{0, 900, 850, 950},
}

func bandOf(aspect int) rimBand {
	for _, b := range rimBands {
		if aspect >= b.from {
			return b
		}
	}
	return rimBands[len(rimBands)-1]
}

// Rims is the rim a tyre is measured on, and the narrowest and widest it may
// usually be fitted to.
type Rims struct{ Narrowest, Measuring, Widest length.Micron }

// RimStep is the step in which rims of cars come: half an inch.
const RimStep = length.Inch / 2

// Rims computes rim widths from the size: section width times a ratio of its
// aspect band, to the nearest half inch. The tyre maker's own list comes
// before it.
func (s Size) Rims() Rims {
	b := bandOf(s.Aspect)
	at := func(part length.Micron) length.Micron {
		return (s.Width*part/1000 + RimStep/2) / RimStep * RimStep
	}
	return Rims{at(b.narrowest), at(b.measuring), at(b.widest)}
}

// Take says how a rim of a width stands to the range.
func (r Rims) Take(rim length.Micron) RimAnswer {
	switch {
	case rim >= r.Narrowest && rim <= r.Widest:
		return RimWithin
	case rim >= r.Narrowest-RimStep && rim <= r.Widest+RimStep:
		return RimAtEdge
	}
	return RimOutside
}

// RimAnswer is how a rim stands to the usual range.
type RimAnswer int

// The answers. At the edge, half an inch beyond the computed range, only the
// maker's list can tell.
const (
	RimWithin RimAnswer = iota
	RimAtEdge
	RimOutside
)

// WidthOn is the section width of the tyre on a rim, to the nearest
// millimetre: S = S1 + 0.4 (A - A1), where A is the rim's width and A1 the
// theoretical rim of 0.7 S1, or 0.85 S1 below 50 (UN R30, paragraph 6.1.1.1
// for the formula; the two factors as a tyre maker prints them for its
// dealers). A made tyre may be up to 4 % wider.
func (s Size) WidthOn(rim length.Micron) length.Micron {
	theoretical := s.Width * 700 / 1000
	if s.Aspect < 50 {
		theoretical = s.Width * 850 / 1000
	}
	return length.Micron((s.Width + (rim-theoretical)*4/10).Whole()) * length.MM
}
