package fitment

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"rampside/internal/fact"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// Before is what became of one part number on one car.
type Before struct {
	Number    string
	Name      string // of the part
	PartID    jobcard.PartID
	CardID    jobcard.CardID
	VehicleID vehicle.ID
	Model     string // make and model
	// Fitted, or else refused.
	Fitted bool
	// Facts are what was known of that car then.
	Facts map[string]string
	Note  string
	At    time.Time
}

// Tally counts what became of a number.
type Tally struct{ Fitted, Refused int }

func (t *Tally) add(b Before) {
	if b.Fitted {
		t.Fitted++
	} else {
		t.Refused++
	}
}

// Words says it: fitted 3 times, refused once.
func (t Tally) Words() string {
	var out []string
	for _, x := range []struct {
		what string
		n    int
	}{{"fitted", t.Fitted}, {"refused", t.Refused}} {
		switch x.n {
		case 0:
		case 1:
			out = append(out, x.what+" once")
		default:
			out = append(out, fmt.Sprintf("%s %d times", x.what, x.n))
		}
	}
	return strings.Join(out, ", ")
}

// Shared is a fact that this car and all the cars alike have in common.
type Shared struct {
	Key   fact.Key
	Value string
}

// Hint is what is remembered of one number. It tells nothing for certain: cars
// that agree in all that is known of both may differ in what is not.
type Hint struct {
	Number string
	// Name is what the part was called last.
	Name string
	// Relation says how the number belongs with the one asked about: empty for
	// itself, else "the same part", "replaced it" or "it replaced".
	Relation string
	// Alike counts cars of the same model of which nothing that is known of
	// both differs; Other counts the rest.
	Alike, Other Tally
	// On are the telling facts that this car and all those alike share.
	On []Shared
	// Differs are the telling facts by which the others differ, most often
	// first, as this car has them.
	Differs []Shared
	// Cards are those where it was fitted or refused on a car alike.
	Cards []jobcard.CardID
}

// telling are the facts that make a car another one for a part; mileage,
// colour and dates do not.
var telling = []string{
	"engine_code", "engine_layout", "cylinders", "displacement_cc", "fuel", "gearbox", "gearbox_code", "body", "driven_axle",
	"steering_side", "front_disc_mm", "rear_disc_mm", "rear_brake", "suspension", "stud_pattern", "centre_bore_mm", "connector",
	"battery_type", "system_voltage", "refrigerant",
}

// Remember sums up what became of numbers before, for a car of a model with
// the facts known of it. keys are further facts that matter, those of the
// part's conditions. The number that was fitted most on cars alike comes
// first.
func Remember(before []Before, model string, known map[string]string, keys ...string) []Hint {
	by := map[string][]Before{}
	var order []string
	for _, b := range before {
		k := NumberKey(b.Number)
		if by[k] == nil {
			order = append(order, k)
		}
		by[k] = append(by[k], b)
	}
	matters := slices.Compact(slices.Sorted(slices.Values(append(slices.Clone(telling), keys...))))
	var out []Hint
	for _, k := range order {
		out = append(out, hintOf(by[k], model, known, matters))
	}
	slices.SortStableFunc(out, func(a, b Hint) int {
		return cmp.Or(cmp.Compare(b.Alike.Fitted, a.Alike.Fitted), cmp.Compare(a.Alike.Refused, b.Alike.Refused))
	})
	return out
}

func hintOf(all []Before, model string, known map[string]string, matters []string) Hint {
	h := Hint{Number: all[0].Number, Name: all[0].Name}
	shared := map[string]int{}
	differs := map[string]int{}
	alike := 0
	for _, b := range all {
		same, other := compare(b, known, matters)
		if !strings.EqualFold(b.Model, model) || len(other) > 0 {
			h.Other.add(b)
			for _, k := range other {
				differs[k]++
			}
			continue
		}
		alike++
		h.Alike.add(b)
		h.Cards = append(h.Cards, b.CardID)
		for _, k := range same {
			shared[k]++
		}
	}
	for _, k := range fact.Vocabulary() {
		if n := shared[k.Key]; n > 0 && n == alike {
			h.On = append(h.On, Shared{k, known[k.Key]})
		}
		if differs[k.Key] > 0 {
			h.Differs = append(h.Differs, Shared{k, known[k.Key]})
		}
	}
	slices.SortStableFunc(h.Differs, func(a, b Shared) int { return differs[b.Key.Key] - differs[a.Key.Key] })
	return h
}

// compare gives the facts known of both cars that agree, and those that do not.
func compare(b Before, known map[string]string, matters []string) (same, other []string) {
	for _, name := range matters {
		mine, theirs := known[name], b.Facts[name]
		k, ok := fact.KeyOf(name)
		if !ok || mine == "" || theirs == "" {
			continue
		}
		if k.Agree(mine, theirs) {
			same = append(same, name)
		} else {
			other = append(other, name)
		}
	}
	return same, other
}

// Words says the hint in a sentence: fitted 3 times, refused once on cars of
// this model with engine layout V, displacement 1600 cc.
func (h Hint) Words() string {
	var out []string
	if w := h.Alike.Words(); w != "" {
		w += " on cars of this model"
		if len(h.On) > 0 {
			w += " with " + sharedWords(h.On)
		}
		out = append(out, w)
	}
	if w := h.Other.Words(); w != "" {
		w += " on other cars"
		if len(h.Differs) > 0 {
			w += ", where " + labels(h.Differs) + " differs"
		}
		out = append(out, w)
	}
	return strings.Join(out, "; ")
}

func sharedWords(all []Shared) string {
	out := make([]string, len(all))
	for i, s := range all {
		out[i] = s.Key.Name() + " " + s.Key.Shown(s.Value)
	}
	return strings.Join(out, ", ")
}

func labels(all []Shared) string {
	out := make([]string, len(all))
	for i, s := range all {
		out[i] = s.Key.Name()
	}
	return strings.Join(out, " or ")
}
