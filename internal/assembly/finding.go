package assembly

import (
	"fmt"
	"strings"

	"rampside/internal/fact"
	"rampside/internal/fit"
)

// start begins a collision of a part with the car or with another part.
func start(a Item, b Side, what string) Collision {
	return Collision{A: a.side(), B: b, Fact: what, Truth: fit.Unknown}
}

func (c *Collision) step(label, value string) { c.Steps = append(c.Steps, Step{label, value}) }

// is sets the outcome with its sentence.
func (c *Collision) is(t fit.Truth, format string, args ...any) Collision {
	c.Truth, c.Says = t, fmt.Sprintf(format, args...)
	return *c
}

func (c *Collision) from(formula, source string) { c.Formula, c.Source = formula, source }

// lacks notes properties that a part was not given, and asks for them.
func (c *Collision) lacks(a Item, keys ...string) {
	for _, key := range keys {
		if a.text(key) != "" {
			continue
		}
		if p, ok := PropertyOf(a.Kind, key); ok {
			c.Measure = append(c.Measure, fmt.Sprintf("%s of %s: %s", lower(p.Label), a.Name, p.How))
		}
	}
}

// wants notes facts of the car that are not known, and asks for them.
func (c *Collision) wants(car Car, keys ...string) {
	for _, key := range keys {
		if car.text(key) == "" {
			c.ask(key)
		}
	}
}

// ask asks for a fact of the car.
func (c *Collision) ask(key string) {
	k, ok := fact.KeyOf(key)
	if !ok {
		return
	}
	c.Read = append(c.Read, key)
	c.Measure = append(c.Measure, fmt.Sprintf("%s of the car, %s: %s", k.Name(), k.Where, k.How))
}

// unknown ends a collision that lacks something.
func (c *Collision) unknown(what string) Collision {
	return c.is(fit.Unknown, "%s: %s", c.pairing(), what)
}

func (c *Collision) pairing() string { return c.A.Name + " and " + c.B.Name }

func lower(s string) string {
	if s == "" || strings.ToUpper(s[:min(2, len(s))]) == s[:min(2, len(s))] {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// axleKey is the fact of the car for the axle of a part: front_… or rear_….
// ok is false where the part does not say which.
func axleKey(a Item, rest string) (key string, ok bool) {
	x := a.axle()
	return x + "_" + rest, x != ""
}

// same compares words without regard to case, blanks and the signs between
// them.
func same(a, b string) bool { return squeeze(a) == squeeze(b) }

func squeeze(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '/', '.', ',', '×':
			return -1
		}
		return r
	}, strings.ReplaceAll(strings.ToUpper(s), "×", "X"))
}

const (
	practice = "common practice, no published source"
	makers   = "the maker's figures come before this"
)

// alike is the check of a property that has to be the same on both sides. It
// is left out where neither says anything, and not settled where one does not.
func alike(a Item, key string, b Side, other string, what, source string, ask func(c *Collision)) []Collision {
	own := a.text(key)
	if own == "" && other == "" {
		return nil
	}
	c := start(a, b, what)
	c.from("both are the same", source)
	c.step(a.Name, orNone(own))
	c.step(b.Name, orNone(other))
	switch {
	case own == "" || other == "":
		c.lacks(a, key)
		if other == "" {
			ask(&c)
		}
		return []Collision{c.unknown("the " + what + " is known of one of them only")}
	case same(own, other):
		return []Collision{c.is(fit.True, "%s: %s is %s on both", c.pairing(), what, own)}
	}
	return []Collision{c.is(fit.False, "%s has %s %s, %s has %s", a.Name, what, own, b.Name, other)}
}

func orNone(s string) string {
	if s == "" {
		return "not known"
	}
	return s
}
