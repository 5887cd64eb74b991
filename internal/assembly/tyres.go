package assembly

import (
	"fmt"
	"strconv"

	"rampside/internal/fit"
	"rampside/internal/length"
	"rampside/internal/tyre"
	"rampside/internal/wheel"
)

func (a Item) size() (tyre.Size, bool) {
	if a.tyre == nil {
		return tyre.Size{}, false
	}
	return *a.tyre, true
}

// noSize is a check of a tyre whose size is not known.
func noSize(a Item, b Side, what string) []Collision {
	c := start(a, b, what)
	c.Measure = append(c.Measure, "tyre size of "+a.Name+": on the side wall or the label, such as 205/55 R16 91V")
	return []Collision{c.unknown("the tyre's size is not known")}
}

// tyreLoad is a tyre's load index against the least that the car needs, and
// what it carries against half of the axle's load.
func tyreLoad(s set, a Item) []Collision {
	const what = "load index"
	size, ok := a.size()
	if !ok {
		return noSize(a, theCar, what)
	}
	c := start(a, theCar, what)
	if !size.Service.Given {
		c.Measure = append(c.Measure, "load index of "+a.Name+": the figure after the size on the side wall")
		return []Collision{c.unknown("the tyre's load index is not known")}
	}
	carries, _ := tyre.LoadOf(size.Service.Single)
	var out []Collision
	if needed, err := strconv.Atoi(s.car.text("load_index")); err == nil {
		least, _ := tyre.LoadOf(needed)
		c.from("the tyre's load index is not below the least that the logbook or the handbook allows", "load indices: UN R30, annex 4")
		c.step(a.Name, fmt.Sprintf("%d, %s", size.Service.Single, carries))
		c.step("the car needs", fmt.Sprintf("%d, %s", needed, least))
		c.Margin = &Margin{Text: figure(carries.KG() - least.KG()), Unit: "kg"}
		if size.Service.Single >= needed {
			out = append(out, c.is(fit.True, "%s has load index %d, the car needs %d", a.Name, size.Service.Single, needed))
		} else {
			out = append(out, c.is(fit.False, "%s has load index %d, the car needs %d: %s a tyre too little", a.Name, size.Service.Single, needed, kg(least.KG()-carries.KG())))
		}
	}
	key, known := heaviest(s.car, a)
	if load, err := strconv.ParseFloat(s.car.text(key), 64); known && err == nil {
		c := start(a, theCar, "load of the axle")
		c.from("one tyre carries at least half of the axle's load", "load indices: UN R30, annex 4; the half: "+practice)
		c.step("load index", strconv.Itoa(size.Service.Single))
		out = append(out, loadAnswer(c, a, carries.KG(), load))
	}
	if len(out) == 0 {
		c.ask("load_index")
		c.ask(key)
		return []Collision{c.unknown("neither the load index that the car needs nor the axle's load is known")}
	}
	return out
}

// snowLeast is the lowest symbol that a snow tyre has: Q, 160 km/h.
const snowLeast = 160

// tyreSpeed is a tyre's speed symbol against the least that the car needs.
func tyreSpeed(s set, a Item) []Collision {
	const what = "speed symbol"
	size, ok := a.size()
	if !ok {
		return nil // said once, with the load index
	}
	c := start(a, theCar, what)
	c.from("the symbol's speed is not below that of the least that the logbook or the handbook allows", "speed symbols: UN R30, paragraph 2.29")
	needs, ok := tyre.SpeedOf(s.car.text("speed_symbol"))
	if !ok {
		c.ask("speed_symbol")
		return []Collision{c.unknown("the speed symbol that the car needs is not known")}
	}
	want := s.car.text("speed_symbol")
	kmh, ok := tyre.SpeedOf(size.Symbol())
	symbol := size.Symbol()
	switch {
	case !ok && size.ZR && needs <= tyre.ZRSpeed:
		return []Collision{c.is(fit.True, "%s is marked ZR, for more than %d km/h, and the car needs %s", a.Name, tyre.ZRSpeed, want)}
	case !ok:
		c.Measure = append(c.Measure, "speed symbol of "+a.Name+": the letter after the load index on the side wall")
		return []Collision{c.unknown("the tyre's speed symbol is not known")}
	}
	c.step(a.Name, fmt.Sprintf("%s, %d km/h", symbol, kmh))
	c.step("the car needs", fmt.Sprintf("%s, %d km/h", want, needs))
	c.Margin = &Margin{Text: strconv.Itoa(kmh - needs), Unit: "km/h"}
	switch {
	case kmh >= needs:
		return []Collision{c.is(fit.True, "%s has speed symbol %s, the car needs %s", a.Name, symbol, want)}
	case snow(size) && kmh >= snowLeast:
		c.Measure = append(c.Measure, "whether the rules here let a snow tyre have a lower symbol, with its speed on a label in the driver's sight")
		return []Collision{c.is(fit.Unknown, "%s is a snow tyre with symbol %s where the car needs %s: some countries allow that with a label in the driver's sight", a.Name, symbol, want)}
	}
	return []Collision{c.is(fit.False, "%s has speed symbol %s for %d km/h, the car needs %s for %d", a.Name, symbol, kmh, want, needs)}
}

func snow(s tyre.Size) bool {
	for _, m := range s.Marks {
		if m == "M+S" || m == "3PMSF" {
			return true
		}
	}
	return false
}

// circumference is what a tyre of another size does to the speedometer.
func circumference(s set, a Item) []Collision {
	const what = "rolling circumference"
	size, ok := a.size()
	if !ok {
		return nil
	}
	c := start(a, theCar, what)
	c.from("new diameter over old; what the speedometer shows is never below the true speed, and at most a tenth and 4 km/h above it", "UN R39, paragraph 5.3; what two makes of a size may differ by: UN R30, paragraph 6.1.4")
	key := "tyre_size"
	if a.axle() == "rear" && s.car.text("tyre_size_rear") != "" {
		key = "tyre_size_rear"
	}
	own, err := tyre.Parse(s.car.text(key))
	if err != nil {
		c.ask(key)
		return []Collision{c.unknown("the size that is on the car is not known")}
	}
	ch := tyre.Change{From: own, To: size}
	c.step("on the car, "+own.Base(), own.Diameter().String())
	c.step(a.Name+", "+size.Base(), size.Diameter().String())
	change := signed(ch.Percent(), 2)
	c.step("change", change+" %")
	c.Margin = &Margin{Text: change, Unit: "%"}
	answer := ch.Speedometer()
	over, err := strconv.ParseFloat(s.car.text("speedometer_over_percent"), 64)
	switch {
	case answer == tyre.SpeedometerSame:
		least, most := own.MakeRange()
		c.step("another make of the size on the car may be", least.Fixed(1)+" to "+most.Fixed(1)+" mm")
		return []Collision{c.is(fit.True, "%s is %s %% in diameter to what is on the car, no more than another make of the same size may be", a.Name, change)}
	case answer == tyre.SpeedometerWrong:
		return []Collision{c.is(fit.False, "%s is %s %% in diameter to what is on the car: the speedometer would be wrong whatever it shows now", a.Name, change)}
	case err == nil:
		c.step("the speedometer over-reads by", figure(over)+" %")
		for _, v := range tyre.TestSpeeds {
			c.step(fmt.Sprintf("at a true %.0f km/h it would show", v), figure(ch.Reads(v, over))+" km/h")
		}
		if ch.SpeedometerWith(over) {
			return []Collision{c.is(fit.True, "%s is %s %% in diameter to what is on the car, and the speedometer stays right", a.Name, change)}
		}
		return []Collision{c.is(fit.False, "%s is %s %% in diameter to what is on the car, and the speedometer would be wrong", a.Name, change)}
	}
	low, high := allSpeeds(ch)
	c.ask("speedometer_over_percent")
	return []Collision{c.is(fit.Unknown, "%s is %s %% in diameter to what is on the car: the speedometer stays right if it now over-reads by %s to %s %%", a.Name, change, signed(max(low, 0), 1), signed(high, 1))}
}

// allSpeeds is by how much the speedometer has to over-read now to be right at
// every test speed.
func allSpeeds(ch tyre.Change) (low, high float64) {
	low, high = ch.OverReading(tyre.TestSpeeds[0])
	for _, v := range tyre.TestSpeeds[1:] {
		l, h := ch.OverReading(v)
		low, high = max(low, l), min(high, h)
	}
	return low, high
}

func signed(v float64, places int) string {
	t := strconv.FormatFloat(v, 'f', places, 64)
	if v > 0 {
		return "+" + t
	}
	return t
}

// rim is a rim as far as it is known.
type rim struct{ width, diameter length.Micron }

func wheelRim(a Item) rim {
	var r rim
	r.width, _ = a.in("rim_width_in")
	r.diameter, _ = a.in("rim_diameter_in")
	return r
}

// tyreLimits are the rims that a tyre's maker allows, zero where not said.
type tyreLimits struct{ low, high length.Micron }

func limitsOf(a Item) tyreLimits {
	var l tyreLimits
	l.low, _ = a.in("rim_low_in")
	l.high, _ = a.in("rim_high_in")
	return l
}

// tyreOnWheel is a tyre on a wheel of the set.
func tyreOnWheel(_ set, a, b Item) []Collision {
	size, ok := a.size()
	if !ok {
		return noSize(a, b.side(), "tyre on rim")
	}
	return rimAnswers(a, b.side(), size, wheelRim(b), b.Name, limitsOf(a), func(c *Collision) { c.lacks(b, "rim_diameter_in", "rim_width_in") })
}

// tyreAndCarsRim is a tyre on the rim that stays.
func tyreAndCarsRim(s set, a Item) []Collision {
	if s.has(Wheel, a) {
		return nil
	}
	size, ok := a.size()
	if !ok {
		return nil
	}
	var r rim
	r.width, _ = s.car.in("rim_width_in")
	r.diameter, _ = s.car.in("rim_diameter_in")
	if r.diameter == 0 {
		if own, err := tyre.Parse(s.car.text("tyre_size")); err == nil {
			r.diameter = own.Rim
		}
	}
	return rimAnswers(a, theCar, size, r, "the car's rim", limitsOf(a), func(c *Collision) {
		if r.diameter == 0 {
			c.wants(s.car, "rim_diameter_in")
		}
		c.wants(s.car, "rim_width_in")
	})
}

// rimAnswers are the diameter and the width of a rim, called rimOf, for a
// tyre.
func rimAnswers(a Item, b Side, size tyre.Size, r rim, rimOf string, maker tyreLimits, ask func(c *Collision)) []Collision {
	d := start(a, b, "rim diameter")
	d.from("the rim's diameter is the one in the tyre's size", "UN R30, paragraph 2.23")
	if r.diameter == 0 {
		ask(&d)
		return []Collision{d.unknown("the rim's diameter is not known")}
	}
	d.step("tyre", size.RimCode)
	d.step("rim", wheel.InchText(r.diameter))
	if size.Rim != r.diameter {
		return []Collision{d.is(fit.False, "%s and %s: the tyre is for a rim of %s and the rim is one of %s", a.Name, b.Name, size.RimCode, wheel.InchText(r.diameter))}
	}
	d.is(fit.True, "%s and %s: tyre and rim are both for %s", a.Name, b.Name, size.RimCode)
	w := start(a, b, "tyre on rim width")
	if r.width == 0 {
		ask(&w)
		return []Collision{d, w.unknown("the rim's width is not known")}
	}
	return []Collision{d, widthAnswer(w, a, rimOf, size, r.width, maker)}
}

func widthAnswer(w Collision, a Item, rimOf string, size tyre.Size, width length.Micron, maker tyreLimits) Collision {
	rims := size.Rims()
	byMaker := maker.low > 0 && maker.high >= maker.low
	if byMaker {
		rims.Narrowest, rims.Widest = maker.low, maker.high
		w.from("the rim is within the range that the tyre's maker gives", "the tyre maker's data")
	} else {
		w.from("section width by a ratio of its aspect band, to the nearest half inch", "guide of ISO 4000-1 and ETRTO, the ratios from memory; the tyre maker's own range comes before it")
	}
	w.step("tyre", size.Base())
	w.step("range of rims", wheel.InchText(rims.Narrowest)+" to "+wheel.InchText(rims.Widest)+" in")
	w.step("rim", wheel.InchText(width)+" in")
	left := min(width-rims.Narrowest, rims.Widest-width)
	w.Margin = &Margin{Text: wheel.InchText(left), Unit: "in"}
	answer := rims.Take(width)
	switch {
	case answer == tyre.RimWithin:
		return w.is(fit.True, "%s takes rims of %s to %s in, and %s is %s in wide", size.Base(), wheel.InchText(rims.Narrowest), wheel.InchText(rims.Widest), rimOf, wheel.InchText(width))
	case answer == tyre.RimAtEdge && !byMaker:
		w.Measure = append(w.Measure, "the range of rims that the maker of "+a.Name+" gives for it")
		return w.is(fit.Unknown, "%s usually takes rims of %s to %s in, and %s is %s in wide: half an inch beyond, so only its maker's list tells", size.Base(), wheel.InchText(rims.Narrowest), wheel.InchText(rims.Widest), rimOf, wheel.InchText(width))
	}
	return w.is(fit.False, "%s takes rims of %s to %s in, and %s is %s in wide", size.Base(), wheel.InchText(rims.Narrowest), wheel.InchText(rims.Widest), rimOf, wheel.InchText(width))
}

// tyresTogether is two tyres of one axle: the same size and structure.
func tyresTogether(_ set, a, b Item) []Collision {
	if a.axle() == "" || a.axle() != b.axle() {
		return nil
	}
	x, ok1 := a.size()
	y, ok2 := b.size()
	if !ok1 || !ok2 {
		return nil
	}
	c := start(a, b.side(), "tyres of one axle")
	c.from("both tyres of an axle are of one size and one structure", "Construction and Use Regulations 1986, regulation 26, for the structure; the size from the MOT inspection, from memory")
	c.step(a.Name, x.Base()+", "+string(x.Structure))
	c.step(b.Name, y.Base()+", "+string(y.Structure))
	if x.Structure == y.Structure && x.Diameter() == y.Diameter() && x.Width == y.Width {
		return []Collision{c.is(fit.True, "%s and %s are of one size and structure", a.Name, b.Name)}
	}
	return []Collision{c.is(fit.False, "%s is %s %s and %s is %s %s, on one axle", a.Name, x.Base(), x.Structure, b.Name, y.Base(), y.Structure)}
}

// wheelsTogether is two wheels of one axle: they reach as far.
func wheelsTogether(_ set, a, b Item) []Collision {
	if a.axle() == "" || a.axle() != b.axle() {
		return nil
	}
	w1, ok1 := a.in("rim_width_in")
	w2, ok2 := b.in("rim_width_in")
	e1, ok3 := a.mm("wheel_offset_mm")
	e2, ok4 := b.mm("wheel_offset_mm")
	if !ok1 || !ok2 || !ok3 || !ok4 {
		return nil
	}
	c := start(a, b.side(), "wheels of one axle")
	c.from("both wheels of an axle have the same width and offset", practice)
	m := stanceOf(w1, e1).Against(stanceOf(w2, e2))
	c.step("further in", m.Inner.Signed()+" mm")
	c.step("further out", m.Outer.Signed()+" mm")
	if m == (wheel.Move{}) {
		return []Collision{c.is(fit.True, "%s and %s stand alike", a.Name, b.Name)}
	}
	return []Collision{c.is(fit.False, "%s reaches %s mm further in and %s mm further out than %s, on one axle", a.Name, m.Inner.Signed(), m.Outer.Signed(), b.Name)}
}
