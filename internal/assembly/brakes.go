package assembly

import (
	"rampside/internal/fit"
	"rampside/internal/length"
	"rampside/internal/wheel"
)

// envelope is a caliper as far as a wheel has to clear it.
type envelope struct {
	radius, reach     length.Micron
	hasRadius, hasOut bool
}

// wheelOverCaliper is a wheel over a caliper of the set.
func wheelOverCaliper(_ set, a, b Item) []Collision {
	var e envelope
	e.radius, e.hasRadius = b.mm("caliper_radius_mm")
	e.reach, e.hasOut = b.mm("caliper_reach_mm")
	return overAnswer(a, b.side(), e, func(c *Collision) { c.lacks(b, "caliper_radius_mm", "caliper_reach_mm") })
}

// wheelAndCarsBrake is a wheel over the caliper that stays.
func wheelAndCarsBrake(s set, a Item) []Collision {
	if s.has(Caliper, a) {
		return nil
	}
	if a.axle() == "" {
		// It has to clear both. That of the front is the larger as a rule, so
		// the rear one counts where it was measured.
		out := s.overCars(a, "front")
		if s.car.text("rear_caliper_radius_mm") != "" {
			out = append(out, s.overCars(a, "rear")...)
		}
		return out
	}
	return s.overCars(a, a.axle())
}

func (s set) overCars(a Item, axle string) []Collision {
	radius, reach := axle+"_caliper_radius_mm", axle+"_caliper_reach_mm"
	var e envelope
	e.radius, e.hasRadius = s.car.mm(radius)
	e.reach, e.hasOut = s.car.mm(reach)
	return overAnswer(a, Side{Name: "the car's " + axle + " brake"}, e, func(c *Collision) { c.wants(s.car, radius, reach) })
}

const overFormula = "between barrel and caliper: inner radius less weights less the caliper's radius; between spokes and caliper: spokes from the mounting face less the caliper from the hub's face; each less 3 mm that stay free, and less the sum of what the measurements may be off by"

// overAnswer is the room of a wheel over a caliper.
func overAnswer(a Item, b Side, e envelope, ask func(c *Collision)) []Collision {
	c := start(a, b, "wheel over brake")
	c.from(overFormula, "geometry; the 3 mm and half a millimetre for a rule in hand are "+practice)
	off := wheel.MeasureOff
	if given, ok := a.mm("measured_to_mm"); ok {
		off = given
	}
	barrel := wheel.Measured{Off: off}
	var estimated bool
	if r, ok := a.mm("barrel_radius_mm"); ok {
		barrel.Size = r
	} else if d, ok := a.in("rim_diameter_in"); ok {
		barrel, estimated = wheel.Barrel(d), true
	}
	if barrel.Size == 0 || !e.hasRadius {
		c.lacks(a, "barrel_radius_mm")
		ask(&c)
		return []Collision{c.unknown("not all that it takes is measured")}
	}
	o := wheel.Over{Barrel: barrel, CaliperRadius: wheel.Measured{Size: e.radius, Off: off}, Need: wheel.RunningGap}
	o.Weights, _ = a.mm("weights_mm")
	spoke, hasSpoke := a.mm("spoke_mm")
	if o.HasSpoke = hasSpoke && e.hasOut; o.HasSpoke {
		o.Spoke, o.CaliperReach = wheel.Measured{Size: spoke, Off: off}, wheel.Measured{Size: e.reach, Off: off}
	}
	r, where := o.Radial(), "barrel"
	c.rooms("barrel", r)
	if o.HasSpoke {
		spokes := o.Spokes()
		c.rooms("spokes", spokes)
		if spokes.WorstMargin() < r.WorstMargin() {
			r, where = spokes, "spokes"
		}
	}
	c.Margin = &Margin{Text: r.Margin().Text(), Unit: "mm", Tolerance: r.Worst().Text(), Likely: r.Likely().Text()}
	switch o.Answer() {
	case wheel.Clears:
		return []Collision{c.is(fit.True, "%s clears %s: %s of air at the %s where 3 mm stay free", a.Name, b.Name, r.Gap(), where)}
	case wheel.Fouls:
		if r.Gap() < 0 {
			return []Collision{c.is(fit.False, "%s does not go over %s: it is %s too near at the %s to turn at all", a.Name, b.Name, -r.Gap(), where)}
		}
		return []Collision{c.is(fit.False, "%s and %s: only %s of air at the %s, and 3 mm have to stay free: %s short", a.Name, b.Name, r.Gap(), where, -r.Margin())}
	}
	if estimated {
		c.lacks(a, "barrel_radius_mm")
	}
	if !o.HasSpoke {
		c.lacks(a, "spoke_mm")
		if !e.hasOut {
			ask(&c)
		}
	}
	c.Measure = append(c.Measure, o.ToMeasure()...)
	if estimated {
		return []Collision{c.is(fit.Unknown, "%s over %s: the inner radius of the rim is only estimated from its diameter, so it has to be measured", a.Name, b.Name)}
	}
	if !o.HasSpoke && o.Radial().Answer() == wheel.Clears {
		return []Collision{c.is(fit.Unknown, "%s clears %s at the barrel by %s; at the spokes it is not measured", a.Name, b.Name, r.Gap())}
	}
	return []Collision{c.is(fit.Unknown, "%s over %s is tight: %s of air at the %s, give or take %s, where 3 mm stay free", a.Name, b.Name, r.Gap(), where, r.Worst())}
}

// rooms writes down the chain of one gap.
func (c *Collision) rooms(where string, r wheel.Room) {
	for _, l := range r.Stack {
		if l.Size == 0 && l.Off == 0 {
			continue
		}
		value := l.Size.Signed() + " mm"
		if l.Off != 0 {
			value += " ± " + l.Off.Text()
		}
		c.step(where+": "+l.Name, value)
	}
	c.step(where+": air", r.Gap().String())
	c.step(where+": stays free", r.Need.String())
	c.step(where+": margin", r.Margin().String()+", worst "+r.WorstMargin().String()+", likely "+r.LikelyMargin().String())
}

// discOff is how much two readings of a disc's diameter may differ and still
// mean the same disc.
const discOff = length.MM

// discSize is a disc's diameter against the one on the car, while its caliper
// stays.
func discSize(s set, a Item) []Collision {
	if s.has(Caliper, a) {
		return nil
	}
	c := start(a, theCar, "disc diameter")
	c.from("the diameters are the same within 1 mm of reading", practice)
	own, ok := a.mm("disc_mm")
	key, sided := axleKey(a, "disc_mm")
	if !ok || !sided {
		c.lacks(a, "disc_mm", "axle")
		if sided {
			c.wants(s.car, key)
		}
		return []Collision{c.unknown("the disc's diameter or its axle is not known")}
	}
	car, ok := s.car.mm(key)
	if !ok {
		c.wants(s.car, key)
		return []Collision{c.unknown("the diameter of the disc on the car is not known")}
	}
	return []Collision{diameters(c, a, theCar, own, car)}
}

func diameters(c Collision, a Item, b Side, own, other length.Micron) Collision {
	c.step(a.Name, own.String())
	c.step(b.Name, other.String())
	c.Margin = &Margin{Text: (own - other).Signed(), Unit: "mm"}
	if (own - other).Abs() <= discOff {
		return c.is(fit.True, "%s is %s across, as %s has it", a.Name, own, b.Name)
	}
	return c.is(fit.False, "%s is %s across, %s has %s", a.Name, own, b.Name, other)
}

func discKind(s set, a Item) []Collision {
	key, sided := axleKey(a, "disc_kind")
	if !sided || s.has(Caliper, a) || key != "front_disc_kind" {
		return nil
	}
	return alike(a, "disc_kind", theCar, s.car.text(key), "disc kind", practice, func(c *Collision) { c.wants(s.car, key) })
}

// discHub is the disc on the hub.
func discHub(s set, a Item) []Collision {
	var out []Collision
	if a.text("stud_pattern") != "" {
		out = append(out, patternOnHub(s, a)...)
	}
	own, ok := a.mm("centre_bore_mm")
	if !ok {
		return out
	}
	c := start(a, theCar, "centre bore")
	c.from("bore less the hub's spigot, not below nought", practice)
	spigot, ok := s.car.mm("centre_bore_mm")
	if !ok {
		c.wants(s.car, "centre_bore_mm")
		return append(out, c.unknown("the hub's spigot is not known"))
	}
	c.Margin = margin(own - spigot)
	if own < spigot {
		return append(out, c.is(fit.False, "%s has a bore of %s, and the hub's spigot is %s", a.Name, own, spigot))
	}
	return append(out, c.is(fit.True, "%s with a bore of %s goes over the hub's spigot of %s", a.Name, own, spigot))
}

// discWear is a disc's thickness against the least stamped on it.
func discWear(_ set, a Item) []Collision {
	now, ok1 := a.mm("disc_thickness_mm")
	least, ok2 := a.mm("disc_least_mm")
	if !ok1 || !ok2 {
		return nil
	}
	c := start(a, theCar, "disc thickness")
	c.from("thickness less the least that is stamped on it", "the disc maker's limit; not a category of the MOT inspection")
	c.Margin = margin(now - least)
	if now < least {
		return []Collision{c.is(fit.False, "%s is %s thick, below its least of %s", a.Name, now, least)}
	}
	return []Collision{c.is(fit.True, "%s is %s thick, %s above its least", a.Name, now, now-least)}
}

// discInCaliper is a disc in a caliper of the set.
func discInCaliper(_ set, a, b Item) []Collision {
	c := start(a, b.side(), "disc diameter")
	c.from("the disc is the one that the caliper is made for, within 1 mm", "the maker's data")
	own, ok1 := a.mm("disc_mm")
	made, ok2 := b.mm("disc_mm")
	var out []Collision
	if !ok1 || !ok2 {
		c.lacks(a, "disc_mm")
		c.lacks(b, "disc_mm")
		out = append(out, c.unknown("the diameter of one of them is not known"))
	} else {
		out = append(out, diameters(c, a, b.side(), own, made))
	}
	thick, ok1 := a.mm("disc_thickness_mm")
	most, ok2 := b.mm("disc_thickness_most_mm")
	if ok1 && ok2 {
		t := start(a, b.side(), "disc thickness")
		t.from("thickness is not more than goes between new pads", "the caliper maker's data")
		t.Margin = margin(most - thick)
		t.step(a.Name, thick.String())
		t.step(b.Name+" takes up to", most.String())
		if thick > most {
			out = append(out, t.is(fit.False, "%s is %s thick and %s takes up to %s", a.Name, thick, b.Name, most))
		} else {
			out = append(out, t.is(fit.True, "%s is %s thick and %s takes up to %s", a.Name, thick, b.Name, most))
		}
	}
	return out
}

func padsInCaliper(_ set, a, b Item) []Collision {
	return alike(a, "brake_system", b.side(), b.text("brake_system"), "brake system", "the maker's data", func(c *Collision) { c.lacks(b, "brake_system") })
}

// padsAndCarsCaliper is pads in the caliper that stays.
func padsAndCarsCaliper(s set, a Item) []Collision {
	if s.has(Caliper, a) {
		return nil
	}
	return alike(a, "brake_system", theCar, s.car.text("brake_system"), "brake system", "the maker's data", func(c *Collision) { c.wants(s.car, "brake_system") })
}

// padsOnDisc is the height of the lining on the disc's friction ring.
func padsOnDisc(_ set, a, b Item) []Collision {
	pad, ok1 := a.mm("pad_height_mm")
	ring, ok2 := b.mm("ring_mm")
	if !ok1 && !ok2 {
		return nil
	}
	c := start(a, b.side(), "lining on the disc")
	c.from("the friction ring is at least as high as the lining", practice)
	if !ok1 || !ok2 {
		c.lacks(a, "pad_height_mm")
		c.lacks(b, "ring_mm")
		return []Collision{c.unknown("the height of one of them is not known")}
	}
	c.Margin = margin(ring - pad)
	c.step(a.Name, pad.String())
	c.step(b.Name, ring.String())
	if pad > ring {
		return []Collision{c.is(fit.False, "%s have a lining %s high, and the friction ring of %s is %s", a.Name, pad, b.Name, ring)}
	}
	return []Collision{c.is(fit.True, "%s with a lining %s high run on the friction ring of %s, %s", a.Name, pad, b.Name, ring)}
}
