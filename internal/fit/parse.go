package fit

import (
	"slices"
	"strings"

	"rampside/internal/fact"
)

// Parse reads a rule in the notation. The error is a *SyntaxError.
func Parse(text string) (Rule, error) {
	if len(text) > MaxText {
		return Rule{}, &SyntaxError{MaxText, len(text) - MaxText, "this is too long for a rule: most of what a box says is shorter than one line"}
	}
	ts, err := tokens(text)
	if err != nil {
		return Rule{}, err
	}
	p := &parser{tokens: ts}
	if p.peek().kind == end {
		return Rule{}, p.peek().wrong(`please write a condition, such as "engine code is K7A", or "any car"`)
	}
	r, err := p.rules(0)
	if err != nil {
		return Rule{}, err
	}
	if t := p.peek(); t.kind != end {
		return Rule{}, p.trailing(t)
	}
	if err := r.fits(); err != nil {
		return Rule{}, &SyntaxError{0, len(text), err.Error()}
	}
	return r, nil
}

type parser struct {
	tokens []token
	i      int
	// last is the condition that was read last, for the advice in errors.
	last *Condition
}

func (p *parser) peek() token { return p.tokens[p.i] }

func (p *parser) ahead(n int) token { return p.tokens[min(p.i+n, len(p.tokens)-1)] }

func (p *parser) next() token {
	t := p.tokens[p.i]
	if t.kind != end {
		p.i++
	}
	return t
}

// take goes past the words if they are next.
func (p *parser) take(words ...string) bool {
	for n, w := range words {
		if !p.ahead(n).is(w) {
			return false
		}
	}
	p.i += len(words)
	return true
}

// takeOne goes past one of the phrases, of one word or two, if it is next.
func (p *parser) takeOne(phrases ...string) bool {
	for _, phrase := range phrases {
		first, rest, more := strings.Cut(phrase, " ")
		if p.peek().is(first) && (!more || p.ahead(1).is(rest)) {
			p.i++
			if more {
				p.i++
			}
			return true
		}
	}
	return false
}

// rules reads rules that are joined by and, or by or.
func (p *parser) rules(depth int) (Rule, error) {
	first, err := p.rule(depth)
	if err != nil {
		return Rule{}, err
	}
	parts, shape := []Rule{first}, Nothing
	for p.peek().is("and", "or") {
		t := p.next()
		s := OfAll
		if t.is("or") {
			s = OfAny
		}
		if shape != Nothing && s != shape {
			return Rule{}, t.wrong(`"and" and "or" stand side by side here: put brackets round what belongs together`)
		}
		shape = s
		r, err := p.rule(depth)
		if err != nil {
			return Rule{}, err
		}
		parts = append(parts, r)
	}
	return joined(shape, parts), nil
}

// rule reads one rule: a condition, or something in brackets, or not and a
// rule.
func (p *parser) rule(depth int) (Rule, error) {
	t := p.peek()
	switch {
	case depth > MaxDepth:
		return Rule{}, t.wrong("at most %d rules inside one another", MaxDepth)
	case t.kind == open:
		return p.bracket(depth)
	case p.take("not"):
		r, err := p.rule(depth + 1)
		return Not(r), err
	case p.takeOne("any car", "every car", "all cars"), p.take("fits", "any", "car"):
		return AnyCar(), nil
	case p.takeOne("no car"):
		return NoCar(), nil
	case p.take("with"):
		return p.with(true)
	case p.take("without"):
		return p.with(false)
	}
	return p.condition()
}

func (p *parser) bracket(depth int) (Rule, error) {
	begin := p.next()
	r, err := p.rules(depth + 1)
	if err != nil {
		return Rule{}, err
	}
	switch t := p.peek(); t.kind {
	case shut:
		p.next()
		return r, nil
	case end:
		return Rule{}, begin.wrong(`this bracket is not closed: put ")" where what belongs together ends`)
	default:
		return Rule{}, p.trailing(t)
	}
}

// trailing says what is wrong with what comes after a whole rule.
func (p *parser) trailing(t token) *SyntaxError {
	switch t.kind {
	case shut:
		return t.wrong(`no bracket was opened that this could close`)
	case open:
		return t.wrong(`"and" or "or" is missing before this bracket`)
	case comma:
		return t.wrong(`only values stand behind one another with commas; join conditions by "and" or "or"`)
	case symbol:
		return t.wrong(`%q can only follow the name of a fact`, t.text)
	}
	return t.wrong(`"and", "or" or the end should come here, not %q`, short(t.text))
}

// with reads what may be there or not: with tow bar, without anti-lock brakes.
func (p *parser) with(there bool) (Rule, error) {
	k, at, err := p.key()
	if err != nil {
		return Rule{}, err
	}
	for _, absent := range []struct{ option, other string }{{"no", "yes"}, {"none", ""}} {
		if !slices.Contains(k.Options, absent.option) {
			continue
		}
		option, turn := absent.option, there
		if there && absent.other != "" {
			option, turn = absent.other, false
		}
		r, err := Compare(k.Key, Is, option)
		if err != nil {
			return Rule{}, err
		}
		p.last = r.cond
		if turn {
			r = Not(r)
		}
		return r, nil
	}
	return Rule{}, at.wrong(`"with" and "without" are for what may be there or not, such as a tow bar; say what the %s is`, k.Name())
}

func short(text string) string {
	const most = 40
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}

// condition reads the name of a fact, a test and its values.
func (p *parser) condition() (Rule, error) {
	begin := p.i
	k, _, err := p.key()
	if err != nil {
		return Rule{}, err
	}
	return p.test(k, begin)
}

// test reads how a fact is compared, and with what. begin is the token where
// the name of the fact began.
func (p *parser) test(k *fact.Key, begin int) (Rule, error) {
	not, is, list := false, false, false
	switch {
	case p.take("!="):
		not, is = true, true
	case p.takeOne("is", "are", "=", ":"):
		is = true
		not = p.take("not")
	}
	c := Condition{key: k, test: Is}
	at, after := p.peek(), listed
	switch how := p.comparison(); {
	case how != nil:
		c.test, after, list = how.test, how.ends, how.test == Is
		not = not != how.not
		at.len = p.endOfLast() - at.at
	case !is:
		return Rule{}, p.noTest(k, begin)
	}
	if !slices.Contains(Tests(k.Kind), c.test) {
		return Rule{}, at.wrong("the %s can only be compared so: %s", k.Name(), ways(k.Kind))
	}
	values := p.peek()
	if err := p.read(&c, after); err != nil {
		return Rule{}, err
	}
	if err := p.several(&c, list, values); err != nil {
		return Rule{}, err
	}
	if err := c.check(); err != nil {
		return Rule{}, &SyntaxError{at.at, p.endOfLast() - at.at, err.Error()}
	}
	p.last = &c
	r := c.rule()
	if not {
		r = Not(r)
	}
	return r, nil
}

// endOfLast is where the token that was read last ends.
func (p *parser) endOfLast() int {
	t := p.tokens[max(p.i-1, 0)]
	return t.at + t.len
}

// comparison is a way to say how a fact is compared, besides is alone.
type comparison struct {
	phrases []string
	test    Test
	not     bool
	ends    ends
}

// ends is what follows a comparison.
type ends int

const (
	listed  ends = iota // one value, or more with commas
	single              // one value
	twoTo               // two ends, with to between them
	twoAnd              // two ends, with and between them
	lowest              // the lower end
	highest             // the upper end
)

var comparisons = []comparison{
	{[]string{"begins with", "starts with"}, Begins, false, listed},
	{[]string{"from"}, From, false, twoTo},
	{[]string{"between"}, From, false, twoAnd},
	{[]string{"up to", "to", "until", "till", "at most", "<="}, From, false, highest},
	{[]string{"at least", ">="}, From, false, lowest},
	{[]string{"over", "above", "more than", "after", ">"}, Over, false, single},
	{[]string{"under", "below", "less than", "before", "<"}, Under, false, single},
	{[]string{"none of"}, Is, true, listed},
	{[]string{"one of", "any of"}, Is, false, listed},
}

// comparison goes past how a fact is compared, if that is next.
func (p *parser) comparison() *comparison {
	for i := range comparisons {
		if p.takeOne(comparisons[i].phrases...) {
			return &comparisons[i]
		}
	}
	return nil
}

// ways says how a fact of a kind may be compared, as people write it.
func ways(k fact.Kind) string {
	switch k {
	case fact.Number:
		return `"is", "is one of", "from … to …", "at least", "at most", "over" or "under"`
	case fact.Date:
		return `"is", "from … to …", "before" or "after"`
	case fact.Chassis:
		return `"is", "is one of" or "from … to …"`
	case fact.Text:
		return `"is", "is one of", "is not" or "begins with"`
	}
	return `"is", "is one of" or "is not"`
}
