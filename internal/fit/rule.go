package fit

import (
	"slices"

	"rampside/internal/fact"
)

// Bounds of a rule, far above what a box or a catalogue says.
const (
	MaxText       = 8000 // bytes of a rule that is typed
	MaxDepth      = 20   // rules inside rules
	MaxConditions = 120
	MaxValues     = 200 // in all conditions of a rule together
)

// Shape is what a rule is made of.
type Shape int

// The shapes. The zero Rule has none, and says nothing about any car.
const (
	Nothing     Shape = iota
	OfAll             // all of its parts hold; without parts it is any car
	OfAny             // at least one of its parts holds; without parts it is no car
	OfNot             // its one part does not hold
	OfCondition       // a condition on one fact
)

// Rule says which cars a part is for. It is made by Parse, by All, Any and
// Not, by Compare, or from JSON; it cannot be changed.
type Rule struct {
	shape Shape
	parts []Rule
	cond  *Condition
}

// AnyCar holds for every car, whatever is known of it.
func AnyCar() Rule { return Rule{shape: OfAll} }

// NoCar holds for none.
func NoCar() Rule { return Rule{shape: OfAny} }

// All holds where every one of the rules does. Rules that are empty are left
// out, and an All inside becomes part of this one.
func All(rules ...Rule) Rule { return joined(OfAll, rules) }

// Any holds where at least one of the rules does, put together as by All.
func Any(rules ...Rule) Rule { return joined(OfAny, rules) }

func joined(s Shape, rules []Rule) Rule {
	out := Rule{shape: s}
	given := 0
	for _, r := range rules {
		switch {
		case r.shape == Nothing:
			continue
		case r.shape == s && len(r.parts) > 0:
			out.parts = append(out.parts, r.parts...)
		default:
			out.parts = append(out.parts, r)
		}
		given++
	}
	switch {
	case given == 0:
		return Rule{}
	case len(out.parts) == 1:
		return out.parts[0]
	}
	return out
}

// Not holds where r does not. Not of the empty rule is empty.
func Not(r Rule) Rule {
	if r.shape == Nothing {
		return r
	}
	return Rule{shape: OfNot, parts: []Rule{r}}
}

// Shape tells what the rule is made of.
func (r Rule) Shape() Shape { return r.shape }

// IsZero tells whether the rule says nothing at all.
func (r Rule) IsZero() bool { return r.shape == Nothing }

// Parts are the rules inside: of a Not the one that it turns round.
func (r Rule) Parts() []Rule { return slices.Clone(r.parts) }

// Condition gives the condition of a rule that is one.
func (r Rule) Condition() (Condition, bool) {
	if r.cond == nil {
		return Condition{}, false
	}
	return *r.cond, true
}

// Equal tells whether two rules are written the same.
func (r Rule) Equal(other Rule) bool { return r.String() == other.String() }

// Conditions are all conditions of the rule, in the order in which they are
// written.
func (r Rule) Conditions() []Condition {
	var out []Condition
	r.each(func(c *Condition) { out = append(out, *c) })
	return out
}

func (r Rule) each(do func(*Condition)) {
	if r.cond != nil {
		do(r.cond)
	}
	for _, p := range r.parts {
		p.each(do)
	}
}

// Facts are the facts that the rule asks about, each once, in the order of the
// vocabulary.
func (r Rule) Facts() []fact.Key {
	var out []fact.Key
	r.each(func(c *Condition) {
		if !slices.ContainsFunc(out, func(k fact.Key) bool { return k.Key == c.key.Key }) {
			out = append(out, *c.key)
		}
	})
	slices.SortFunc(out, func(a, b fact.Key) int { return fact.Order(a.Key) - fact.Order(b.Key) })
	return out
}

// depth is how many rules are inside one another.
func (r Rule) depth() int {
	d := 0
	for _, p := range r.parts {
		d = max(d, p.depth())
	}
	return d + 1
}
