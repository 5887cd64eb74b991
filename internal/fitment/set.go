package fitment

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/apperr"
	"rampside/internal/assembly"
	"rampside/internal/fit"
	"rampside/internal/jobcard"
	"rampside/internal/wheel"
)

// Clash is one thing on which a part has to agree with another, or with the
// car, whether or not they do.
type Clash struct {
	// Parts are the parts of the card that it is between: two, or one where the
	// other side is the car.
	Parts []jobcard.PartID `json:"parts"`
	// Names are what both sides are called.
	Names []string `json:"names"`
	// Label is what they have to agree on.
	Label string    `json:"label"`
	Truth fit.Truth `json:"truth"`
	// Says is what came out, in a sentence with both sides in it.
	Says string `json:"says"`
	// Margin is what is left, in words with its unit; empty where there is
	// nothing to measure.
	Margin string `json:"margin,omitempty"`
	// Steps are how it was worked out, Formula and Source where that comes from.
	Steps   []Step `json:"steps,omitempty"`
	Formula string `json:"formula,omitempty"`
	Source  string `json:"source,omitempty"`
	// Read are the facts of the car that it wants, Measure what it wants to know
	// of parts, in words.
	Read    []string `json:"read,omitempty"`
	Measure []string `json:"measure,omitempty"`
}

// Step is one figure of a calculation.
type Step struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

// clashesOf checks the parts of a card as a set, with what stays on the car.
func clashesOf(subjects []subject, known fit.Known) []Clash {
	var items []assembly.Item
	for _, s := range subjects {
		if s.put == nil || !s.put.Holds {
			continue
		}
		if k := assembly.Kind(s.put.Kind); k != assembly.Other && k.Valid() {
			items = append(items, assembly.Item{ID: strconv.FormatInt(int64(s.part.ID), 10), Name: s.part.Name, Kind: k, Props: s.put.Props})
		}
	}
	if len(items) == 0 {
		return nil
	}
	car := make(map[string]string, len(known))
	for key, v := range known {
		car[key] = v.Text
	}
	var out []Clash
	for _, c := range assembly.Check(items, car) {
		out = append(out, clashOf(c))
	}
	return out
}

func clashOf(c assembly.Collision) Clash {
	a, b := c.Names()
	x := Clash{
		Names: []string{a, b}, Label: c.Fact, Truth: c.Truth, Says: c.Says, Formula: c.Formula, Source: c.Source, Read: c.Read,
	}
	for _, m := range c.Measure {
		if !slices.ContainsFunc(c.Read, func(key string) bool { return strings.HasPrefix(m, nameOf(key)+" of the car") }) {
			x.Measure = append(x.Measure, m)
		}
	}
	for _, side := range []assembly.Side{c.A, c.B} {
		if id, err := strconv.ParseInt(side.ID, 10, 64); err == nil {
			x.Parts = append(x.Parts, jobcard.PartID(id))
		}
	}
	if c.Margin != nil {
		x.Margin = c.Margin.String()
	}
	for _, st := range c.Steps {
		x.Steps = append(x.Steps, Step(st))
	}
	return x
}

// CleanProps checks a part's kind and properties, and gives these in the form
// in which they are kept. An Invalid error has its messages at kind and
// props.KEY.
func CleanProps(kind string, props map[string]string) (map[string]string, error) {
	f := apperr.Fields{}
	_, out := cleanProps(f, kind, props)
	return out, f.Err()
}

// cleanProps checks a part's kind and properties; messages are at kind and
// props.KEY.
func cleanProps(f apperr.Fields, kind string, props map[string]string) (string, map[string]string) {
	k := assembly.Kind(kind)
	if k == "" {
		k = assembly.Other
	}
	out := map[string]string{}
	if !k.Valid() {
		f.Add("kind", "please choose what sort of part it is from the list")
		return string(k), out
	}
	for _, key := range slices.Sorted(maps.Keys(props)) {
		if strings.TrimSpace(props[key]) == "" {
			continue
		}
		p, ok := assembly.PropertyOf(k, key)
		if !ok {
			f.Add("props."+key, "%s has no such property", k)
			continue
		}
		v, err := p.Clean(props[key])
		if err != nil {
			f.Add("props."+key, "%s", err.Error())
			continue
		}
		if _, err := wheel.Parse(v); key == "wheel_marking" && err != nil {
			f.Add("props."+key, "%s", err.Error())
		}
		out[key] = v
	}
	return string(k), out
}
