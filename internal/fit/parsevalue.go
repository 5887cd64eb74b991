package fit

import (
	"slices"
	"strings"

	"rampside/internal/fact"
)

// values reads one value or more, with commas between them.
func (p *parser) values(c *Condition, test Test) error {
	for {
		v, err := p.value(c, test)
		t, before, after := p.peek(), p.tokens[max(p.i-1, 0)], p.ahead(1)
		if t.kind == comma && c.key.Kind == fact.Number && before.at+before.len == t.at && after.at == t.at+1 && after.kind == word {
			return t.wrong("commas stand between values: write decimals with a point, thousands without a comma, and a blank after a comma")
		}
		if err != nil {
			return err
		}
		c.add(*v)
		if t.kind != comma {
			return nil
		}
		p.next()
	}
}

func (p *parser) one(c *Condition, test Test) error {
	v, err := p.value(c, test)
	if err == nil {
		c.add(*v)
	}
	return err
}

// bounds reads the two ends of a range, of which the second may be missing.
func (p *parser) bounds(c *Condition, between ...string) (err error) {
	if c.low, err = p.value(c, From, append(between, "on", "onwards")...); err != nil {
		return err
	}
	switch {
	case p.takeOne(between...):
		c.high, err = p.value(c, From)
	case p.takeOne("on", "onwards"):
	case slices.Contains(between, "and"):
		return p.peek().wrong(`"between" goes on with "and" and the other end`)
	}
	return err
}

// value reads one value: words up to a comma, a bracket, and, or, or one of
// the words in stops.
func (p *parser) value(c *Condition, test Test, stops ...string) (*value, error) {
	first := p.peek()
	text := first.text
	if first.kind == quotedText {
		p.next()
	} else {
		var words []string
		for p.peek().kind == word && !joining(p.peek().text) && !p.peek().is(stops...) {
			words = append(words, p.next().text)
		}
		if len(words) == 0 {
			return nil, first.wrong("here the value for %s is missing, such as %s", c.key.Name(), example(c.key))
		}
		text = strings.Join(words, " ")
	}
	v, err := newValue(c.key, test, text)
	if err != nil {
		return nil, &SyntaxError{first.at, p.endOfLast() - first.at, c.key.Name() + ": " + err.Error()}
	}
	return &v, nil
}

// example is a value that a fact might have.
func example(k *fact.Key) string {
	switch k.Kind {
	case fact.Number:
		n := (k.Low + k.High) / 2
		return fact.Millionth(int64(n)*int64(fact.One)).String() + strings.TrimRight(" "+k.Unit, " ")
	case fact.Choice:
		return quoted(k.Options[len(k.Options)-1])
	case fact.Date:
		return "2019-03"
	case fact.Tyre:
		return "205/55 R16"
	case fact.Pattern:
		return "5x112"
	case fact.Chassis:
		return "118341"
	}
	return "K7A"
}
