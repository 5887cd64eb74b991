package wheel

import "rampside/internal/length"

// Measured is a length with its tolerance either way.
type Measured struct {
	Size, Off length.Micron
}

// Over is a wheel to go over a brake. Radii are from the middle of the hub,
// reaches from the hub's mounting face, outward above zero.
type Over struct {
	// Barrel is the inner radius of the rim where the caliper stands, the
	// smallest on the way over it.
	Barrel Measured
	// CaliperRadius is the caliper's outermost point from the middle of the
	// hub, its bolts and hose too.
	CaliperRadius Measured
	// Weights is how far balance weights stand off inside the barrel.
	Weights length.Micron
	// Runout is how far the rim may run out of true; at the radius it counts
	// half of what a dial shows over a turn.
	Runout length.Micron

	// Spoke is how far the inner side of the spokes stands outward of the
	// wheel's mounting face, at the caliper's radius; CaliperReach how far the
	// caliper stands outward of the hub's face. HasSpoke is false where these
	// are not known.
	Spoke, CaliperReach Measured
	HasSpoke            bool
	Spacer              length.Micron

	// Need is the least running gap, in both directions.
	Need length.Micron
}

// RunningGap is the gap that a wheel keeps from a brake: 3 mm, for dirt, heat
// and a bearing's play (common practice, no published source; the maker's
// figure comes before it).
const RunningGap = 3 * length.MM

// MeasureOff is by how much a rule or a caliper in hand is off: half a
// millimetre (common practice).
const MeasureOff length.Micron = 500

// Radial is the room between barrel and caliper: barrel radius less the
// caliper's, less weights.
func (o Over) Radial() Room {
	return Room{Need: o.Need, Stack: Stack{
		{"inner radius of the barrel", o.Barrel.Size, o.Barrel.Off},
		{"balance weights inside it", -o.Weights, 0},
		{"outermost point of the caliper", -o.CaliperRadius.Size, o.CaliperRadius.Off},
		{"rim out of true", 0, o.Runout},
	}}
}

// Spokes is the room between spokes and caliper: the spokes' inner side and a
// spacer, less how far the caliper stands out.
func (o Over) Spokes() Room {
	return Room{Need: o.Need, Stack: Stack{
		{"inner side of the spokes from the mounting face", o.Spoke.Size, o.Spoke.Off},
		{"spacer", o.Spacer, 0},
		{"caliper outward of the hub's face", -o.CaliperReach.Size, o.CaliperReach.Off},
	}}
}

// Answer is that of both directions: the worse of the two. Without the spokes'
// measurements it clears nothing.
func (o Over) Answer() Answer {
	radial := o.Radial().Answer()
	if radial == Fouls {
		return Fouls
	}
	if !o.HasSpoke {
		return CannotTell
	}
	spokes := o.Spokes().Answer()
	switch {
	case spokes == Fouls:
		return Fouls
	case radial == CannotTell || spokes == CannotTell:
		return CannotTell
	}
	return Clears
}

// ToMeasure lists what would settle an answer that cannot be told, the
// decisive one first.
func (o Over) ToMeasure() []string {
	var t []string
	if o.Radial().Answer() == CannotTell {
		t = append(t, "the rim's inner diameter where the caliper stands, with an inside caliper gauge to 0.1 mm, in two places, and halve it",
			"the caliper's outermost point from the middle of the hub: straight edge over it, down to the hub's middle")
	}
	switch {
	case !o.HasSpoke:
		t = append(t, "from a straight edge across the wheel's mounting face to the inner side of the spokes, at the caliper's radius",
			"from a straight edge across the hub's face to the caliper's outer side")
	case o.Spokes().Answer() == CannotTell:
		t = append(t, "from the mounting face to the inner side of the spokes, at the caliper's radius, with a depth gauge to 0.1 mm")
	}
	if len(t) > 0 {
		t = append(t, "or put a strip of modelling clay on the caliper, fit the wheel with two fixings, turn it by hand once and measure what is left of the clay")
	}
	return t
}

// Barrel estimates the inner radius of a drop-centre rim where the wheel's own
// was not measured: somewhere between half the seat diameter and the bottom of
// its well, 17.3 mm deeper (the least depth in ISO 4000-2 for snap-in valves),
// less 4 mm of metal. The middle of the two, give or take half of the well; no
// two makes are alike, so it tells only what cannot go (common practice).
func Barrel(nominal length.Micron) Measured {
	const well, metal length.Micron = 17_300, 4_000
	return Measured{Size: SeatDiameter(nominal)/2 - metal - well/2, Off: well / 2}
}
