package vehicle

import (
	"slices"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/fact"
)

// FactInput is a fact as somebody gives it.
type FactInput struct {
	Key    string
	Value  string
	Source Source
}

// Clean checks a fact and gives its value in the form in which it is kept. An
// Invalid error has its messages at key, value and source.
func (in FactInput) Clean() (FactInput, error) {
	f := apperr.Fields{}
	k, ok := fact.KeyOf(in.Key)
	if !ok {
		f.Add("key", "please choose what this is from the list")
	}
	if !in.Source.Valid() {
		f.Add("source", "please say where this comes from")
	}
	if ok {
		v, err := k.Clean(in.Value)
		if err != nil {
			f.Add("value", "%s", err.Error())
		}
		in.Value = v
	}
	if err := f.Err(); err != nil {
		return FactInput{}, err
	}
	return in, nil
}

// Fact is one value of one key from one source.
type Fact struct {
	Key     string
	Value   string
	Source  Source
	NotedAt time.Time
	NotedBy string // empty when nobody in particular
}

// Known is what is known of one key: the value to go by, and all that was
// ever said.
type Known struct {
	Key fact.Key
	// Best is the value from the most trusted source.
	Best Fact
	// All holds a fact for each source, the most trusted first; never empty.
	All []Fact
	// Contradicted is set when two sources cannot both be right. Nothing is
	// averaged: somebody has to go and look.
	Contradicted bool
}

// Standing is how what a source says stands to the value to go by.
type Standing string

// The standings.
const (
	GoneBy      Standing = "gone by"     // it is the value to go by
	Agrees      Standing = "agrees"      // it says the same
	Finer       Standing = "more exact"  // it says the same and more
	Coarser     Standing = "less exact"  // it says the same and less
	Contradicts Standing = "contradicts" // it cannot be true as well
)

// Standing tells how one of All stands to Best.
func (k Known) Standing(f Fact) Standing {
	switch {
	case f == k.Best:
		return GoneBy
	case f.Value == k.Best.Value:
		return Agrees
	case k.Key.Finer(f.Value, k.Best.Value):
		return Finer
	case k.Key.Finer(k.Best.Value, f.Value):
		return Coarser
	}
	return Contradicts
}

// Cautions are those that the fact to go by calls for, and, while sources
// contradict one another, those of every value.
func (k Known) Cautions() []caution.Key {
	var out []caution.Key
	for _, f := range k.All {
		if f == k.Best || k.Contradicted {
			out = append(out, caution.ForFact(f.Key, f.Value)...)
		}
	}
	return caution.Merge(out)
}

// Weigh puts the facts of a car together by key, in the order of the
// vocabulary. Facts under keys that the vocabulary has not are left out.
func Weigh(facts []Fact) []Known {
	by := map[string][]Fact{}
	for _, f := range facts {
		by[f.Key] = append(by[f.Key], f)
	}
	var out []Known
	for _, k := range fact.Vocabulary() {
		all := by[k.Key]
		if len(all) == 0 {
			continue
		}
		slices.SortStableFunc(all, func(a, b Fact) int { return a.Source.rank() - b.Source.rank() })
		known := Known{Key: k, Best: all[0], All: all}
		for i := range all {
			for _, other := range all[i+1:] {
				known.Contradicted = known.Contradicted || !k.Agree(all[i].Value, other.Value)
			}
		}
		out = append(out, known)
	}
	return out
}

// Cautions are all that the facts of a car call for, each once.
func Cautions(known []Known) []caution.Key {
	var out []caution.Key
	for _, k := range known {
		out = append(out, k.Cautions()...)
	}
	return caution.Merge(out)
}
