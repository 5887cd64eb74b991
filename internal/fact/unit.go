package fact

import (
	"math/big"
	"slices"
	"strings"
)

// Unit is a way to write a figure besides the unit that a fact is kept in.
type Unit struct {
	// Name is how it is written, Also what else is understood.
	Name string
	Also []string
	// Of is the unit of the vocabulary that it turns into, and Factor how many
	// of that it is, exactly.
	Of     string
	Factor *big.Rat
	// Source is where the factor is published.
	Source string
}

// The inch, the pound and standard gravity are exact by definition; the two
// horsepowers and the pound-foot follow from them: 75 kgf m/s, 550 ft lbf/s
// and 1 ft lbf.
const (
	definition = "exact by definition: NIST Special Publication 811, appendix B"
	metric     = "multiple of the unit: the SI brochure of the BIPM"
)

var units = []Unit{
	{"l", []string{"litre", "litres", "liter", "liters", "ltr", "dm3"}, "cc", rat("1000"), metric},
	{"cm3", []string{"ccm", "cm³", "cu cm"}, "cc", rat("1"), metric},
	{"cm", nil, "mm", rat("10"), metric},
	{"in", []string{"inch", "inches"}, "mm", rat("25.4"), definition},
	{"PS", []string{"cv", "ch"}, "kW", rat("0.73549875"), "75 kgf m/s, " + definition},
	{"bhp", nil, "kW", rat("0.74569987158227022"), "550 ft lbf/s, " + definition},
	{"W", nil, "kW", rat("0.001"), metric},
	{"lb", []string{"lbs", "pounds"}, "kg", rat("0.45359237"), definition},
	{"cwt", nil, "kg", rat("50.80234544"), "112 lb, " + definition},
	{"t", []string{"tonne", "tonnes"}, "kg", rat("1000"), metric},
	{"lbft", []string{"ftlb", "lb-ft", "ft-lb"}, "Nm", rat("1.3558179483314004"), definition},
	{"oz", nil, "g", rat("28.349523125"), definition},
	{"kg", nil, "g", rat("1000"), metric},
	{"mph", nil, "km/h", rat("1.609344"), definition},
	{"mm", nil, "in", rat("5/127"), definition},
	{"kV", nil, "V", rat("1000"), metric},
}

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("fact: no figure: " + s)
	}
	return r
}

// Units are the other units in which a figure of this key may be written.
func (k Key) Units() []Unit {
	var out []Unit
	for _, u := range units {
		if k.Kind == Number && u.Of == k.Unit {
			out = append(out, u)
		}
	}
	return out
}

// UnitOf finds the unit that a figure of this key was written in. The key's
// own, or none, gives the zero Unit.
func (k Key) UnitOf(name string) (u Unit, ok bool) {
	if name == "" || strings.EqualFold(name, k.Unit) {
		return Unit{}, true
	}
	for _, u := range k.Units() {
		if strings.EqualFold(u.Name, name) || slices.ContainsFunc(u.Also, func(a string) bool { return strings.EqualFold(a, name) }) {
			return u, true
		}
	}
	return Unit{}, false
}
