package fit

import (
	"strings"

	"rampside/internal/fact"
)

// read reads what a condition is compared with.
func (p *parser) read(c *Condition, after ends) error {
	switch after {
	case listed:
		return p.values(c)
	case single:
		v, err := p.value(c)
		if err == nil {
			c.add(*v)
		}
		return err
	}
	return p.bounds(c, after)
}

// values reads one value or more, with commas between them.
func (p *parser) values(c *Condition) error {
	for {
		from := p.i
		v, err := p.value(c)
		t, before, after := p.peek(), p.tokens[max(p.i-1, 0)], p.ahead(1)
		if t.kind == comma && c.key.Kind == fact.Number && before.at+before.len == t.at && after.at == t.at+1 && after.kind == word {
			return t.wrong("commas stand between values: write decimals with a point, thousands without a comma, and a blank after a comma")
		}
		if err != nil {
			if len(c.values) > 0 && p.nameAt(from) {
				return p.tokens[from-1].wrong(`commas stand between values; join conditions by "and"`)
			}
			return err
		}
		c.add(*v)
		if t.kind != comma {
			return nil
		}
		p.next()
	}
}

// nameAt tells whether the token at i begins the name of a fact.
func (p *parser) nameAt(i int) bool {
	was := p.i
	defer func() { p.i = was }()
	p.i = i
	_, _, err := p.key()
	return err == nil
}

// several refuses one value that was meant as more, since a code cannot be told
// from a list of codes without commas. In double quotes it is taken as it is.
func (p *parser) several(c *Condition, list bool, first token) error {
	if c.key.Kind != fact.Text || len(c.values) != 1 || first.kind == quotedText {
		return nil
	}
	parts := Strokes(c.values[0].text)
	if blanks := strings.Fields(c.values[0].text); list && len(blanks) > 1 {
		parts = blanks
	}
	if parts == nil {
		return nil
	}
	return &SyntaxError{first.at, p.endOfLast() - first.at, "put commas between values, as in " + strings.Join(parts, ", ") + "; one value that is written so stands in double quotes"}
}

// Strokes are the codes that a text like K7A/K7B holds: of one length, with
// strokes between them and no blank; nil where it is none. They were meant as
// a list more likely than as one code.
func Strokes(text string) []string {
	parts := strings.Split(text, "/")
	if len(parts) == 1 || len(parts[0]) < 2 || strings.Contains(text, " ") {
		return nil
	}
	for _, s := range parts {
		if len(s) != len(parts[0]) {
			return nil
		}
	}
	return parts
}

// bounds reads the ends of a range, as the words between them have it.
func (p *parser) bounds(c *Condition, after ends) (err error) {
	switch after {
	case lowest:
		c.low, err = p.value(c)
		return err
	case twoTo:
		if c.low, err = p.value(c, "to", "until", "till", "on", "onwards"); err != nil {
			return err
		}
		if !p.takeOne("to", "until", "till") {
			p.takeOne("on", "onwards")
			return nil
		}
	case twoAnd:
		if c.low, err = p.value(c); err != nil {
			return err
		}
		if !p.take("and") {
			return p.peek().wrong(`"between" goes on with "and" and the other end`)
		}
	}
	c.high, err = p.value(c)
	return err
}

// value reads one value: words up to a comma, a bracket, and, or, or one of
// the words in stops.
func (p *parser) value(c *Condition, stops ...string) (*value, error) {
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
	v, err := newValue(c.key, c.test, text)
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
