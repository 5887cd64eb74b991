package fit

import (
	"rampside/internal/caution"
	"rampside/internal/fact"
)

// Known is what is known of a car, by the key of the fact.
type Known map[string]Value

// Value is what is known of one fact.
type Value struct {
	// Text is the value to go by, as the vocabulary keeps it; empty when
	// nothing is known.
	Text string `json:"value"`
	// Source says where it comes from, in words.
	Source string `json:"source,omitempty"`
	// Rank is 0 for the most trusted source, and more for each that is less so.
	Rank int `json:"rank,omitempty"`
	// Others is what less trusted sources say, agreeing or not.
	Others []Said `json:"others,omitempty"`
}

// Said is what one source says of a fact.
type Said struct {
	Text   string `json:"value"`
	Source string `json:"source"`
	Rank   int    `json:"rank,omitempty"`
}

// Verdict is what can be said of a rule and a car. It survives JSON, so that
// it can be kept as it was given.
type Verdict struct {
	Truth Truth `json:"truth"`
	// Why is the verdict in one sentence.
	Why string `json:"why"`
	// Rule is what was judged, as Rule.String writes it.
	Rule string `json:"rule"`
	// Proof follows the rule, part by part.
	Proof Step `json:"proof"`
	// Settle, of a verdict that is unknown, is the smallest set of facts that
	// could settle it by showing that the part fits, easiest to read first; if
	// no reading can show that, it is Refute. Read one and judge anew: an
	// unlucky reading may end it early. It is empty when no fact that can be
	// read would help, and then Why says what is in the way.
	Settle []Reading `json:"settle,omitempty"`
	// Refute is the smallest set that could show that it does not fit; empty
	// when none can.
	Refute []Reading `json:"refute,omitempty"`
	// Disputed are the facts in the rule on which sources contradict one
	// another. The verdict goes by the most trusted.
	Disputed []Dispute `json:"disputed,omitempty"`
	// NotSmallest is set when the rule is so tangled that the search for the
	// smallest sets was given up: they do settle it, but smaller ones may.
	NotSmallest bool `json:"not_smallest,omitempty"`
}

// Step is one part of a proof: a rule, its truth and what made it so.
type Step struct {
	// Text is the part of the rule, as Rule.String writes it.
	Text  string `json:"text"`
	Truth Truth  `json:"truth"`
	// Join is all, any or not for a step with parts, and empty for a condition.
	Join string `json:"join,omitempty"`
	// Carries is set where the verdict rests on this step: what fails where it
	// does not fit, what holds where it does, what is not known where it
	// cannot be told.
	Carries bool `json:"carries,omitempty"`
	// Key, Label, Value and Source are the fact that a condition asks about,
	// as it is shown; Value is empty when nothing is known.
	Key    string `json:"key,omitempty"`
	Label  string `json:"label,omitempty"`
	Value  string `json:"value,omitempty"`
	Source string `json:"source,omitempty"`
	// By says by what a condition fails, or why it cannot be told, in words.
	By string `json:"by,omitempty"`
	// Disputed is set where another source contradicts the value.
	Disputed bool   `json:"disputed,omitempty"`
	Parts    []Step `json:"parts,omitempty"`
}

// Reading is a fact to go and read off the car.
type Reading struct {
	Key   string     `json:"key"`
	Label string     `json:"label"`
	Unit  string     `json:"unit,omitempty"`
	Where fact.Place `json:"where"`
	How   string     `json:"how"`
	// Cautions are what to mind while reading it.
	Cautions []caution.Key `json:"cautions,omitempty"`
	// Sofar is what is known already and is not exact enough.
	Sofar string `json:"so_far,omitempty"`
	// Alone is set where this one fact could by itself show that the part does
	// not fit.
	Alone bool `json:"alone,omitempty"`
}

// Dispute is a fact on which sources contradict one another.
type Dispute struct {
	Key   string `json:"key"`
	Label string `json:"label"`
	// Said is what each source says, as it is shown, the most trusted first:
	// the verdict goes by that.
	Said []Said `json:"said"`
	// Turns is set where the verdict would be another if a source that is
	// trusted less were right.
	Turns bool `json:"turns"`
}

// Conditions are the steps that are conditions, in the order of the rule.
func (v Verdict) Conditions() []Step {
	var out []Step
	var walk func(Step)
	walk = func(s Step) {
		if s.Key != "" {
			out = append(out, s)
		}
		for _, p := range s.Parts {
			walk(p)
		}
	}
	walk(v.Proof)
	return out
}
