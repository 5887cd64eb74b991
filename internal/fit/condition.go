package fit

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"rampside/internal/fact"
)

// Test is how a condition compares.
type Test string

// The tests.
const (
	Is     Test = "is"     // one of the values
	Begins Test = "begins" // with one of the values; texts only
	From   Test = "from"   // from the first value to the second, both included; either may be missing
	Over   Test = "over"   // more than the value; after it, for dates
	Under  Test = "under"  // less than the value; before it, for dates
)

// Tests are those that a fact of a kind can be put to, in the order of forms.
func Tests(k fact.Kind) []Test {
	switch k {
	case fact.Number, fact.Date:
		return []Test{Is, From, Over, Under}
	case fact.Chassis:
		return []Test{Is, From}
	case fact.Text:
		return []Test{Is, Begins}
	}
	return []Test{Is}
}

// Condition asks one thing of one fact.
type Condition struct {
	key  *fact.Key
	test Test
	// values are those of is and begins, and the one of over and under.
	values []value
	// low and high are the bounds of from; nil where it is open.
	low, high *value
	// text is the condition as a rule writes it, kept since proofs are full of
	// them.
	text string
}

// Key is the fact that is asked about.
func (c Condition) Key() fact.Key { return *c.key }

// Test is how it is compared.
func (c Condition) Test() Test { return c.test }

// Values are what it is compared with, as they are written; of from the two
// bounds, empty where it is open.
func (c Condition) Values() []string {
	if c.test == From {
		return []string{c.low.written(), c.high.written()}
	}
	out := make([]string, len(c.values))
	for i := range c.values {
		out[i] = c.values[i].text
	}
	return out
}

// String is the condition as a rule writes it.
func (c Condition) String() string { return c.text }

// rule is the condition as a rule; the condition cannot be changed any more.
func (c *Condition) rule() Rule {
	var b strings.Builder
	c.write(&b, false)
	c.text = b.String()
	return Rule{shape: OfCondition, cond: c}
}

// ValueError says which of the values given to Compare is wrong.
type ValueError struct {
	Index   int
	Message string
}

func (e *ValueError) Error() string { return e.Message }

// Compare makes a condition from a form's fields: the name of a key, a test,
// and its values; of From always two, of which one may be empty. A value may
// carry a unit. The error is fit to stand beside the field; where it is about
// one value it is a *ValueError.
func Compare(key string, test Test, values ...string) (Rule, error) {
	k, ok := fact.KeyOf(key)
	if !ok {
		return Rule{}, errors.New("please choose a fact from the list")
	}
	if !slices.Contains(Tests(k.Kind), test) {
		return Rule{}, fmt.Errorf("the %s cannot be compared like that", k.Name())
	}
	c := Condition{key: &k, test: test}
	switch {
	case test == From && (len(values) != 2 || strings.TrimSpace(values[0]+values[1]) == ""):
		return Rule{}, &ValueError{0, "please say from where or to where, or both"}
	case test != From && len(values) == 0, (test == Over || test == Under) && len(values) != 1:
		return Rule{}, &ValueError{0, "please give one value"}
	case len(values) > MaxValues:
		return Rule{}, fmt.Errorf("at most %d values, please", MaxValues)
	}
	for i, text := range values {
		if test == From && strings.TrimSpace(text) == "" {
			continue
		}
		v, err := newValue(&k, test, text)
		switch {
		case err != nil:
			return Rule{}, &ValueError{i, err.Error()}
		case test == From && i == 0:
			c.low = &v
		case test == From:
			c.high = &v
		default:
			c.add(v)
		}
	}
	if err := c.check(); err != nil {
		return Rule{}, &ValueError{1, err.Error()}
	}
	return c.rule(), nil
}

// add takes a value unless it is there already.
func (c *Condition) add(v value) {
	if !slices.ContainsFunc(c.values, func(o value) bool { return o.text == v.text }) {
		c.values = append(c.values, v)
	}
}

// check refuses bounds that no value lies between.
func (c *Condition) check() error {
	if c.low == nil || c.high == nil {
		return nil
	}
	if c.key.Kind == fact.Chassis {
		if c.low.lead() == c.high.lead() && c.low.serial > c.high.serial {
			return fmt.Errorf("this ends at %s before it begins at %s", c.high.text, c.low.text)
		}
		if len(c.low.text) != len(c.high.text) {
			return fmt.Errorf("%s and %s differ in length: give both ends with as many characters", c.low.text, c.high.text)
		}
		return nil
	}
	if c.low.from > c.high.to {
		return fmt.Errorf("this ends at %s before it begins at %s", c.high.text, c.low.text)
	}
	return nil
}
