package fitment

import (
	"slices"

	"rampside/internal/fact"
	"rampside/internal/fit"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// Proof is how a verdict came about. It is kept as JSON with the verdict.
type Proof struct {
	// Why is the verdict in a sentence.
	Why string `json:"why,omitempty"`
	// Rule is what the conditions come to; nil where there are none.
	Rule *fit.Verdict `json:"rule,omitempty"`
	// Clashes are what the part has to agree with: the other parts of the card
	// and what stays on the car.
	Clashes []Clash `json:"clashes,omitempty"`
	// Box is the number on the box, where it is another part's.
	Box string `json:"box,omitempty"`
	// Settle are the facts to go and read where it cannot be told, the easiest
	// to get at first.
	Settle []fit.Reading `json:"settle,omitempty"`
	// Measure says in words what is to be measured or looked up besides facts
	// of the car, such as a property of the other part.
	Measure []string `json:"measure,omitempty"`
}

// Judged is what reasoning says of one part.
type Judged struct {
	Verdict jobcard.Verdict
	// Reasoned tells whether there was anything to reason by; without, the
	// verdict is unchecked.
	Reasoned bool
	Proof    Proof
}

// subject is a part to be judged, with what was put on it.
type subject struct {
	part jobcard.Part
	put  *Put
	// box is the number last read off its box where that is another part's,
	// else empty.
	box string
}

// judge judges one part by its conditions, the set it is in, and its box.
func judge(s subject, known fit.Known, clashes []Clash) Judged {
	var p Proof
	truth, reasoned := fit.True, false
	weigh := func(t fit.Truth) { truth, reasoned = truth.And(t), true }
	if s.put != nil && s.put.Holds && s.put.Rule != "" {
		v := judgeRule(s.put.Rule, known)
		p.Rule = &v
		weigh(v.Truth)
	}
	for _, c := range clashes {
		if slices.Contains(c.Parts, s.part.ID) {
			p.Clashes = append(p.Clashes, c)
			weigh(c.Truth)
		}
	}
	// What fails is read first.
	slices.SortStableFunc(p.Clashes, func(a, b Clash) int { return int(a.Truth) - int(b.Truth) })
	if s.box != "" {
		p.Box = s.box
		weigh(fit.Unknown)
	}
	if !reasoned {
		return Judged{Verdict: jobcard.Unchecked}
	}
	if truth == fit.Unknown {
		p.settle()
	}
	p.Why = p.why(truth)
	return Judged{Verdict: verdictOf(truth), Reasoned: true, Proof: p}
}

func verdictOf(t fit.Truth) jobcard.Verdict {
	switch t {
	case fit.True:
		return jobcard.Fits
	case fit.False:
		return jobcard.DoesNotFit
	}
	return jobcard.CannotTell
}

// judgeRule judges conditions. Where another source contradicts a fact and the
// verdict would turn with it, it stands only on what was read off the car:
// until somebody has looked, it cannot be told.
func judgeRule(text string, known fit.Known) fit.Verdict {
	rule, err := fit.Parse(text)
	if err != nil { // what is kept was printed by a rule
		return fit.Verdict{Truth: fit.Unknown, Rule: text, Why: "these conditions can no longer be read: " + err.Error()}
	}
	v := fit.Judge(rule, known)
	if v.Truth == fit.Unknown {
		return v
	}
	var look []fit.Reading
	for _, d := range v.Disputed {
		if d.Turns && known[d.Key].Rank > 0 {
			look = append(look, readingOf(d.Key))
		}
	}
	if len(look) > 0 {
		v.Truth, v.Settle = fit.Unknown, look
		v.Why = "sources contradict one another on the " + names(look) + ", and it hangs on that"
	}
	return v
}

func names(all []fit.Reading) string {
	out := ""
	for i, r := range all {
		if i > 0 {
			out += " and the "
		}
		out += nameOf(r.Key)
	}
	return out
}

func nameOf(key string) string {
	if k, ok := fact.KeyOf(key); ok {
		return k.Name()
	}
	return key
}

// readingOf is a fact to go and read off the car.
func readingOf(key string) fit.Reading {
	k, ok := fact.KeyOf(key)
	if !ok {
		return fit.Reading{Key: key, Label: key}
	}
	return fit.Reading{Key: k.Key, Label: k.Label, Unit: k.Unit, Where: k.Where, How: k.How, Cautions: k.Cautions()}
}

// settle gathers what could settle a verdict that cannot be told.
func (p *Proof) settle() {
	add := func(r fit.Reading) {
		if !slices.ContainsFunc(p.Settle, func(o fit.Reading) bool { return o.Key == r.Key }) {
			p.Settle = append(p.Settle, r)
		}
	}
	if p.Rule != nil && p.Rule.Truth == fit.Unknown {
		readings := p.Rule.Settle
		if len(readings) == 0 {
			readings = p.Rule.Refute
		}
		for _, r := range readings {
			add(r)
		}
	}
	for _, c := range p.Clashes {
		if c.Truth != fit.Unknown {
			continue
		}
		for _, key := range c.Read {
			add(readingOf(key))
		}
		p.Measure = append(p.Measure, c.Measure...)
	}
	slices.SortStableFunc(p.Settle, func(a, b fit.Reading) int { return a.Where.Ease() - b.Where.Ease() })
}

// why says the verdict in a sentence, the weightiest reason alone.
func (p *Proof) why(t fit.Truth) string {
	if p.Rule != nil && p.Rule.Truth == t && t != fit.True {
		return p.Rule.Why
	}
	for _, c := range p.Clashes {
		if c.Truth == t && t != fit.True {
			return c.Says
		}
	}
	switch {
	case t == fit.Unknown && p.Box != "":
		return "the box says " + p.Box + ", which is not the number that was judged"
	case p.Rule != nil:
		return p.Rule.Why
	}
	return "it agrees with the other parts and with what stays on the car"
}

// KnownOf is what is known of a car in the form in which rules are judged: the
// facts, and its chassis number.
func KnownOf(facts []vehicle.Known, vin string) fit.Known {
	out := fit.Known{}
	for _, k := range facts {
		v := fit.Value{Text: k.Best.Value, Source: k.Best.Source.Words(), Rank: rankOf(k.Best.Source)}
		for _, f := range k.All[1:] {
			v.Others = append(v.Others, fit.Said{Text: f.Value, Source: f.Source.Words(), Rank: rankOf(f.Source)})
		}
		out[k.Key.Key] = v
	}
	if _, said := out[chassisKey]; !said && vin != "" {
		out[chassisKey] = fit.Value{Text: vin, Source: "VIN"}
	}
	return out
}

const chassisKey = "chassis_number"

// rankOf is 0 for the most trusted source.
func rankOf(s vehicle.Source) int { return max(0, slices.Index(vehicle.Sources(), s)) }
