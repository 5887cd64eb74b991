package assembly

import (
	"strconv"

	"rampside/internal/fit"
	"rampside/internal/length"
	"rampside/internal/tyre"
	"rampside/internal/wheel"
)

// asOne is by how much two figures of a circle may differ and still be one:
// 114 is written for 114.3, 139 for 139.7, 108 for 107.95. 120 and 120.65 are
// two circles, and so it is for the makers' data to say which (common
// practice, no published source).
const asOne = length.MM

// hub is the stud pattern of a wheel on the car's hub.
func hub(s set, a Item) []Collision { return patternOnHub(s, a) }

func patternOnHub(s set, a Item) []Collision {
	c := start(a, theCar, "stud pattern")
	c.from("the number of holes and the diameter of their circle are the same", practice)
	own, err1 := wheel.ParsePattern(a.text("stud_pattern"))
	car, err2 := wheel.ParsePattern(s.car.text("stud_pattern"))
	if err1 != nil || err2 != nil {
		c.lacks(a, "stud_pattern")
		c.wants(s.car, "stud_pattern")
		return []Collision{c.unknown("the stud pattern of one of them is not known")}
	}
	c.step(a.Name, own.String())
	c.step("the car's hub", car.String())
	off := own.Circle - car.Circle
	c.Margin = &Margin{Text: off.Signed(), Unit: "mm"}
	switch {
	case own == car:
		return []Collision{c.is(fit.True, "%s is %s like the car's hub", a.Name, own)}
	case own.Holes != car.Holes:
		return []Collision{c.is(fit.False, "%s has %d holes, the car's hub has %d", a.Name, own.Holes, car.Holes)}
	case off.Abs() < asOne:
		c.Measure = append(c.Measure, "both circles again, from the makers' data: one of them may be written without its decimals")
		return []Collision{c.is(fit.Unknown, "%s is %s, the car's hub %s: that may be one circle, written once without its decimals, or two that must not be mixed", a.Name, own, car)}
	}
	return []Collision{c.is(fit.False, "%s is %s, the car's hub %s: the circles are %s mm apart, and fixings pulled over by that can come loose or break", a.Name, own, car, off.Abs().Text())}
}

// centred is how much larger than the spigot a bore may be and still centre
// the wheel.
const centred length.Micron = 150

// bore is the centre bore of a wheel over the hub's spigot, with its ring
// where it has one.
func bore(s set, a Item) []Collision {
	c := start(a, theCar, "centre bore")
	c.from("bore less the hub's spigot; up to 0.15 mm of play centres the wheel", practice)
	own, ok1 := a.mm("centre_bore_mm")
	spigot, ok2 := s.car.mm("centre_bore_mm")
	if !ok1 || !ok2 {
		c.lacks(a, "centre_bore_mm")
		c.wants(s.car, "centre_bore_mm")
		return []Collision{c.unknown("the bore of one of them is not known")}
	}
	c.step("bore of "+a.Name, own.String())
	c.step("spigot of the hub", spigot.String())
	through := own
	if ring, ok := a.mm("spigot_ring_mm"); ok {
		c.step("spigot ring, inside", ring.String())
		through = ring
	}
	play := through - spigot
	c.Margin = margin(play)
	c.step("play", play.String())
	switch {
	case own < spigot:
		c.Margin = margin(own - spigot)
		return []Collision{c.is(fit.False, "%s has a bore of %s, and the hub's spigot is %s: it does not go on", a.Name, own, spigot)}
	case play < 0:
		return []Collision{c.is(fit.False, "the spigot ring of %s is %s inside, and the hub's spigot is %s", a.Name, through, spigot)}
	case play <= centred:
		return []Collision{c.is(fit.True, "%s is centred on the hub's spigot of %s", a.Name, spigot)}
	}
	c.Measure = append(c.Measure, "a spigot ring "+own.Text()+" to "+spigot.Text()+" mm for "+a.Name+", or its maker's word that the fixings centre it")
	return []Collision{c.is(fit.Unknown, "%s has %s of play on the hub's spigot of %s: it needs a spigot ring, or its maker's word that the fixings centre it", a.Name, play, spigot)}
}

func stanceOf(width, offset length.Micron) wheel.Stance {
	return wheel.Stance{Width: width, Offset: offset}
}

// spacing is how much further in and out a wheel reaches than the car's own,
// against the room there is.
func spacing(s set, a Item) []Collision {
	c := start(a, theCar, "offset and width")
	c.from("reach inward is half the width plus the offset, outward half the width less the offset; each against the car's own wheel and the room beside it", "geometry; "+makers)
	w, ok1 := a.in("rim_width_in")
	et, ok2 := a.mm("wheel_offset_mm")
	cw, ok3 := s.car.in("rim_width_in")
	cet, ok4 := s.car.mm("wheel_offset_mm")
	if !ok1 || !ok2 || !ok3 || !ok4 {
		c.lacks(a, "rim_width_in", "wheel_offset_mm")
		c.wants(s.car, "rim_width_in", "wheel_offset_mm")
		return []Collision{c.unknown("width or offset of one of them is not known")}
	}
	now, was := stanceOf(w, et), stanceOf(cw, cet)
	m := now.Against(was)
	c.step("inward, the car's own", was.Back().String())
	c.step("inward, "+a.Name, now.Back().String())
	c.step("further in", m.Inner.Signed()+" mm")
	c.step("outward, the car's own", was.Front().String())
	c.step("outward, "+a.Name, now.Front().String())
	c.step("further out", m.Outer.Signed()+" mm")
	if m.Inner == 0 && m.Outer == 0 {
		c.Margin = margin(0)
		return []Collision{c.is(fit.True, "%s stands where the car's own wheel does", a.Name)}
	}
	inner, inKnown := s.room(&c, "wheel_room_inner_mm", m.Inner, "room left inside")
	outer, outKnown := s.room(&c, "wheel_room_outer_mm", m.Outer, "room left outside")
	least := min(inner, outer)
	if inKnown && outKnown {
		c.Margin = margin(least)
	}
	switch {
	case inKnown && inner < 0:
		c.Margin = margin(inner)
		return []Collision{c.is(fit.False, "%s reaches %s mm further in than the car's own wheel, and %s mm of that is not there", a.Name, m.Inner.Text(), (-inner).Text())}
	case outKnown && outer < 0:
		c.Margin = margin(outer)
		return []Collision{c.is(fit.False, "%s reaches %s mm further out than the car's own wheel, and %s mm of that is not there", a.Name, m.Outer.Text(), (-outer).Text())}
	case inKnown && outKnown:
		return []Collision{c.is(fit.True, "%s reaches %s mm further in and %s mm further out than the car's own wheel, and there is room", a.Name, m.Inner.Signed(), m.Outer.Signed())}
	}
	return []Collision{c.is(fit.Unknown, "%s reaches %s mm further in and %s mm further out than the car's own wheel; the room there is not known", a.Name, m.Inner.Signed(), m.Outer.Signed())}
}

// room is what is left of the room on one side. A wheel that reaches no
// further needs none to be known.
func (s set) room(c *Collision, key string, further length.Micron, what string) (left length.Micron, known bool) {
	have, ok := s.car.mm(key)
	switch {
	case ok:
		c.step(what, (have - further).String())
		return have - further, true
	case further <= 0:
		return -further, true
	}
	c.ask(key)
	return 0, false
}

// wheelLoad is a wheel's own load rating against half of its axle's load.
func wheelLoad(s set, a Item) []Collision {
	rating, err := strconv.ParseFloat(a.text("wheel_load_kg"), 64)
	if err != nil {
		return nil
	}
	key, known := heaviest(s.car, a)
	c := start(a, theCar, "wheel's load rating")
	c.from("load rating is at least half of the axle's load", practice+"; "+makers)
	if !known {
		c.wants(s.car, key)
		return []Collision{c.unknown("the axle's load is not known")}
	}
	load, err := strconv.ParseFloat(s.car.text(key), 64)
	if err != nil {
		return []Collision{c.unknown("the axle's load is no figure")}
	}
	return []Collision{loadAnswer(c, a, rating, load)}
}

func loadAnswer(c Collision, a Item, carries, axle float64) Collision {
	need := axle / 2
	c.step("load of the axle", kg(axle))
	c.step("half of it", kg(need))
	c.step(a.Name+" carries", kg(carries))
	c.Margin = &Margin{Text: figure(carries - need), Unit: "kg"}
	if carries >= need {
		return c.is(fit.True, "%s carries %s, and half of the axle's load is %s", a.Name, kg(carries), kg(need))
	}
	return c.is(fit.False, "%s carries %s, and half of the axle's load is %s: %s too little", a.Name, kg(carries), kg(need), kg(need-carries))
}

// heaviest is the key of the load of the axle that a part is for, or of the
// heavier axle where it may go on either.
func heaviest(car Car, a Item) (key string, known bool) {
	front, rear := "axle_load_front_kg", "axle_load_rear_kg"
	switch a.axle() {
	case "front":
		return front, car.text(front) != ""
	case "rear":
		return rear, car.text(rear) != ""
	}
	f, err1 := strconv.ParseFloat(car.text(front), 64)
	r, err2 := strconv.ParseFloat(car.text(rear), 64)
	switch {
	case err1 == nil && err2 == nil && r > f:
		return rear, true
	case err1 == nil && err2 == nil:
		return front, true
	case err1 != nil:
		return front, false
	}
	return rear, false
}

func kg(v float64) string { return figure(v) + " kg" }

// figure writes a figure with at most one place.
func figure(v float64) string {
	t := strconv.FormatFloat(v, 'f', 1, 64)
	if t[len(t)-2:] == ".0" {
		t = t[:len(t)-2]
	}
	if t == "-0" {
		return "0"
	}
	return t
}

// wheelAndCarsTyre is the tyre that stays, on a new wheel.
func wheelAndCarsTyre(s set, a Item) []Collision {
	if s.has(Tyre, a) {
		return nil
	}
	key := "tyre_size"
	if a.axle() == "rear" && s.car.text("tyre_size_rear") != "" {
		key = "tyre_size_rear"
	}
	if s.car.text(key) == "" {
		c := start(a, theCar, "tyre on rim")
		c.wants(s.car, key)
		return []Collision{c.unknown("the size of the tyre that is to go on it is not known")}
	}
	size, err := tyre.Parse(s.car.text(key))
	if err != nil {
		c := start(a, theCar, "tyre on rim")
		c.ask(key)
		return []Collision{c.unknown("the car's tyre size cannot be read")}
	}
	return rimAnswers(a, Side{Name: "the car's tyre"}, size, wheelRim(a), a.Name, tyreLimits{}, func(c *Collision) { c.lacks(a, "rim_diameter_in", "rim_width_in") })
}
