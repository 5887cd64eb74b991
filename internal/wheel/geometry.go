package wheel

import (
	"errors"
	"math"

	"rampside/internal/length"
)

// Stance is a wheel's width and offset: where its rim stands to the hub.
type Stance struct {
	Width, Offset length.Micron
	// Spacer is the thickness between hub and wheel, 0 for none.
	Spacer length.Micron
}

// Back is how far the rim reaches inward from the hub's face: half the width
// plus the offset, less a spacer. 8 in with ET45 is 146.6 mm. The width is
// that between the flanges: over all a wheel is about an inch wider, so do not
// mix the two.
func (s Stance) Back() length.Micron { return s.Width/2 + s.Offset - s.Spacer }

// Front is how far it reaches outward: half the width less the offset, plus a
// spacer. 8 in with ET45 is 56.6 mm.
func (s Stance) Front() length.Micron { return s.Width/2 - s.Offset + s.Spacer }

// Move is what one stance changes against another: how much further the rim
// reaches inward and outward, above zero meaning less room, and how much wider
// the track becomes. 8 in ET45 to 9 in ET35 is +2.7 in, +22.7 out.
type Move struct{ Inner, Outer, Track length.Micron }

// Against is the move from old to s.
func (s Stance) Against(old Stance) Move {
	return Move{
		Inner: s.Back() - old.Back(), Outer: s.Front() - old.Front(),
		Track: 2 * ((old.Offset - old.Spacer) - (s.Offset - s.Spacer)),
	}
}

// SeatDiameter is the specified rim diameter D at the bead seat of a nominal
// rim, in the series of ISO 4000-2 for cars' drop-centre rims: 25.4 mm an inch
// less 0.8 mm up to 16 in, plus 4.8 mm from 17 in on. 16 is 405.6, 17 is
// 436.6 mm. A rim with half an inch in its code has a 15 degree seat and is
// exact.
func SeatDiameter(nominal length.Micron) length.Micron {
	switch {
	case nominal%length.Inch != 0:
		return nominal
	case nominal <= 16*length.Inch:
		return nominal - 800
	}
	return nominal + 4800
}

// FlangeHeight is that of a J flange above the bead seat, in the same series.
const FlangeHeight length.Micron = 17_500

// OuterRadius is that of the rim with J flanges: 235.8 mm for 17 in.
func OuterRadius(nominal length.Micron) length.Micron {
	return SeatDiameter(nominal)/2 + FlangeHeight
}

// Errors of the stud circle, fit to stand beside the field.
var (
	ErrHoles = errors.New("3 to 12 fixings, please")
	ErrApart = errors.New("fixings are between 20 and 250 mm apart, from middle to middle")
)

// CircleOf is the diameter of the stud circle from the distance between the
// middles of two fixings next to each other: that over sin(180 degrees / n).
// Of five it is the distance times 1.7013, of four times 1.4142, of three
// times 1.1547. In millimetres; a millimetre of reading is that many times as
// much in the circle.
func CircleOf(holes int, apart length.Micron) (mm float64, err error) {
	if holes < 3 || holes > 12 {
		return 0, ErrHoles
	}
	if apart < 20*length.MM || apart > 250*length.MM {
		return 0, ErrApart
	}
	return apart.MM() / math.Sin(math.Pi/float64(holes)), nil
}

// ApartOf is the distance between two fixings next to each other on a circle,
// in millimetres: 4x114.3 gives 80.82.
func ApartOf(p Pattern) float64 {
	if p.Holes < 2 {
		return 0
	}
	return p.Circle.MM() * math.Sin(math.Pi/float64(p.Holes))
}

// Nearest is the stud circle that cars have nearest to a computed one. Two may
// be so close (107.95 and 108) that only the maker's data tell them apart.
func Nearest(mm float64) length.Micron {
	best := knownCircles[0]
	for _, c := range knownCircles {
		if math.Abs(c.MM()-mm) < math.Abs(best.MM()-mm) {
			best = c
		}
	}
	return best
}
