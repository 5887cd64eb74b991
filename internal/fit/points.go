package fit

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/fact"
)

// classes are the ways in which a fact may turn out, as far as a rule can tell
// them apart: for each condition of the rule on this fact, which of the ways
// make it true and which make it false.
type classes struct {
	key   *fact.Key
	sofar string // what is known already
	conds []*Condition
	holds []ways3
	n     int
}

// ways3 are the classes that make a condition true, and those that make it
// false.
type ways3 struct{ true, false set }

// classesOf sorts what a fact may turn out to be, once it is read in full, by
// what it makes of the conditions.
func classesOf(k *fact.Key, sofar string, conds []*Condition) classes {
	c := classes{key: k, sofar: sofar, conds: conds, holds: make([]ways3, len(conds))}
	var known []string
	truths := make([]byte, len(conds))
	for _, text := range points(k, sofar, conds) {
		s := look(k, text)
		for i, cond := range conds {
			truths[i] = byte(cond.holds(s) + 1)
		}
		if c.n == setSize || slices.Contains(known, string(truths)) {
			continue
		}
		known = append(known, string(truths))
		for i, b := range truths {
			switch Truth(b) - 1 {
			case True:
				c.holds[i].true.add(c.n)
			case False:
				c.holds[i].false.add(c.n)
			}
		}
		c.n++
	}
	return c
}

// points are readings of a fact of which each stands for all that the
// conditions cannot tell from it. Those that what is known already rules out
// are left out.
func points(k *fact.Key, sofar string, conds []*Condition) []string {
	switch k.Kind {
	case fact.Choice:
		return k.Options
	case fact.Number:
		return numberPoints(k, conds)
	case fact.Date:
		return datePoints(sofar, conds)
	case fact.Tyre:
		return tyrePoints(sofar, conds)
	case fact.Chassis:
		return chassisPoints(sofar, conds)
	}
	return textPoints(conds)
}

// eachValue goes through all values of the conditions, bounds too.
func eachValue(conds []*Condition, do func(*value)) {
	for _, c := range conds {
		for i := range c.values {
			do(&c.values[i])
		}
		if c.low != nil {
			do(c.low)
		}
		if c.high != nil {
			do(c.high)
		}
	}
}

// other ends a text that no condition speaks of: it is a character that no
// value may hold.
const other = "\uFEFF"

func textPoints(conds []*Condition) []string {
	out := []string{other}
	eachValue(conds, func(v *value) { out = append(out, v.text, v.text+other) })
	return out
}

// numberPoints are the figures at the edges of what the conditions mean and
// right beside them, on the grid of the key's decimals.
func numberPoints(k *fact.Key, conds []*Condition) []string {
	step := int64(fact.One) / int64(math.Pow10(k.Decimals))
	low, high := int64(k.Low*float64(fact.One)), int64(k.High*float64(fact.One))
	at := []int64{low, high}
	eachValue(conds, func(v *value) {
		from, to := floorTo(v.from, step), floorTo(v.to, step)
		at = append(at, from-step, from, from+step, to-step, to, to+step)
	})
	slices.Sort(at)
	var out []string
	for _, n := range slices.Compact(at) {
		if n >= low && n <= high {
			out = append(out, fact.Millionth(n).String())
		}
	}
	return out
}

// floorTo is the greatest multiple of step that is not above n.
func floorTo(n, step int64) int64 {
	q := n / step
	if n%step < 0 {
		q--
	}
	return q * step
}

func datePoints(sofar string, conds []*Condition) []string {
	first, last, ok := fact.Days(sofar)
	if !ok {
		first, _, _ = fact.Days(strconv.Itoa(fact.FirstYear))
		_, last, _ = fact.Days(strconv.Itoa(fact.LastYear))
	}
	at := []int{first, last}
	eachValue(conds, func(v *value) { at = append(at, int(v.from)-1, int(v.from), int(v.to), int(v.to)+1) })
	slices.Sort(at)
	var out []string
	for _, n := range slices.Compact(at) {
		if n >= first && n <= last {
			out = append(out, fact.Day(n))
		}
	}
	return out
}

// tyrePoints are the sizes that are asked for, with each index and mark that
// is, and with others.
func tyrePoints(sofar string, conds []*Condition) []string {
	sizes, indexes, marks := []string{"0 R0"}, []string{"0" + other}, []string{other, ""}
	add := func(to *[]string, s string) {
		if s != "" && !slices.Contains(*to, s) {
			*to = append(*to, s)
		}
	}
	eachValue(conds, func(v *value) {
		size, index, mark := tyreParts(v.text)
		add(&sizes, size)
		add(&indexes, index)
		add(&marks, mark)
	})
	had, hadIndex, hadMark := tyreParts(sofar)
	if sofar != "" {
		sizes = []string{had}
		if strings.Contains(had, " R") {
			sizes = append(sizes, strings.Replace(had, " R", " ZR", 1))
		}
	}
	if hadIndex != "" {
		indexes = []string{hadIndex}
	}
	if hadMark != "" {
		marks = []string{hadMark}
	}
	var out []string
	for _, s := range sizes {
		for _, i := range indexes {
			for _, m := range marks {
				out = append(out, strings.TrimSpace(s+" "+i+" "+m))
			}
		}
	}
	return out
}

// chassisPoints are whole numbers that end as the conditions ask, or beside
// that, and one that is like none of them. A number that is whole already
// can be read no further.
func chassisPoints(sofar string, conds []*Condition) []string {
	const whole = 17
	if len(sofar) == whole {
		return nil
	}
	ends := []string{""}
	eachValue(conds, func(v *value) {
		ends = append(ends, v.text)
		if n := len(v.text) - len(sofar); n > 0 {
			ends = append(ends, v.text[:n]+sofar)
		}
		for d := int64(-1); d <= 1 && v.digits > 0; d++ {
			s := strconv.FormatInt(v.serial+d, 10)
			if v.serial+d >= 0 && len(s) <= v.digits {
				ends = append(ends, v.lead()+strings.Repeat("0", v.digits-len(s))+s)
			}
		}
	})
	var out []string
	for _, e := range ends {
		switch {
		case strings.HasSuffix(e, sofar):
		case strings.HasSuffix(sofar, e):
			e = sofar
		default:
			continue
		}
		if len(e) <= whole {
			out = append(out, strings.Repeat("_", whole-len(e))+e)
		}
	}
	return out
}
