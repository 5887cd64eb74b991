package fit

import (
	"slices"
	"strings"

	"rampside/internal/fact"
)

// settle finds the facts to read. A reading settles a rule when the rule comes
// out true, or false, whatever the facts are that stay unread. The search
// walks the rule as a list of goals: to make all true, every part must be; to
// make any true, one of them, and each is tried. Every condition narrows down
// what its fact may turn out to be; a fact that is left with nothing is a
// dead end, and so is a way that already needs more facts than the best found
// (branch and bound).
func (v *Verdict) settle(rule Rule, known Known) {
	s := newSearch(rule, known)
	yes, sureYes := s.find(rule, True)
	no, sureNo := s.find(rule, False)
	v.NotSmallest = !sureYes || !sureNo
	v.Refute = s.readings(no, rule)
	v.Settle = v.Refute
	if yes != nil {
		v.Settle = s.readings(yes, rule)
	}
}

// search looks for the smallest set of facts to read.
type search struct {
	known   Known
	facts   []classes
	of      map[*Condition]place
	allowed []set // what each fact may still turn out to be
	asked   []int // how many goals have narrowed a fact
	only    int   // the one fact that may be read, or -1
	count   int
	ease    int
	best    []int
	bestIs  [2]int // its count and ease
	steps   int
}

// place is where a condition's ways stand: which fact, and which of its
// conditions.
type place struct{ fact, cond int }

// maxSteps bounds the search of a rule that is tangled beyond what boxes say.
const maxSteps = 200_000

type goal struct {
	rule Rule
	want Truth
}

func newSearch(rule Rule, known Known) *search {
	s := &search{known: known, of: map[*Condition]place{}, only: -1}
	by := map[string][]*Condition{}
	var order []string
	rule.each(func(c *Condition) {
		if by[c.key.Key] == nil && c.holds(look(c.key, known[c.key.Key].Text)) == Unknown {
			order = append(order, c.key.Key)
			by[c.key.Key] = []*Condition{}
		}
	})
	// With those that are open count the others on the same fact, which what is
	// known of it in part has decided.
	rule.each(func(c *Condition) {
		if conds := by[c.key.Key]; conds != nil {
			by[c.key.Key] = append(conds, c)
		}
	})
	slices.SortFunc(order, func(a, b string) int { return fact.Order(a) - fact.Order(b) })
	for i, key := range order {
		k := by[key][0].key
		text := known[key].Text
		if !look(k, text).known {
			text = ""
		}
		s.facts = append(s.facts, classesOf(k, text, by[key]))
		for j, c := range by[key] {
			s.of[c] = place{i, j}
		}
	}
	return s
}

// find gives the facts of the smallest set that can make the rule what is
// wanted, the easiest to read among sets of one size; nil when none can. sure
// is false when the search was given up.
func (s *search) find(rule Rule, want Truth) (facts []int, sure bool) {
	s.best, s.bestIs, s.steps, s.count, s.ease = nil, [2]int{len(s.facts) + 1, 0}, 0, 0, 0
	s.allowed, s.asked = make([]set, len(s.facts)), make([]int, len(s.facts))
	for i := range s.facts {
		s.allowed[i] = full(s.facts[i].n)
	}
	s.reach([]goal{{rule, want}}, nil)
	return s.best, s.steps < maxSteps
}

// reach tries to meet the goals, and after them those that leave a choice.
func (s *search) reach(goals, choices []goal) {
	if s.steps++; s.steps >= maxSteps || s.worse() {
		return
	}
	for len(goals) > 0 {
		g := goals[len(goals)-1]
		goals = goals[:len(goals)-1]
		switch r := g.rule; {
		case r.shape == OfCondition:
			s.narrow(r.cond, g.want, goals, choices)
			return
		case r.shape == OfNot:
			goals = append(slices.Clone(goals), goal{r.parts[0], g.want.Not()})
		case (r.shape == OfAll) == (g.want == True):
			goals = slices.Clone(goals)
			for _, p := range slices.Backward(r.parts) {
				goals = append(goals, goal{p, g.want})
			}
		default:
			choices = append(slices.Clone(choices), g)
		}
	}
	if len(choices) == 0 {
		s.take()
		return
	}
	g := choices[0]
	// A part that stands already costs nothing, so no other need be tried.
	for _, p := range g.rule.parts {
		if truthOf(p, s.known) == g.want {
			s.reach(nil, choices[1:])
			return
		}
	}
	for _, p := range g.rule.parts {
		s.reach([]goal{{p, g.want}}, choices[1:])
	}
}

// narrow makes a condition what is wanted, and goes on.
func (s *search) narrow(c *Condition, want Truth, goals, choices []goal) {
	at, open := s.of[c]
	if !open {
		if c.holds(look(c.key, s.known[c.key.Key].Text)) == want {
			s.reach(goals, choices)
		}
		return
	}
	if c.holds(look(c.key, s.known[c.key.Key].Text)) == want {
		s.reach(goals, choices) // a part of the fact is known, and enough
		return
	}
	ways := s.facts[at.fact].holds[at.cond].true
	if want == False {
		ways = s.facts[at.fact].holds[at.cond].false
	}
	was := s.allowed[at.fact]
	now := was.and(ways)
	if now.empty() || s.only >= 0 && s.only != at.fact {
		return
	}
	s.allowed[at.fact] = now
	s.ask(at.fact, 1)
	s.reach(goals, choices)
	s.ask(at.fact, -1)
	s.allowed[at.fact] = was
}

func (s *search) ask(f, by int) {
	was := s.asked[f] > 0
	s.asked[f] += by
	if is := s.asked[f] > 0; is != was {
		s.count += by
		s.ease += by * s.facts[f].key.Where.Ease()
	}
}

// worse tells whether what is asked already is no better than the best found.
func (s *search) worse() bool {
	return s.count > s.bestIs[0] || s.count == s.bestIs[0] && s.ease >= s.bestIs[1]
}

func (s *search) take() {
	if s.worse() {
		return
	}
	s.best, s.bestIs = []int{}, [2]int{s.count, s.ease}
	for f, n := range s.asked {
		if n > 0 {
			s.best = append(s.best, f)
		}
	}
}

// readings writes facts out, the easiest to get at first.
func (s *search) readings(facts []int, rule Rule) []Reading {
	facts = slices.Clone(facts)
	slices.SortStableFunc(facts, func(a, b int) int { return s.facts[a].key.Where.Ease() - s.facts[b].key.Where.Ease() })
	var out []Reading
	for _, f := range facts {
		k := s.facts[f].key
		r := Reading{Key: k.Key, Label: k.Label, Unit: k.Unit, Where: k.Where, How: k.How, Cautions: k.Cautions()}
		if s.facts[f].sofar != "" {
			r.Sofar = k.Shown(strings.TrimSpace(s.facts[f].sofar))
		}
		s.only = f
		alone, _ := s.find(rule, False)
		s.only = -1
		r.Alone = alone != nil
		out = append(out, r)
	}
	return out
}
