package fit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// wire is a rule in JSON: one of all, any, not, or a fact with what it must
// be. {"all": []} is any car, and null the empty rule.
//
//	{"all": [
//	  {"fact": "engine_code", "is": ["K7A", "K7B"]},
//	  {"fact": "built", "from": "2015-03", "to": "2019-08"},
//	  {"not": {"fact": "gearbox", "is": ["automatic"]}}]}
type wire struct {
	All    *[]Rule  `json:"all,omitempty"`
	Any    *[]Rule  `json:"any,omitempty"`
	Not    *Rule    `json:"not,omitempty"`
	Fact   string   `json:"fact,omitempty"`
	Is     []string `json:"is,omitempty"`
	Begins []string `json:"begins,omitempty"`
	From   string   `json:"from,omitempty"`
	To     string   `json:"to,omitempty"`
	Over   string   `json:"over,omitempty"`
	Under  string   `json:"under,omitempty"`
}

// MarshalJSON writes the rule as a tree.
func (r Rule) MarshalJSON() ([]byte, error) {
	var w wire
	parts := r.parts
	if parts == nil {
		parts = []Rule{}
	}
	switch r.shape {
	case Nothing:
		return []byte("null"), nil
	case OfAll:
		w.All = &parts
	case OfAny:
		w.Any = &parts
	case OfNot:
		w.Not = &r.parts[0]
	case OfCondition:
		w.Fact = r.cond.key.Key
		values := r.cond.Values()
		switch r.cond.test {
		case Is:
			w.Is = values
		case Begins:
			w.Begins = values
		case From:
			w.From, w.To = values[0], values[1]
		case Over:
			w.Over = values[0]
		case Under:
			w.Under = values[0]
		}
	}
	return json.Marshal(w)
}

var errShape = errors.New(`each part of a rule is one of "all", "any", "not", or a "fact" with "is", "begins", "from" and "to", "over" or "under"`)

// UnmarshalJSON reads what MarshalJSON writes, and checks every value as
// Compare does. The errors are in words for a person.
func (r *Rule) UnmarshalJSON(b []byte) error {
	if len(b) > 4*MaxText {
		return fmt.Errorf("a rule has at most %d characters", 4*MaxText)
	}
	if nesting(b) > 2*MaxDepth {
		return fmt.Errorf("at most %d rules inside one another", MaxDepth)
	}
	if bytes.Equal(bytes.TrimSpace(b), []byte("null")) {
		*r = Rule{}
		return nil
	}
	var w wire
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&w); err != nil {
		var shape *json.UnmarshalTypeError
		if errors.As(err, &shape) {
			return errShape
		}
		return err
	}
	made, err := w.rule()
	if err == nil {
		err = made.fits()
	}
	if err != nil {
		return err
	}
	*r = made
	return nil
}

// nesting is how deep brackets stand inside one another, strings and all: a
// quick look before the reader goes down into them.
func nesting(b []byte) int {
	depth, deepest := 0, 0
	for _, c := range b {
		switch c {
		case '{', '[':
			depth++
			deepest = max(deepest, depth)
		case '}', ']':
			depth--
		}
	}
	return deepest
}

func (w wire) rule() (Rule, error) {
	var made []Rule
	if w.All != nil {
		made = append(made, gathered(OfAll, *w.All))
	}
	if w.Any != nil {
		made = append(made, gathered(OfAny, *w.Any))
	}
	if w.Not != nil {
		made = append(made, Not(*w.Not))
	}
	add := func(given bool, test Test, values ...string) error {
		if !given {
			return nil
		}
		c, err := Compare(w.Fact, test, values...)
		if err != nil {
			return fmt.Errorf("%s: %w", w.Fact, err)
		}
		made = append(made, c)
		return nil
	}
	err := errors.Join(
		add(len(w.Is) > 0, Is, w.Is...), add(len(w.Begins) > 0, Begins, w.Begins...), add(w.From+w.To != "", From, w.From, w.To),
		add(w.Over != "", Over, w.Over), add(w.Under != "", Under, w.Under),
	)
	switch {
	case err != nil:
		return Rule{}, err
	case len(made) != 1:
		return Rule{}, errShape
	}
	return made[0], nil
}

// gathered is All or Any, where a list without rules is any car or no car.
func gathered(s Shape, rules []Rule) Rule {
	if len(rules) == 0 {
		return Rule{shape: s}
	}
	return joined(s, rules)
}

// fits refuses a rule that is larger than rules get.
func (r Rule) fits() error {
	conditions, values := 0, 0
	r.each(func(c *Condition) {
		conditions++
		values += len(c.values)
	})
	switch {
	case r.depth() > MaxDepth:
		return fmt.Errorf("at most %d rules inside one another", MaxDepth)
	case conditions > MaxConditions:
		return fmt.Errorf("at most %d conditions, please; this has %d", MaxConditions, conditions)
	case values > MaxValues:
		return fmt.Errorf("at most %d values, please; this has %d", MaxValues, values)
	}
	return nil
}
