package fit

import (
	"fmt"
	"math"
	"strings"

	"rampside/internal/fact"
)

// by says by what a condition fails, or why it cannot be told; and where it
// holds through another unit, how.
func (c *Condition) by(car seen, t Truth) string {
	switch {
	case !car.known && car.text == "":
		return "not known"
	case !car.known:
		return "what is noted cannot be read as " + c.key.Name()
	case t == Unknown:
		return c.inexact(car)
	case t == True:
		return c.through(car)
	}
	switch c.key.Kind {
	case fact.Number, fact.Date:
		return c.miss(car)
	case fact.Tyre:
		return c.missedTyre(car.text)
	case fact.Chassis:
		return c.missedChassis(car.text)
	}
	return "it is " + car.text
}

// through tells how a figure meets one in another unit.
func (c *Condition) through(car seen) string {
	if c.key.Kind != fact.Number || c.test != Is {
		return ""
	}
	for _, v := range c.values {
		if v.from != v.to && car.from >= v.from && car.to <= v.to {
			return c.key.Shown(car.text) + " rounds to " + v.text
		}
	}
	return ""
}

// inexact says what is missing from a value that is known in part.
func (c *Condition) inexact(car seen) string {
	switch c.key.Kind {
	case fact.Date:
		return "more of the date than " + c.key.Shown(car.text) + " must be known"
	case fact.Tyre:
		return "more of the size than " + car.text + " must be read"
	case fact.Chassis:
		if c.test == Is {
			return "only the end of the number is known"
		}
		return car.text + " is not counted in the same series as " + strings.TrimSpace(c.low.written()+" "+c.high.written())
	}
	return "not exact enough"
}

// miss says how far a figure or a date is from what was asked for.
func (c *Condition) miss(car seen) string {
	// The nearest bound below the car's value and above it.
	var under, over *value
	consider := func(v *value, bothWays bool) {
		switch {
		case v == nil:
		case (bothWays || v == c.high) && v.to < car.from && (under == nil || v.to > under.to):
			under = v
		case (bothWays || v == c.low) && v.from > car.to && (over == nil || v.from < over.from):
			over = v
		}
	}
	for i := range c.values {
		consider(&c.values[i], c.test == Is)
	}
	consider(c.low, false)
	consider(c.high, false)
	switch {
	case (c.test == Over || c.test == Under) && c.values[0].from <= car.from && car.to <= c.values[0].to && c.values[0].from != c.values[0].to && c.key.Kind == fact.Number:
		return c.key.Shown(car.text) + " rounds to " + c.values[0].text
	case c.test == Over || c.test == Under:
		if c.key.Kind == fact.Date {
			return fmt.Sprintf("%s is not %s %s", c.key.Shown(car.text), map[Test]string{Over: "after", Under: "before"}[c.test], c.key.Shown(c.values[0].text))
		}
		return fmt.Sprintf("%s is not %s %s", c.key.Shown(car.text), c.test, c.values[0].text)
	case under != nil && (over == nil || car.from-under.to <= over.from-car.to):
		return c.gap(car.from-under.to, "more than", "after", under)
	case over != nil:
		return c.gap(over.from-car.to, "less than", "before", over)
	}
	return "it is " + c.key.Shown(car.text)
}

func (c *Condition) gap(n int64, figures, dates string, v *value) string {
	if c.key.Kind == fact.Date {
		return fmt.Sprintf("%s %s %s", days(n), dates, c.key.Shown(v.text))
	}
	if v.from != v.to {
		return figures + " " + v.text // how far depends on how it was rounded
	}
	s := fact.Millionth(n).String()
	if c.key.Unit != "" {
		s += " " + c.key.Unit
	}
	return s + " " + figures + " " + v.text
}

// days writes a number of days as people say it.
func days(n int64) string {
	const year, month = 365.2425, 365.2425 / 12 // in the Gregorian calendar, on average
	switch {
	case n == 1:
		return "one day"
	case n < 62:
		return fmt.Sprintf("%d days", n)
	case n < 2*365:
		return fmt.Sprintf("about %d months", int(math.Round(float64(n)/month)))
	}
	return fmt.Sprintf("about %d years", int(math.Round(float64(n)/year)))
}

func (c *Condition) missedTyre(car string) string {
	if len(c.values) == 1 {
		cs, ci, _ := tyreParts(car)
		ws, wi, _ := tyreParts(c.values[0].text)
		if cs == ws && ci != wi {
			return fmt.Sprintf("load index and speed symbol are %s, not %s", ci, wi)
		}
	}
	return "it is " + car
}

func (c *Condition) missedChassis(car string) string {
	if c.low != nil {
		if n, ok := serialOf(car, c.low); ok && n < c.low.serial {
			return fmt.Sprintf("%d before %s", c.low.serial-n, c.low.text)
		}
	}
	if c.high != nil {
		if n, ok := serialOf(car, c.high); ok && n > c.high.serial {
			return fmt.Sprintf("%d after %s", n-c.high.serial, c.high.text)
		}
	}
	return "it is " + car
}

// why is the verdict in one sentence.
func (v Verdict) why() string {
	resting := v.Proof.resting(nil)
	switch {
	case v.Truth == True && len(resting) == 0:
		return "it is for any car"
	case len(resting) == 0:
		return "it is for no car"
	case v.Truth == True && len(resting) == 1:
		return fmt.Sprintf("%s: this car has %s, %s", resting[0].Text, resting[0].Value, resting[0].Source)
	case v.Truth == True:
		return fmt.Sprintf("all %d conditions that it rests on hold", len(resting))
	}
	s := resting[0]
	switch {
	case v.Truth == Unknown && s.Value == "":
		return more(s.Text+": not known yet", len(resting))
	case v.Truth == Unknown:
		return more(fmt.Sprintf("%s: %s", s.Text, s.By), len(resting))
	}
	because := fmt.Sprintf("%s: this car has %s, %s", s.Text, s.Value, s.Source)
	if s.By != "" && !strings.HasPrefix(s.By, "it is ") {
		because += "; " + s.By
	}
	return more(because, len(resting))
}

func more(s string, n int) string {
	if n > 1 {
		return fmt.Sprintf("%s; and %d more", s, n-1)
	}
	return s
}

// resting are the conditions that the verdict rests on, each worded as the
// rule does, with not before it where it is turned round.
func (s Step) resting(out []Step) []Step {
	switch {
	case !s.Carries:
		return out
	case s.Key != "":
		return append(out, s)
	case s.Join == "not" && s.Parts[0].Key != "":
		leaf := s.Parts[0]
		leaf.Text = s.Text
		return append(out, leaf)
	}
	for _, p := range s.Parts {
		out = p.resting(out)
	}
	return out
}
