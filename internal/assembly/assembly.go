// Package assembly checks parts as a set: whether they go with each other and
// with what stays on the car.
//
// Every check gives what it found out, fit or not, with both sides, the fact
// that they meet on, the margin and how it was worked out. What a maker says
// of a part, and the measurement on the car, come before what is computed
// here; trained people decide.
package assembly

import (
	"slices"

	"rampside/internal/fit"
	"rampside/internal/length"
	"rampside/internal/tyre"
)

// Kind is what a part is, as far as the checks of a set go.
type Kind string

// The kinds.
const (
	Wheel       Kind = "wheel"
	Tyre        Kind = "tyre"
	Disc        Kind = "brake disc"
	Pads        Kind = "brake pads"
	Caliper     Kind = "caliper"
	BrakeFluid  Kind = "brake fluid"
	Coolant     Kind = "coolant"
	EngineOil   Kind = "engine oil"
	Refrigerant Kind = "refrigerant"
	Fixing      Kind = "wheel fixing"
	Other       Kind = "other"
)

// Item is one part of a set.
type Item struct {
	// ID tells it from the others of the set; it is the caller's.
	ID   string
	Name string
	Kind Kind
	// Props are its own properties, by the keys of Properties.
	Props map[string]string
	// OnCar is set for a part that is on the car and stays. Two such parts are
	// not checked against each other.
	OnCar bool

	// tyre is the size of a tyre once it was read; see prepare.
	tyre *tyre.Size
}

// Side is one of the two that meet: a part, or the car where ID is empty.
type Side struct {
	ID   string `json:"id,omitempty"`
	Name string `json:"name"`
	Kind Kind   `json:"kind,omitempty"`
}

// theCar is the side of what stays on the car and is no part of the set.
var theCar = Side{Name: "the car"}

// Margin is what is left over, below zero what is missing.
type Margin struct {
	// Text is the margin as it is written, Unit what it is in.
	Text string `json:"text"`
	Unit string `json:"unit"`
	// Tolerance is what was counted against it in the worst case, Likely what
	// it comes to by chance; empty where there is none.
	Tolerance string `json:"tolerance,omitempty"`
	Likely    string `json:"likely,omitempty"`
}

func (m Margin) String() string {
	t := m.Text + " " + m.Unit
	if m.Tolerance != "" {
		t += ", give or take " + m.Tolerance + " " + m.Unit + " in the worst case"
	}
	return t
}

// Step is one figure of a calculation.
type Step struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

// Collision is one thing that two sides meet on, whether or not they go
// together.
type Collision struct {
	A, B Side
	// Fact is what they meet on, in words: "stud pattern".
	Fact  string
	Truth fit.Truth
	// Says is what came out, in a sentence with both sides in it.
	Says string
	// Margin is nil where nothing is measured.
	Margin *Margin
	Steps  []Step
	// Formula and Source are how it was worked out and where that comes from.
	Formula, Source string
	// Read are the facts of the car that would settle it, by their keys;
	// Measure says in words what to read or measure, of parts too.
	Read    []string
	Measure []string
}

// Names are the names of both sides.
func (c Collision) Names() (a, b string) { return c.A.Name, c.B.Name }

// Between tells whether a part is one of the two.
func (c Collision) Between(id string) bool { return id != "" && (c.A.ID == id || c.B.ID == id) }

// Car is what is known of the car, by the keys of the vocabulary.
type Car map[string]string

// checker is a rule for one part with the car, or for two parts.
type (
	alone func(s set, a Item) []Collision
	pair  func(s set, a, b Item) []Collision
)

var alones = map[Kind][]alone{
	Wheel:       {hub, bore, spacing, wheelLoad, wheelAndCarsTyre, wheelAndCarsBrake},
	Tyre:        {tyreLoad, tyreSpeed, circumference, tyreAndCarsRim},
	Disc:        {discSize, discKind, discHub, discWear},
	Pads:        {padsAndCarsCaliper},
	BrakeFluid:  {brakeFluid},
	Coolant:     {coolant},
	EngineOil:   {engineOil},
	Refrigerant: {refrigerant},
	Fixing:      {fixingAndCar, fixingAndCarsWheel},
}

var pairs = []struct {
	a, b  Kind
	check pair
}{
	{Tyre, Wheel, tyreOnWheel},
	{Tyre, Tyre, tyresTogether},
	{Wheel, Caliper, wheelOverCaliper},
	{Wheel, Fixing, fixingInWheel},
	{Wheel, Wheel, wheelsTogether},
	{Disc, Caliper, discInCaliper},
	{Pads, Caliper, padsInCaliper},
	{Pads, Disc, padsOnDisc},
	{BrakeFluid, BrakeFluid, fluidsTogether},
}

// set is what one check looks at.
type set struct {
	items []Item
	car   Car
}

// has tells whether the set itself has a part of a kind that meets a.
func (s set) has(kind Kind, a Item) bool {
	return slices.ContainsFunc(s.items, func(b Item) bool { return b.Kind == kind && b.ID != a.ID && meet(a, b) })
}

// Check checks every part with the car, and every two that meet. The order is
// that of the items: each with the car, then with those after it.
func Check(items []Item, car map[string]string) []Collision {
	items = prepare(items)
	s := set{items, car}
	var out []Collision
	for i, a := range items {
		if !a.OnCar {
			for _, check := range alones[a.Kind] {
				out = append(out, check(s, a)...)
			}
		}
		for _, b := range items[i+1:] {
			if !(a.OnCar && b.OnCar) && meet(a, b) {
				out = append(out, s.two(a, b)...)
			}
		}
	}
	return out
}

func (s set) two(a, b Item) []Collision {
	var out []Collision
	for _, p := range pairs {
		switch {
		case p.a == a.Kind && p.b == b.Kind:
			out = append(out, p.check(s, a, b)...)
		case p.a == b.Kind && p.b == a.Kind:
			out = append(out, p.check(s, b, a)...)
		}
	}
	return out
}

// Recheck puts one part in the place of the one with its ID, or adds it, and
// checks the set anew.
func Recheck(items []Item, car map[string]string, changed Item) []Collision {
	now := slices.Clone(items)
	if i := slices.IndexFunc(now, func(b Item) bool { return b.ID == changed.ID }); i >= 0 {
		now[i] = changed
	} else {
		now = append(now, changed)
	}
	return Check(now, car)
}

// Of is the least truth of the collisions that a part is in: false when one of
// them is, true when all are or there are none.
func Of(found []Collision, id string) fit.Truth {
	t := fit.True
	for _, c := range found {
		if c.Between(id) {
			t = t.And(c.Truth)
		}
	}
	return t
}

// meet tells whether two parts can be on the same corner of the car: their
// axles are the same, or one is for any.
func meet(a, b Item) bool {
	x, y := a.axle(), b.axle()
	return x == "" || y == "" || x == y
}

// axle is front or rear, or empty for both or where it is not said.
func (a Item) axle() string {
	if v := a.text("axle"); v == "front" || v == "rear" {
		return v
	}
	return ""
}

func (a Item) side() Side { return Side{a.ID, a.Name, a.Kind} }

func margin(l length.Micron) *Margin { return &Margin{Text: l.Text(), Unit: "mm"} }
