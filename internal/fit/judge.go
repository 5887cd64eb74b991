package fit

import (
	"slices"

	"rampside/internal/fact"
)

// Judge tells whether a rule holds for a car, as far as what is known of it
// says, and why.
func Judge(rule Rule, known Known) Verdict {
	v := Verdict{Rule: rule.String()}
	if rule.IsZero() {
		v.Why = "nobody has said which cars it is for"
		return v
	}
	v.Proof = prove(rule, known)
	v.Truth = v.Proof.Truth
	carry(&v.Proof)
	if v.Truth == Unknown {
		v.settle(rule, known)
	}
	v.Disputed = disputes(rule, known, v.Truth)
	v.Why = v.why()
	return v
}

// truthOf is the truth of a rule without its proof.
func truthOf(r Rule, known Known) Truth {
	switch r.shape {
	case OfAll:
		t := True
		for _, p := range r.parts {
			if t = t.And(truthOf(p, known)); t == False {
				break
			}
		}
		return t
	case OfAny:
		t := False
		for _, p := range r.parts {
			if t = t.Or(truthOf(p, known)); t == True {
				break
			}
		}
		return t
	case OfNot:
		return truthOf(r.parts[0], known).Not()
	case OfCondition:
		return r.cond.holds(look(r.cond.key, known[r.cond.key.Key].Text))
	}
	return Unknown
}

// prove makes the step of a rule, with all its parts.
func prove(r Rule, known Known) Step {
	if r.cond != nil {
		return proveCondition(r.cond, known)
	}
	s := Step{Text: r.String()}
	switch r.shape {
	case OfAll:
		s.Join, s.Truth = "all", True
	case OfAny:
		s.Join, s.Truth = "any", False
	case OfNot:
		s.Join = "not"
	}
	if len(r.parts) > 0 {
		s.Parts = make([]Step, len(r.parts))
	}
	for i, p := range r.parts {
		s.Parts[i] = prove(p, known)
		switch r.shape {
		case OfAll:
			s.Truth = s.Truth.And(s.Parts[i].Truth)
		case OfAny:
			s.Truth = s.Truth.Or(s.Parts[i].Truth)
		case OfNot:
			s.Truth = s.Parts[i].Truth.Not()
		}
	}
	return s
}

func proveCondition(c *Condition, known Known) Step {
	v := known[c.key.Key]
	car := look(c.key, v.Text)
	s := Step{Text: c.String(), Truth: c.holds(car), Key: c.key.Key, Label: c.key.Label}
	if v.Text != "" {
		s.Value, s.Source = c.key.Shown(v.Text), v.Source
	}
	s.Disputed = slices.ContainsFunc(v.Others, func(o Said) bool { return !c.key.Agree(o.Text, v.Text) })
	s.By = c.by(car, s.Truth)
	return s
}

// carry marks the steps that the verdict rests on: all that hold where all
// must, those that fail where it fails, those that cannot be told where it
// cannot be told.
func carry(s *Step) {
	s.Carries = true
	for i := range s.Parts {
		if p := &s.Parts[i]; s.Join == "not" || p.Truth == s.Truth {
			carry(p)
		}
	}
}

// disputes lists the facts of a rule on which sources contradict one another,
// and whether believing another of them would turn the verdict.
func disputes(r Rule, known Known, truth Truth) []Dispute {
	var out []Dispute
	var asked []string
	r.each(func(c *Condition) {
		v := known[c.key.Key]
		if len(v.Others) == 0 || slices.Contains(asked, c.key.Key) {
			return
		}
		asked = append(asked, c.key.Key)
		if d, ok := dispute(r, known, c.key, v, truth); ok {
			out = append(out, d)
		}
	})
	slices.SortFunc(out, func(a, b Dispute) int { return fact.Order(a.Key) - fact.Order(b.Key) })
	return out
}

func dispute(r Rule, known Known, k *fact.Key, v Value, truth Truth) (d Dispute, contradicted bool) {
	d = Dispute{Key: k.Key, Label: k.Label, Said: []Said{{k.Shown(v.Text), v.Source, v.Rank}}}
	for _, o := range v.Others {
		d.Said = append(d.Said, Said{k.Shown(o.Text), o.Source, o.Rank})
		if k.Agree(o.Text, v.Text) {
			continue
		}
		contradicted = true
		other := make(Known, len(known))
		for key, value := range known {
			other[key] = value
		}
		other[k.Key] = Value{Text: o.Text}
		d.Turns = d.Turns || truthOf(r, other) != truth
	}
	slices.SortStableFunc(d.Said, func(a, b Said) int { return a.Rank - b.Rank })
	return d, contradicted
}
