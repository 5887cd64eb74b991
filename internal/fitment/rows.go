package fitment

import (
	"errors"
	"fmt"
	"strings"

	"rampside/internal/apperr"
	"rampside/internal/fact"
	"rampside/internal/fit"
)

// Row is one condition as the fields of a form have it. Rows with the same
// letter are alternatives, of which one is enough; letters must all hold. So
// any rule can be written, though not every rule is written so: one that is
// nested deeper is changed in words.
type Row struct {
	Letter string
	Key    string
	// Way is how it compares, one of Ways.
	Way Way
	// Value is the value, several with commas between, or where it begins; To is
	// where it ends.
	Value, To string
}

// Way is a way of comparing as a form offers it.
type Way string

// The ways.
const (
	WayIs        Way = "is"
	WayIsNot     Way = "is not"
	WayBegins    Way = "begins with"
	WayNotBegins Way = "does not begin with"
	WayFrom      Way = "from … to"
	WayNotFrom   Way = "not from … to"
	WayOver      Way = "over"
	WayUnder     Way = "under"
)

var ways = map[Way]struct {
	test fit.Test
	not  bool
}{
	WayIs: {fit.Is, false}, WayIsNot: {fit.Is, true}, WayBegins: {fit.Begins, false}, WayNotBegins: {fit.Begins, true},
	WayFrom: {fit.From, false}, WayNotFrom: {fit.From, true}, WayOver: {fit.Over, false}, WayUnder: {fit.Under, false},
}

// Ways lists the ways, in the order of forms.
var Ways = []Way{WayIs, WayIsNot, WayFrom, WayNotFrom, WayOver, WayUnder, WayBegins, WayNotBegins}

// Letters are what rows can be put together by.
var Letters = []string{"A", "B", "C", "D", "E", "F", "G", "H"}

// MaxRows is how many rows a form has at most.
const MaxRows = 24

// FromRows makes the rule of a form's rows; those without a fact are left out.
// Messages are at cond.N.key, cond.N.value and cond.N.to.
func FromRows(rows []Row) (fit.Rule, error) {
	f := apperr.Fields{}
	by := map[string][]fit.Rule{}
	var order []string
	for i, r := range rows {
		if r.Key == "" && strings.TrimSpace(r.Value+r.To) == "" {
			continue
		}
		rule, err := r.rule()
		if err != nil {
			f.Add(fmt.Sprintf("cond.%d.%s", i, r.place(err)), "%s", err.Error())
			continue
		}
		if by[r.Letter] == nil {
			order = append(order, r.Letter)
		}
		by[r.Letter] = append(by[r.Letter], rule)
	}
	var all []fit.Rule
	for _, letter := range order {
		all = append(all, fit.Any(by[letter]...))
	}
	return fit.All(all...), f.Err()
}

// rule is the condition of the row.
func (r Row) rule() (fit.Rule, error) {
	way, ok := ways[r.Way]
	if !ok {
		return fit.Rule{}, errors.New("please choose how it compares")
	}
	values := []string{r.Value}
	switch way.test {
	case fit.From:
		values = []string{r.Value, r.To}
	case fit.Is, fit.Begins:
		values = severalOf(r.Key, r.Value)
		if k, ok := fact.KeyOf(r.Key); ok && k.Kind == fact.Text && len(values) == 1 && fit.Strokes(values[0]) != nil {
			return fit.Rule{}, &fit.ValueError{Message: "put commas between values, as in " + strings.Join(fit.Strokes(values[0]), ", ") + "; one code that holds a stroke is written in words, in double quotes"}
		}
	}
	rule, err := fit.Compare(r.Key, way.test, values...)
	if err == nil && way.not {
		rule = fit.Not(rule)
	}
	return rule, err
}

// place is the field that an error is about.
func (r Row) place(err error) string {
	var v *fit.ValueError
	switch {
	case !errors.As(err, &v):
		return "key"
	case v.Index == 1 && ways[r.Way].test == fit.From:
		return "to"
	}
	return "value"
}

// severalOf parts values at commas; in a figure a comma counts only with a
// blank after it, since 57,1 is one.
func severalOf(key, text string) []string {
	comma := ","
	if k, ok := fact.KeyOf(key); ok && k.Kind == fact.Number {
		comma = ", "
	}
	var out []string
	for _, part := range strings.FieldsFunc(strings.ReplaceAll(text, comma, ";"), func(c rune) bool { return c == ';' }) {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	if len(out) == 0 {
		return []string{""}
	}
	return out
}

// ToRows writes a rule as rows; ok is false for one that is nested deeper, has
// too many, or asks for what rows cannot say.
func ToRows(rule fit.Rule) (rows []Row, ok bool) {
	if rule.IsZero() {
		return nil, true
	}
	clauses := []fit.Rule{rule}
	if rule.Shape() == fit.OfAll {
		clauses = rule.Parts()
	}
	if len(clauses) == 0 || len(clauses) > len(Letters) {
		return nil, false
	}
	for i, c := range clauses {
		options := []fit.Rule{c}
		if c.Shape() == fit.OfAny {
			options = c.Parts()
		}
		for _, o := range options {
			r, ok := rowOf(o)
			if !ok {
				return nil, false
			}
			r.Letter = Letters[i]
			rows = append(rows, r)
		}
	}
	back, err := FromRows(rows)
	return rows, err == nil && len(rows) > 0 && len(rows) <= MaxRows && back.Equal(rule)
}

func rowOf(rule fit.Rule) (Row, bool) {
	not := rule.Shape() == fit.OfNot
	if not {
		rule = rule.Parts()[0]
	}
	c, ok := rule.Condition()
	if !ok {
		return Row{}, false
	}
	r := Row{Key: c.Key().Key, Value: strings.Join(c.Values(), ", ")}
	for way, w := range ways {
		if w.test == c.Test() && w.not == not {
			r.Way = way
		}
	}
	if c.Test() == fit.From {
		r.Value, r.To = c.Values()[0], c.Values()[1]
	}
	return r, r.Way != ""
}
