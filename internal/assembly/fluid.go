package assembly

import (
	"regexp"
	"slices"
	"strings"

	"rampside/internal/fit"
)

// glycol are the brake fluids that mix, from the lowest boiling point to the
// highest. DOT 5 is silicone and mineral oil is neither: they mix with nothing
// and ruin each other's seals.
var glycol = []string{"DOT 3", "DOT 4", "DOT 5.1"}

const fluidSource = "classes of FMVSS 116 and ISO 4925: DOT 3, 4 and 5.1 are of glycol and mix, DOT 5 is silicone; from memory"

// brakeFluid is the class that the car wants: the same, or a higher one that
// mixes with it.
func brakeFluid(s set, a Item) []Collision {
	c := start(a, theCar, "brake fluid")
	c.from("the class is the car's, or a higher one of the same base", fluidSource)
	own, car := a.text("brake_fluid"), s.car.text("brake_fluid")
	if own == "" || car == "" {
		c.lacks(a, "brake_fluid")
		c.wants(s.car, "brake_fluid")
		return []Collision{c.unknown("the class of one of them is not known")}
	}
	c.step(a.Name, own)
	c.step("the car", car)
	i, j := slices.Index(glycol, own), slices.Index(glycol, car)
	switch {
	case own == car:
		return []Collision{c.is(fit.True, "%s is %s, as the car wants", a.Name, own)}
	case i < 0 || j < 0:
		return []Collision{c.is(fit.False, "%s is %s and the car wants %s: they are of different bases and must not mix", a.Name, own, car)}
	case i < j:
		return []Collision{c.is(fit.False, "%s is %s and the car wants %s, which boils later", a.Name, own, car)}
	}
	return []Collision{c.is(fit.True, "%s is %s, above the %s that the car wants, and mixes with it", a.Name, own, car)}
}

// fluidsTogether is two brake fluids of one set.
func fluidsTogether(_ set, a, b Item) []Collision {
	x, y := a.text("brake_fluid"), b.text("brake_fluid")
	if x == "" || y == "" {
		return nil
	}
	c := start(a, b.side(), "brake fluid")
	c.from("fluids of one system are of the same base", fluidSource)
	if x == y || slices.Contains(glycol, x) && slices.Contains(glycol, y) {
		return []Collision{c.is(fit.True, "%s and %s mix", a.Name, b.Name)}
	}
	return []Collision{c.is(fit.False, "%s is %s and %s is %s: they must not mix", a.Name, x, b.Name, y)}
}

// refrigerant has to be the one that the system is made for.
func refrigerant(s set, a Item) []Collision {
	own, car := a.text("refrigerant"), s.car.text("refrigerant")
	c := start(a, theCar, "refrigerant")
	c.from("the refrigerant is the one on the label under the bonnet", "Regulation (EU) 517/2014 and 307/2008: work on the system is for certified people")
	if own == "" || car == "" {
		c.lacks(a, "refrigerant")
		c.wants(s.car, "refrigerant")
		return []Collision{c.unknown("the refrigerant of one of them is not known")}
	}
	c.step(a.Name, own)
	c.step("the car", car)
	if same(own, car) {
		return []Collision{c.is(fit.True, "%s is %s, as the car's label says", a.Name, own)}
	}
	return []Collision{c.is(fit.False, "%s is %s and the car's system is for %s", a.Name, own, car)}
}

// coolant and engineOil are words that have to hold what the car asks for.
func coolant(s set, a Item) []Collision { return spec(s, a, "coolant", "coolant") }

func engineOil(s set, a Item) []Collision { return spec(s, a, "engine_oil", "engine oil") }

var viscosity = regexp.MustCompile(`^\d{1,2}W\d{1,2}$`)

// spec compares a bottle's words with the car's: every word that the car asks
// for is on the bottle, or, where a viscosity is asked for and the bottle has
// another, it does not fit.
func spec(s set, a Item, key, what string) []Collision {
	own, car := a.text(key), s.car.text(key)
	c := start(a, theCar, what)
	c.from("every word of the car's specification is on the bottle; another viscosity does not fit", practice+"; "+makers)
	if own == "" || car == "" {
		c.lacks(a, key)
		c.wants(s.car, key)
		return []Collision{c.unknown("what one of them is, is not known")}
	}
	c.step(a.Name, own)
	c.step("the car", car)
	have, want := specWords(own), specWords(car)
	var missing []string
	for _, w := range want {
		if !slices.Contains(have, w) {
			missing = append(missing, w)
		}
	}
	switch {
	case len(missing) == 0:
		return []Collision{c.is(fit.True, "%s has all of %s that the car asks for", a.Name, car)}
	case slices.ContainsFunc(missing, viscosity.MatchString) && slices.ContainsFunc(have, viscosity.MatchString):
		return []Collision{c.is(fit.False, "%s is %s, and the car asks for %s", a.Name, own, car)}
	}
	c.Measure = append(c.Measure, "whether "+a.Name+" meets "+strings.Join(missing, ", ")+": on its label or in its maker's data")
	return []Collision{c.is(fit.Unknown, "%s does not say that it meets %s", a.Name, strings.Join(missing, ", "))}
}

// specWords are the words of a specification, with 5W-30 as one.
func specWords(t string) []string {
	t = strings.ToUpper(strings.NewReplacer("W-", "W", "w-", "W", ",", " ", ";", " ", "/", " ").Replace(t))
	return strings.Fields(t)
}
