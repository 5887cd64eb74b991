package assembly

import (
	"maps"
	"slices"
	"strings"

	"rampside/internal/fact"
	"rampside/internal/length"
	"rampside/internal/tyre"
	"rampside/internal/wheel"
)

// OnPart is where a part's own properties are read.
const OnPart fact.Place = "on the part or its box"

func number(key, label, unit string, low, high float64, decimals int, how string) fact.Key {
	return fact.Key{Key: key, Label: label, Kind: fact.Number, Unit: unit, Low: low, High: high, Decimals: decimals, How: how, Where: OnPart}
}

func choice(key, label, how string, options ...string) fact.Key {
	return fact.Key{Key: key, Label: label, Kind: fact.Choice, Options: options, How: how, Where: OnPart}
}

func words(key, label, how string) fact.Key {
	return fact.Key{Key: key, Label: label, Kind: fact.Text, How: how, Where: OnPart}
}

var (
	axle = choice("axle", "Axle", "which axle it is for; both, when it goes on either", "front", "rear", "both")

	pattern = fact.Key{Key: "stud_pattern", Label: "Stud pattern", Kind: fact.Pattern, Where: OnPart, How: "holes by the diameter of their circle, such as 5x112"}
	boreKey = number("centre_bore_mm", "Centre bore", "mm", 30, 300, 2, "the hole in the middle, with a caliper gauge")
	seat    = choice("wheel_seat", "Seat of the fixings", "the face that bolt or nut meets", "cone", "ball", "flat")
	system  = words("brake_system", "Brake system", "maker and pattern of the caliper, as the box or the casting has it")
	discMM  = number("disc_mm", "Disc diameter", "mm", 100, 500, 1, "across the disc; of a caliper, the disc it is made for")
)

var properties = map[Kind][]fact.Key{
	Wheel: {
		axle,
		words("wheel_marking", "Marking", "as it is cast into the back, such as 7Jx17 H2 ET45 5x112 57.1; fills in what is left empty below"),
		number("rim_width_in", "Rim width", "in", 2, 16, 2, "the figure before J"),
		number("rim_diameter_in", "Rim diameter", "in", 10, 30, 1, "the figure after x"),
		number("wheel_offset_mm", "Offset", "mm", -150, 150, 1, "the figure after ET"),
		pattern, boreKey,
		number("spigot_ring_mm", "Spigot ring, inner diameter", "mm", 30, 300, 2, "of the ring that comes with it, if any"),
		seat,
		number("barrel_radius_mm", "Barrel, inner radius", "mm", 100, 400, 2, "inner diameter of the rim where the caliper stands, halved"),
		number("spoke_mm", "Spokes from the mounting face", "mm", -150, 250, 2, "straight edge across the mounting face, to the inner side of the spokes at the caliper's radius; outward above zero"),
		number("weights_mm", "Balance weights inside", "mm", 0, 20, 1, "how far stuck-on weights stand off inside the barrel"),
		number("measured_to_mm", "Measured to", "mm", 0, 10, 2, "by how much the two measurements above may be off; 0.5 where nothing is said"),
		number("wheel_load_kg", "Wheel's load rating", "kg", 100, 5000, 0, "MAX LOAD, cast into the back"),
	},
	Tyre: {
		axle,
		{Key: "tyre_size", Label: "Tyre size", Kind: fact.Tyre, Where: OnPart, How: "on the side wall or the label, such as 205/55 R16 91V"},
		number("rim_low_in", "Narrowest rim its maker allows", "in", 2, 16, 2, "the tyre maker's data"),
		number("rim_high_in", "Widest rim its maker allows", "in", 2, 16, 2, "the tyre maker's data"),
	},
	Disc: {
		axle, discMM,
		number("disc_thickness_mm", "Thickness", "mm", 3, 60, 2, "new, as the box has it"),
		number("disc_least_mm", "Least thickness", "mm", 3, 60, 2, "MIN TH, stamped on the rim or the hat"),
		choice("disc_kind", "Disc kind", "one plate, or two with a gap", "solid", "vented"),
		pattern, boreKey,
		number("ring_mm", "Height of the friction ring", "mm", 15, 150, 1, "from the inner to the outer edge of the ring that the pads run on"),
	},
	Pads: {
		axle, system,
		number("pad_height_mm", "Height of the lining", "mm", 15, 150, 1, "towards the hub, at its highest"),
	},
	Caliper: {
		axle, system, discMM,
		number("disc_thickness_most_mm", "Thickest disc", "mm", 3, 60, 2, "the maker's data: what goes between new pads"),
		number("caliper_radius_mm", "Outermost point from the hub's middle", "mm", 80, 400, 2, "straight edge over the caliper, down to the middle of the hub"),
		number("caliper_reach_mm", "Outer side from the hub's face", "mm", -150, 250, 2, "straight edge across the hub's face, to the outer side; outward above zero"),
	},
	BrakeFluid:  {choice("brake_fluid", "Class", "on the bottle", "DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "mineral")},
	Coolant:     {words("coolant", "Specification", "on the bottle")},
	EngineOil:   {words("engine_oil", "Viscosity and specification", "on the bottle, such as 5W-30 ACEA C3")},
	Refrigerant: {choice("refrigerant", "Refrigerant", "on the bottle", "R12", "R134a", "R1234yf", "R744")},
	Fixing: {
		choice("wheel_fixing", "Bolt or nut", "bolts go into the hub, nuts onto its studs", "bolt", "nut", "centre lock"),
		words("wheel_thread", "Thread", "diameter by pitch, such as M12x1.5"),
		seat,
	},
	Other: {},
}

// Kinds lists the kinds, in the order of pages.
func Kinds() []Kind {
	return []Kind{Wheel, Tyre, Disc, Pads, Caliper, BrakeFluid, Coolant, EngineOil, Refrigerant, Fixing, Other}
}

// Valid tells whether k is one of the kinds.
func (k Kind) Valid() bool { _, ok := properties[k]; return ok }

// Properties is the vocabulary of what may be known of a part of this kind, in
// the order of pages. Empty for other.
func Properties(k Kind) []fact.Key { return slices.Clone(properties[k]) }

// PropertyOf finds a property of a kind by its key.
func PropertyOf(k Kind, key string) (fact.Key, bool) {
	i := slices.IndexFunc(properties[k], func(p fact.Key) bool { return p.Key == key })
	if i < 0 {
		return fact.Key{}, false
	}
	return properties[k][i], true
}

// fromMarking are the properties that a wheel's marking holds.
var fromMarking = map[string]func(m wheel.Marking) string{
	"rim_width_in": func(m wheel.Marking) string {
		if m.Width == 0 {
			return ""
		}
		return wheel.InchText(m.Width)
	},
	"rim_diameter_in": func(m wheel.Marking) string {
		if m.Diameter == 0 {
			return ""
		}
		return wheel.InchText(m.Diameter)
	},
	"wheel_offset_mm": func(m wheel.Marking) string {
		if !m.HasOffset {
			return ""
		}
		return m.Offset.Text()
	},
	"stud_pattern": func(m wheel.Marking) string { return m.Pattern.String() },
	"centre_bore_mm": func(m wheel.Marking) string {
		if m.Bore == 0 {
			return ""
		}
		return m.Bore.Text()
	},
}

// prepare gives the items with what is read more than once read: a wheel's
// marking put into the properties that were left empty, a tyre's size.
func prepare(items []Item) []Item {
	out := slices.Clone(items)
	for i, a := range out {
		switch a.Kind {
		case Wheel:
			m, err := wheel.Parse(a.Props["wheel_marking"])
			if err != nil {
				continue
			}
			props := maps.Clone(a.Props)
			for key, read := range fromMarking {
				if strings.TrimSpace(props[key]) == "" {
					props[key] = read(m)
				}
			}
			out[i].Props = props
		case Tyre:
			if s, err := tyre.Parse(a.text("tyre_size")); err == nil {
				out[i].tyre = &s
			}
		}
	}
	return out
}

// text is a property as it was given.
func (a Item) text(key string) string { return strings.TrimSpace(a.Props[key]) }

// mm and in read a property; ok is false where it is not given, or no figure.
func (a Item) mm(key string) (length.Micron, bool) { return known(length.Parse(a.text(key))) }
func (a Item) in(key string) (length.Micron, bool) { return known(length.ParseInch(a.text(key))) }

func (c Car) text(key string) string              { return strings.TrimSpace(c[key]) }
func (c Car) mm(key string) (length.Micron, bool) { return known(length.Parse(c.text(key))) }
func (c Car) in(key string) (length.Micron, bool) { return known(length.ParseInch(c.text(key))) }

func known(l length.Micron, err error) (length.Micron, bool) { return l, err == nil }
