package fact

import (
	"slices"

	"rampside/internal/caution"
)

// Place is where on the car a fact is read.
type Place string

// The places.
const (
	AtLogbook Place = "logbook"
	Outside   Place = "outside"
	InCabin   Place = "in the cabin"
	AtPlate   Place = "maker's plate"
	UnderHood Place = "under the bonnet"
	AtWheel   Place = "at the wheel"
	OnOldPart Place = "on the old part"
	WheelOff  Place = "with the wheel off"
	UnderCar  Place = "under the car"
)

// places run from the easiest to get at to the hardest (common practice, no
// published source): paper first, then what is seen without a tool, then what
// has to come off or up.
var places = []Place{AtLogbook, Outside, InCabin, AtPlate, UnderHood, AtWheel, OnOldPart, WheelOff, UnderCar}

// Places lists the places, the easiest to get at first.
func Places() []Place { return slices.Clone(places) }

// Ease is 0 for the place that is easiest to get at, and more for each that is
// harder.
func (p Place) Ease() int {
	if i := slices.Index(places, p); i >= 0 {
		return i
	}
	return len(places)
}

// At is the place as a sentence has it: read it in the logbook.
func (p Place) At() string {
	switch p {
	case AtLogbook:
		return "in the logbook"
	case AtPlate:
		return "on the maker's plate"
	}
	return string(p)
}

var placeCare = map[Place][]caution.Key{
	WheelOff: {caution.Lifting, caution.Wheels},
	UnderCar: {caution.Lifting},
}

// Cautions are what being at the place calls for, whatever is read there.
func (p Place) Cautions() []caution.Key { return slices.Clone(placeCare[p]) }
