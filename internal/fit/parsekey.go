package fit

import (
	"slices"
	"strings"

	"rampside/internal/fact"
)

// names finds a fact by whatever it is called, in small letters.
var names, longestName = func() (map[string]*fact.Key, int) {
	all, longest := map[string]*fact.Key{}, 0
	for _, k := range fact.Vocabulary() {
		for _, n := range append([]string{k.Name(), strings.ToLower(k.Label), strings.ReplaceAll(k.Key, "_", " ")}, k.Also...) {
			all[n] = &k
			longest = max(longest, len(strings.Fields(n)))
		}
	}
	return all, longest
}()

// key reads the name of a fact: the longest that is one.
func (p *parser) key() (*fact.Key, token, error) {
	at := p.peek()
	for n := min(longestName, p.words()); n > 0; n-- {
		if k := names[p.phrase(n)]; k != nil {
			at.len = p.ahead(n-1).at + p.ahead(n-1).len - at.at
			p.i += n
			return k, at, nil
		}
	}
	return nil, at, p.noKey()
}

// words is how many words come next.
func (p *parser) words() int {
	n := 0
	for p.ahead(n).kind == word {
		n++
	}
	return n
}

// phrase is the next n words as a name would have them.
func (p *parser) phrase(n int) string {
	var out []string
	for i := range n {
		out = append(out, strings.ReplaceAll(strings.ToLower(p.ahead(i).text), "_", " "))
	}
	return strings.Join(out, " ")
}

// raw is the next n words as they were written.
func (p *parser) raw(n int) string {
	var out []string
	for i := range n {
		out = append(out, p.ahead(i).text)
	}
	return short(strings.Join(out, " "))
}

// comparing are the words that say how a fact is compared.
var comparing = []string{
	"is", "are", "begins", "starts", "from", "between", "up", "to", "until", "till", "at", "over", "above", "more", "after",
	"under", "below", "less", "before", "not", "one", "any", "none",
}

// unnamed is how many words from here on were meant as the name of a fact.
func (p *parser) unnamed() int {
	n := 0
	for p.ahead(n).kind == word && !p.ahead(n).is(comparing...) && !joining(p.ahead(n).text) {
		n++
	}
	return n
}

// noKey says that what comes next is no fact, and what may have been meant.
func (p *parser) noKey() *SyntaxError {
	t, n := p.peek(), p.unnamed()
	if n == 0 {
		switch t.kind {
		case end:
			return t.wrong("a condition is missing here at the end, such as %s", `"engine code is K7A"`)
		case word, symbol:
			return t.wrong("the name of a fact should come before %q, such as engine code", short(t.text))
		}
		return t.wrong("a condition should begin here with the name of a fact, such as engine code")
	}
	said, raw := p.phrase(n), p.raw(n)
	t.len = p.ahead(n-1).at + p.ahead(n-1).len - t.at
	after := p.ahead(n)
	alone := p.last != nil && p.last.test == Is && !after.is(comparing...) && after.kind != symbol
	if alone {
		if o := p.option(said); o != "" {
			return t.wrong("write \"%s\" in double quotes, since it holds a joining word itself", o)
		}
	}
	if near := suggestions(said); len(near) > 0 {
		return t.wrong("%q is no fact in the list: did you mean %s?", raw, orList(near))
	}
	if alone && p.i > 0 && p.tokens[p.i-1].is("or") {
		return t.wrong("%q is no fact in the list; for one of several values write: %s is one of %s, %s",
			raw, p.last.key.Name(), quoted(p.last.lastValue()), quoted(raw))
	}
	if write := byOption(said); len(write) > 0 {
		return t.wrong("%q is no fact in the list; write what it is of: %s", raw, orList(write))
	}
	return t.wrong("%q is no fact in the list", raw)
}

// byOption are the conditions that a bare word may have meant, as boxes have
// it: diesel, manual gearbox.
func byOption(said string) []string {
	var out []string
	for _, k := range fact.Vocabulary() {
		for _, o := range k.Options {
			if o = strings.ToLower(o); len(o) > 3 && (said == o || said == o+" "+k.Name()) && len(out) < 3 {
				out = append(out, k.Name()+" is "+quoted(o))
			}
		}
	}
	return out
}

// option is the option of the last condition's fact of which only the part
// before a joining word was read, as it was not in quotes.
func (p *parser) option(said string) string {
	for _, o := range p.last.key.Options {
		for _, w := range []string{" and ", " or "} {
			if strings.EqualFold(o, p.last.lastValue()+w+said) {
				return o
			}
		}
	}
	return ""
}

func (c *Condition) lastValue() string { return c.values[len(c.values)-1].text }

// noTest says that a fact is not followed by how it is compared.
func (p *parser) noTest(k *fact.Key, begin int) *SyntaxError {
	t, stopped := p.peek(), p.i
	p.i = begin
	n := p.unnamed()
	said, raw := p.phrase(n), p.raw(n)
	first, last := p.peek(), p.ahead(max(n-1, 0))
	p.i = stopped
	if t.is("not") {
		return t.wrong(`write "is not" here`)
	}
	near := suggestions(said)
	if t.kind == word && !joining(t.text) && len(near) > 0 && !strings.HasPrefix(said+" ", k.Name()+" ") {
		first.len = last.at + last.len - first.at
		return first.wrong("%q is no fact in the list: did you mean %s?", raw, orList(near))
	}
	return t.wrong("say here what the %s must be: %s", k.Name(), ways(k.Kind))
}

// suggestions are the facts whose names are nearest to what was said.
func suggestions(said string) []string {
	const most = 3
	type near struct {
		name     string
		distance int
	}
	var all []near
	for name, k := range names {
		d := distance(said, name)
		if strings.Contains(name, said) && len(said) >= 3 {
			d = min(d, 1+len(name)/8)
		}
		if d <= max(1, len(said)/4) {
			all = append(all, near{k.Name(), d})
		}
	}
	slices.SortFunc(all, func(a, b near) int {
		if a.distance != b.distance {
			return a.distance - b.distance
		}
		return strings.Compare(a.name, b.name)
	})
	var out []string
	for _, n := range all {
		if len(out) < most && !slices.Contains(out, n.name) {
			out = append(out, n.name)
		}
	}
	return out
}

// distance is how many letters must be put in, left out, changed or swapped
// with their neighbour to make b of a; long texts count by their first letters.
func distance(a, b string) int {
	const most = 60
	x, y := []rune(a), []rune(b)
	x, y = x[:min(len(x), most)], y[:min(len(y), most)]
	before, row := make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		older := before
		before, row = row, make([]int, len(y)+1)
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			row[j+1] = min(before[j+1]+1, row[j]+1, before[j]+cost)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], older[j-1]+1)
			}
		}
	}
	return row[len(y)]
}

func orList(all []string) string {
	if len(all) == 1 {
		return all[0]
	}
	last := len(all) - 1
	return strings.Join(all[:last], ", ") + " or " + all[last]
}
