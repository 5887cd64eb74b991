// Package brake computes how far worn a brake is and how long it lasts.
//
// A maker's limit is a finding of the workshop. It is not a category of the
// periodic inspection, where a disc below its maker's least thickness does not
// fail by that alone (MOT inspection manual for cars, 1.1.14).
package brake

import (
	"errors"
	"math"

	"rampside/internal/length"
)

// Wear is one disc, drum or pad: its thickness when it was new or last
// measured, now, and the least its maker allows. A drum wears the other way:
// its diameter grows, see Drum.
type Wear struct {
	Then, Now, Limit length.Micron
	// Distance is how far the car went from Then to Now, in miles or
	// kilometres; the answers are in the same. 0 where it is not known.
	Distance int64
	// Drum says that Then, Now and Limit are inner diameters, and Limit the
	// greatest.
	Drum bool
}

// DistanceMost is the longest distance taken.
const DistanceMost = 2_000_000

// Errors of Check, by the field that they stand beside.
var (
	ErrNowThicker = errors.New("it is thicker now than it was: check the figures, or leave out the earlier one")
	ErrNowSmaller = errors.New("the drum is smaller now than it was: check the figures, or leave out the earlier one")
	ErrLimit      = errors.New("the limit is more than it was new: is that the thickness of a new one?")
	ErrLimitDrum  = errors.New("the limit is less than it was new: is that the diameter of a new one?")
	ErrDistance   = errors.New("a distance between 0 and 2,000,000, please")
)

// Check says what of the figures cannot be. then is false where Then was not
// given.
func (w Wear) Check(then bool) error {
	switch {
	case w.Distance < 0 || w.Distance > DistanceMost:
		return ErrDistance
	case !then:
		return nil
	case w.Worn() < 0 && w.Drum:
		return ErrNowSmaller
	case w.Worn() < 0:
		return ErrNowThicker
	case w.sign(w.Then-w.Limit) < 0 && w.Drum:
		return ErrLimitDrum
	case w.sign(w.Then-w.Limit) < 0:
		return ErrLimit
	}
	return nil
}

func (w Wear) sign(l length.Micron) length.Micron {
	if w.Drum {
		return -l
	}
	return l
}

// Worn is what has gone since Then.
func (w Wear) Worn() length.Micron { return w.sign(w.Then - w.Now) }

// Left is what may still go until the limit; below zero it is beyond it.
func (w Wear) Left() length.Micron { return w.sign(w.Now - w.Limit) }

// Rate is the wear per 1000 of the distance's unit, in millimetres; ok is
// false without a distance.
func (w Wear) Rate() (mmPer1000 float64, ok bool) {
	if w.Distance <= 0 || w.Worn() < 0 {
		return 0, false
	}
	return w.Worn().MM() * 1000 / float64(w.Distance), true
}

// Lasts is how far it goes until the limit at the rate so far, in whole units
// of the distance, rounded down: what is left times distance over what has
// worn. 0 at or beyond the limit; ok is false where there is no rate to go by.
func (w Wear) Lasts() (distance int64, ok bool) {
	worn := int64(w.Worn())
	if w.Distance <= 0 || worn <= 0 {
		return 0, false
	}
	left := int64(w.Left())
	if left <= 0 {
		return 0, true
	}
	// A thickness is below 10^7 micrometres and a distance at most 2*10^6, so
	// that the product holds.
	return left * w.Distance / worn, true
}

// Spread is between which distances it lasts when each thickness may be off by
// off either way: the nearer and the farther, rounded down. known is false when
// the wear is within the error, so that there is no telling.
func (w Wear) Spread(off length.Micron) (near, far int64, known bool) {
	lasts, ok := w.Lasts()
	if !ok {
		return 0, 0, false
	}
	worn, left := w.Worn(), w.Left()
	if worn <= 2*off {
		return 0, 0, false
	}
	at := func(left, worn length.Micron) int64 {
		if left <= 0 {
			return 0
		}
		return int64(left) * w.Distance / int64(worn)
	}
	// Now stands in both, so that an error of it moves both at once.
	near = at(left-off, worn+2*off)
	far = at(left+off, worn-2*off)
	return min(near, lasts), max(far, lasts), true
}

// WornPercent is how much of what may wear is gone, of Then to Limit; ok is
// false where that is nothing.
func (w Wear) WornPercent() (percent float64, ok bool) {
	all := w.sign(w.Then - w.Limit)
	if all <= 0 {
		return 0, false
	}
	return math.Round(float64(w.Worn())/float64(all)*1000) / 10, true
}

// PadDangerous is below which thickness of lining the MOT inspection calls a
// pad dangerous: 1.5 mm (inspection manual for cars, 1.1.13).
const PadDangerous length.Micron = 1500
