package fit

import (
	"strconv"
	"strings"

	"rampside/internal/fact"
)

// seen is what is known of a fact, made ready to compare. The zero seen is
// nothing known.
type seen struct {
	known bool
	text  string
	// from and to are what a figure or a date may mean, as in value.
	from, to int64
}

// look makes a value ready. A value that is not one of the key's counts as not
// known: it cannot be compared.
func look(k *fact.Key, text string) seen {
	s := seen{known: text != "", text: text}
	switch {
	case !s.known:
	case k.Kind == fact.Number:
		n, err := fact.Millionths(text)
		s.known = err == nil
		s.from, s.to = int64(n), int64(n)
	case k.Kind == fact.Date:
		from, to, ok := fact.Days(text)
		s.known = ok
		s.from, s.to = int64(from), int64(to)
	}
	return s
}

// holds tells whether the condition is true of what was seen.
func (c *Condition) holds(s seen) Truth {
	if !s.known {
		return Unknown
	}
	switch c.test {
	case From:
		if c.key.Kind == fact.Chassis {
			return c.between(s.text)
		}
		low, high := int64(least), int64(most)
		if c.low != nil {
			low = c.low.from
		}
		if c.high != nil {
			high = c.high.to
		}
		return inside(s, low, high)
	case Over:
		return inside(s, c.values[0].to+1, most)
	case Under:
		return inside(s, least, c.values[0].from-1)
	}
	t := False
	for i := range c.values {
		t = t.Or(c.same(s, &c.values[i]))
		if t == True {
			break
		}
	}
	return t
}

const (
	least = -1 << 62
	most  = 1 << 62
)

// inside tells whether all, some or none of what was seen lies from low to
// high.
func inside(s seen, low, high int64) Truth {
	switch {
	case s.to < low || s.from > high:
		return False
	case s.from >= low && s.to <= high:
		return True
	}
	return Unknown
}

func (c *Condition) same(s seen, v *value) Truth {
	switch c.key.Kind {
	case fact.Number, fact.Date:
		return inside(s, v.from, v.to)
	case fact.Tyre:
		return sameTyre(s.text, v.text)
	case fact.Chassis:
		return endsIn(s.text, v.text)
	}
	return truth(s.text == v.text || c.test == Begins && strings.HasPrefix(s.text, v.text))
}

func truth(b bool) Truth {
	if b {
		return True
	}
	return False
}

// sameTyre holds a size read off a car against one that is asked for, part by
// part. What is asked for and was not read cannot be told; what was read and
// is not asked for does not matter. An R is asked for on a ZR tyre too, since
// the Z speaks of speed alone.
func sameTyre(car, want string) Truth {
	if car == want {
		return True
	}
	cs, ci, cm := tyreParts(car)
	ws, wi, wm := tyreParts(want)
	size := truth(cs == ws)
	if plain := strings.Replace(cs, " ZR", " R", 1); plain == strings.Replace(ws, " ZR", " R", 1) && size == False {
		size = Unknown // a ZR is asked for, and the car's size may have been written without its Z
		if ws == plain {
			size = True
		}
	}
	return size.And(samePart(ci, wi)).And(samePart(cm, wm))
}

func samePart(car, want string) Truth {
	switch {
	case want == "" || car == want:
		return True
	case car == "":
		return Unknown
	}
	return False
}

// tyreParts are the size, the load index with its speed symbol, and the mark
// of a reinforced tyre; the last two empty where they were not read.
func tyreParts(text string) (size, index, mark string) {
	words := strings.Fields(text)
	n := min(2, len(words))
	if n > 0 && strings.Contains(words[0], "-") {
		n = 1
	}
	size = strings.Join(words[:n], " ")
	for _, w := range words[n:] {
		if isDigit(w[0]) {
			index = w
		} else {
			mark = w
		}
	}
	return size, index, mark
}

// endsIn tells whether a chassis number is the one asked for, or ends in it.
func endsIn(car, want string) Truth {
	switch {
	case strings.HasSuffix(car, want):
		return True
	case strings.HasSuffix(want, car):
		return Unknown // only the end of the car's number is known
	}
	return False
}

// between tells whether a chassis number lies in the condition's range. A
// bound is held against as many of the number's last characters as it has, of
// which the figures count up and the rest says which series it is of. Numbers
// of another series cannot be told to be earlier or later; where the two ends
// are of different series the range runs from the one on through to the other
// (common practice, no published source).
func (c *Condition) between(car string) Truth {
	low, lowSame := Unknown, false
	high, highSame := Unknown, false
	if c.low != nil {
		var n int64
		if n, lowSame = serialOf(car, c.low); lowSame {
			low = truth(n >= c.low.serial)
		}
	}
	if c.high != nil {
		var n int64
		if n, highSame = serialOf(car, c.high); highSame {
			high = truth(n <= c.high.serial)
		}
	}
	switch {
	case c.low == nil:
		return high
	case c.high == nil:
		return low
	case lowSame && highSame:
		return low.And(high)
	case lowSame:
		return low
	}
	return high
}

// serialOf is the figure of a chassis number that a bound counts; ok is false
// where the number is of another series than the bound, or too short.
func serialOf(car string, bound *value) (n int64, ok bool) {
	n = -1
	if bound.digits == len(bound.text) && len(car) < len(bound.text) {
		car = strings.Repeat("0", len(bound.text)-len(car)) + car // an old car's short number
	}
	if len(car) < len(bound.text) {
		return n, false
	}
	tail := car[len(car)-len(bound.text):]
	if tail[:len(tail)-bound.digits] != bound.lead() {
		return n, false
	}
	for _, b := range []byte(tail[len(tail)-bound.digits:]) {
		if !isDigit(b) {
			return n, false
		}
	}
	n, err := strconv.ParseInt(tail[len(tail)-bound.digits:], 10, 64)
	return n, err == nil
}
