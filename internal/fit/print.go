package fit

import (
	"slices"
	"strings"

	"rampside/internal/fact"
)

// String writes the rule in the notation, in the one way that it is kept:
// Parse gives the same rule back. The empty rule is the empty string.
func (r Rule) String() string {
	var b strings.Builder
	r.write(&b)
	return b.String()
}

func (r Rule) write(b *strings.Builder) {
	switch r.shape {
	case OfAll:
		r.writeParts(b, "any car", " and ")
	case OfAny:
		r.writeParts(b, "no car", " or ")
	case OfNot:
		inner := r.parts[0]
		if inner.cond != nil && inner.cond.test == Is {
			inner.cond.write(b, true)
			return
		}
		b.WriteString("not ")
		inner.writeInside(b)
	case OfCondition:
		b.WriteString(r.cond.text)
	}
}

func (r Rule) writeParts(b *strings.Builder, none, between string) {
	if len(r.parts) == 0 {
		b.WriteString(none)
	}
	for i, p := range r.parts {
		if i > 0 {
			b.WriteString(between)
		}
		p.writeInside(b)
	}
}

// writeInside puts brackets round what would run into its neighbours.
func (r Rule) writeInside(b *strings.Builder) {
	if len(r.parts) > 1 {
		b.WriteByte('(')
		r.write(b)
		b.WriteByte(')')
		return
	}
	r.write(b)
}

func (c *Condition) write(b *strings.Builder, not bool) {
	b.WriteString(c.key.Name())
	switch {
	case c.test == From:
		c.writeBounds(b)
		return
	case c.test == Over && c.key.Kind == fact.Date:
		b.WriteString(" after ")
	case c.test == Under && c.key.Kind == fact.Date:
		b.WriteString(" before ")
	case c.test == Begins:
		b.WriteString(" begins with ")
	case c.test == Is:
		b.WriteString(" is ")
		if not {
			b.WriteString("not ")
		}
		if len(c.values) > 1 {
			b.WriteString("one of ")
		}
	default:
		b.WriteString(" " + string(c.test) + " ")
	}
	for i := range c.values {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(quoted(c.values[i].text))
	}
}

func (c *Condition) writeBounds(b *strings.Builder) {
	number := c.key.Kind == fact.Number
	switch {
	case c.high == nil && number:
		b.WriteString(" at least " + c.low.text)
	case c.low == nil && number:
		b.WriteString(" at most " + c.high.text)
	default:
		if c.low != nil {
			b.WriteString(" from " + c.low.text)
		}
		if c.high != nil {
			b.WriteString(" to " + c.high.text)
		}
	}
}

// quoted puts a value in double quotes where it would be read as something
// else without them. A double quote inside is written twice.
func quoted(text string) string {
	if !opening(text) && Strokes(text) == nil && !strings.ContainsAny(text, `,;()"=<>`) && !strings.Contains(text+" ", ": ") &&
		!slices.ContainsFunc(strings.Fields(text), joining) {
		return text
	}
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

// joining are the words that end a value.
func joining(w string) bool { return strings.EqualFold(w, "and") || strings.EqualFold(w, "or") }

// opening tells whether a value begins with words that say how it is compared.
func opening(text string) bool {
	first, _, _ := strings.Cut(text, " ")
	if len(first) > len("between") {
		return false
	}
	if first = strings.ToLower(first); !slices.Contains(comparing, first) {
		return false
	}
	low := strings.ToLower(text) + " "
	return first == "not" || slices.ContainsFunc(comparisons, func(c comparison) bool {
		return slices.ContainsFunc(c.phrases, func(phrase string) bool { return strings.HasPrefix(low, phrase+" ") })
	})
}
