package fit_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rampside/internal/fact"
	"rampside/internal/fit"
)

type readableFact struct {
	key, sofar string
	may        []string
	conditions []string
}

// readable are facts with, for each, all that it may turn out to be as far as
// the conditions below can tell, and what is known of it at first. The values
// are written by hand, and not those that the search thinks of.
var readable = []readableFact{
	{
		"engine_code", "", []string{"K7A", "K7B", "K7", "K9K 836", "ZZZ"},
		[]string{"engine code is K7A", "engine code is one of K7A, K9K 836", "engine code begins with K7", "engine code is not K7B"},
	},
	{"abs", "", []string{"yes", "no"}, []string{"with abs", "without abs"}},
	{
		"doors", "", []string{"1", "2", "3", "4", "5", "6", "7"},
		[]string{"doors is 3", "doors from 2 to 4", "doors at least 5", "doors under 2", "doors over 6"},
	},
	{
		"built", "2019", []string{"2019-01-01", "2019-02-28", "2019-03-01", "2019-06-30", "2019-07-01", "2019-09-14", "2019-09-15", "2019-09-16", "2019-12-31"},
		[]string{"built from 2018-06 to 2019-02", "built before 2019-07", "built after 2019-09-15", "built is 2019", "built is 2019-09-15", "built from 2020", "built from 2019-03 to 2019-06"},
	},
	{
		"tyre_size", "205/55 R16", []string{"205/55 R16", "205/55 R16 91V", "205/55 R16 94V", "205/55 R16 94V XL", "205/55 R16 91V XL", "205/55 ZR16 91V", "205/55 R16 95H", "205/55 R16 95H XL"},
		[]string{"tyre size is 205/55 R16", "tyre size is 205/55 R16 91V", "tyre size is one of 205/55 R16 94V XL, 195/65 R15", "tyre size is 225/45 R17"},
	},
	{
		"displacement_cc", "", []string{"0", "1949", "1950", "1995", "2049", "2050", "2500", "12000"},
		[]string{"displacement is 2.0 l", "displacement at most 2049 cc", "displacement over 2.0 l"},
	},
	{
		"chassis_number", "118341", []string{"1G4AH59H45G118341", "1G4AH59H46G118341", "1G4AH59H47X118341", "1J9RP1A365G118341", "1J9RP1A366G118341"},
		[]string{"chassis number from 5G100000 to 6G000001", "chassis number from 118342", "chassis number is 1G4AH59H45G118341", "chassis number to 6G118341"},
	},
	{"fuel", "diesel", nil, []string{"fuel is diesel", "fuel is petrol"}},
}

type puzzle struct {
	rule fit.Rule
	car  fit.Known
	open []int // indexes of readable facts that the rule asks about and are not known in full
}

func newPuzzle(t *testing.T, r *rand.Rand) puzzle {
	p := puzzle{car: fit.Known{}}
	facts := r.Perm(len(readable))[:2+r.IntN(3)]
	for _, f := range facts {
		if readable[f].sofar != "" {
			p.car[readable[f].key] = fit.Value{Text: readable[f].sofar, Source: "logbook"}
		}
		if readable[f].may != nil {
			p.open = append(p.open, f)
		}
	}
	var make func(depth int) fit.Rule
	make = func(depth int) fit.Rule {
		if depth == 0 || r.IntN(5) == 0 {
			conditions := readable[facts[r.IntN(len(facts))]].conditions
			return parsed(t, conditions[r.IntN(len(conditions))])
		}
		if r.IntN(5) == 0 {
			return fit.Not(make(depth - 1))
		}
		var parts []fit.Rule
		for range 2 + r.IntN(2) {
			parts = append(parts, make(depth-1))
		}
		if r.IntN(2) == 0 {
			return fit.All(parts...)
		}
		return fit.Any(parts...)
	}
	p.rule = make(3)
	return p
}

// can tells whether some reading of the facts, the others staying as they are,
// gives the rule the truth.
func (p puzzle) can(facts []int, want fit.Truth) bool {
	car := fit.Known{}
	for k, v := range p.car {
		car[k] = v
	}
	var try func(i int) bool
	try = func(i int) bool {
		if i == len(facts) {
			return fit.Decide(p.rule, car) == want
		}
		f := readable[facts[i]]
		for _, text := range f.may {
			car[f.key] = fit.Value{Text: text}
			if try(i + 1) {
				return true
			}
		}
		if v, ok := p.car[f.key]; ok {
			car[f.key] = v
		} else {
			delete(car, f.key)
		}
		return false
	}
	return try(0)
}

// smallest finds by trying all: how few facts can give the rule the truth, and
// how easily the easiest such set is read; -1 when none can.
func (p puzzle) smallest(want fit.Truth) (count, ease int) {
	count = -1
	for bits := range 1 << len(p.open) {
		var facts []int
		sum := 0
		for i, f := range p.open {
			if bits&(1<<i) != 0 {
				facts = append(facts, f)
				k, _ := fact.KeyOf(readable[f].key)
				sum += k.Where.Ease()
			}
		}
		if better := count < 0 || len(facts) < count || len(facts) == count && sum < ease; better && p.can(facts, want) {
			count, ease = len(facts), sum
		}
	}
	return count, ease
}

func (p puzzle) check(t *testing.T, name string, got []fit.Reading, want fit.Truth) {
	t.Helper()
	count, ease := p.smallest(want)
	if count < 0 {
		if len(got) != 0 {
			t.Fatalf("%s\n%s of %v is said to do, and nothing can", p.rule, name, got)
		}
		return
	}
	var facts []int
	sum := 0
	for _, g := range got {
		facts = append(facts, slices.IndexFunc(readable, func(r readableFact) bool { return r.key == g.Key }))
		sum += g.Where.Ease()
	}
	if len(got) != count || sum != ease || !p.can(facts, want) {
		t.Fatalf("%s\nof %v\n%s: got %d facts of ease %d, want %d of ease %d\n%+v", p.rule, p.car, name, len(got), sum, count, ease, got)
	}
	if !slices.IsSortedFunc(got, func(a, b fit.Reading) int { return a.Where.Ease() - b.Where.Ease() }) {
		t.Fatalf("%s\n%s is not in the order of ease: %+v", p.rule, name, got)
	}
	for i, g := range got {
		if alone := p.can(facts[i:i+1], fit.False); g.Alone != alone {
			t.Fatalf("%s\n%s could by itself show that it does not fit: %v, said to be %v", p.rule, g.Key, alone, g.Alone)
		}
	}
}

func TestTheSmallestSetOfFactsIsFoundAsByTryingAll(t *testing.T) {
	const puzzles = 4000
	r := rand.New(rand.NewPCG(20261005, 2))
	sizes := map[int]int{}
	for range puzzles {
		p := newPuzzle(t, r)
		v := fit.Judge(p.rule, p.car)
		if v.Truth != fit.Unknown {
			if v.Settle != nil || v.Refute != nil {
				t.Fatalf("%s is %s, and yet to be settled by %v", p.rule, v.Truth, v.Settle)
			}
			continue
		}
		if v.NotSmallest {
			t.Fatalf("%s was given up", p.rule)
		}
		if count, _ := p.smallest(fit.True); count >= 0 {
			p.check(t, "settling", v.Settle, fit.True)
		} else {
			p.check(t, "settling", v.Settle, fit.False)
		}
		p.check(t, "refuting", v.Refute, fit.False)
		sizes[len(v.Settle)]++
	}
	if sizes[1] < 100 || sizes[2] < 100 || sizes[3] < 10 {
		t.Errorf("the puzzles are too easy: %v", sizes)
	}
	t.Logf("sizes of settling sets: %v", sizes)
}

func TestWhatToReadComesEasiestFirstAndSaysHow(t *testing.T) {
	r := parsed(t, "gearbox code is X1 and engine code is K7A and displacement is 2.0 l and built from 2019-03 to 2019-08")
	v := fit.Judge(r, fit.Known{"built": {Text: "2019", Source: "logbook"}})
	var got []string
	for _, s := range v.Settle {
		got = append(got, s.Key)
		if k, _ := fact.KeyOf(s.Key); s.How != k.How || s.Where != k.Where || s.Label != k.Label || !slices.Equal(s.Cautions, k.Cautions()) || !s.Alone {
			t.Errorf("%+v", s)
		}
	}
	if want := "displacement_cc built engine_code gearbox_code"; strings.Join(got, " ") != want {
		t.Errorf("in the order %v, want %s", got, want)
	}
	if v.Settle[1].Sofar != "2019" {
		t.Errorf("so far %q", v.Settle[1].Sofar)
	}
	if len(v.Refute) != 1 || v.Refute[0].Key != "displacement_cc" {
		t.Errorf("refuted by %+v", v.Refute)
	}
}

func TestNothingToReadIsSaidToBeSo(t *testing.T) {
	v := fit.Judge(parsed(t, "chassis number from 7G000001"), oracleCar)
	if v.Truth != fit.Unknown || v.Settle != nil || v.Refute != nil || !strings.Contains(v.Why, "not counted in the same series as 7G000001") {
		t.Errorf("%+v", v)
	}
	// The two cannot both hold, so only that it does not fit can be shown.
	v = fit.Judge(parsed(t, "engine code is K7A and engine code is K7B"), nil)
	if v.Truth != fit.Unknown || len(v.Settle) != 1 || len(v.Refute) != 1 {
		t.Errorf("%+v", v)
	}
}

// A rule of forty alternatives over thirty facts is more than the search goes
// through; it must come to an end, and what it gives must settle the rule.
func TestATangledRuleIsGivenUpInTime(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var choices []fact.Key
	for _, k := range fact.Vocabulary() {
		if k.Kind == fact.Choice {
			choices = append(choices, k)
		}
	}
	var all []fit.Rule
	for range 40 {
		var either []fit.Rule
		for range 3 {
			k := choices[r.IntN(len(choices))]
			c, err := fit.Compare(k.Key, fit.Is, k.Options[r.IntN(len(k.Options))])
			if err != nil {
				t.Fatal(err)
			}
			either = append(either, c)
		}
		all = append(all, fit.Any(either...))
	}
	v := fit.Judge(fit.All(all...), nil)
	if v.Truth != fit.Unknown || !v.NotSmallest || len(v.Settle) == 0 || len(v.Refute) == 0 {
		t.Errorf("%s, given up: %v, settled by %d, refuted by %d", v.Truth, v.NotSmallest, len(v.Settle), len(v.Refute))
	}
}
