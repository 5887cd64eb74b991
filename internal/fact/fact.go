// Package fact is the vocabulary of what may be known of a car: what each fact
// is called, in what unit, how its value is written and compared, where on the
// car it is read and what to take care of there. It is data and a few rules;
// who said what of which car is package vehicle's.
package fact

import (
	"slices"
	"strings"

	"rampside/internal/caution"
)

// Kind is how the value of a fact is written and compared.
type Kind int

// The kinds.
const (
	Text    Kind = iota // a code or a few words
	Number              // a figure in the key's unit
	Choice              // one of the key's options
	Date                // a day, or a month or a year where no more is known
	Tyre                // a tyre size
	Pattern             // holes by pitch circle, such as 5x112
	Chassis             // a chassis number; conditions compare its end
)

var kindWords = [...]string{"text", "number", "choice", "date", "tyre", "pattern", "chassis"}

// String is the kind in one word, as the interface for programs has it.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindWords) {
		return "unknown"
	}
	return kindWords[k]
}

// Key is one thing that may be known of a car.
type Key struct {
	Key string
	// Label is what a page calls it, Name what a sentence does where that is
	// not the label in small letters.
	Label, name string
	// Also is what else it is called, in small letters.
	Also []string
	Kind Kind
	// Unit is that of a Number: mm, kg, cc, V; empty for a plain count.
	Unit string
	// Low and High bound a Number; Decimals is how many places it may have.
	Low, High float64
	Decimals  int
	// Options are the words of a Choice.
	Options []string
	// How says in a few words how to read it, Where it is found.
	How   string
	Where Place
	// care is what reading it needs besides what its place needs.
	care []caution.Key
}

// Name is what the fact is called in a sentence: "engine code".
func (k Key) Name() string {
	if k.name != "" {
		return k.name
	}
	return strings.ToLower(k.Label)
}

// Titled is the label with its unit: "Power, kW".
func (k Key) Titled() string {
	if k.Unit == "" {
		return k.Label
	}
	return k.Label + ", " + k.Unit
}

// Cautions are what to mind when reading it off the car, each once.
func (k Key) Cautions() []caution.Key { return caution.Merge(k.Where.Cautions(), k.care) }

var (
	vocabulary = slices.Concat(identity, engine, driveline, bodywork, masses, brakes, wheels, electrics, cabin)
	byKey      = index()
)

func index() map[string]int {
	m := make(map[string]int, len(vocabulary))
	for i, k := range vocabulary {
		m[k.Key] = i
	}
	return m
}

// Vocabulary lists every key, in the order of pages.
func Vocabulary() []Key { return slices.Clone(vocabulary) }

// KeyOf finds a key by its name.
func KeyOf(key string) (Key, bool) {
	i, ok := byKey[key]
	if !ok {
		return Key{}, false
	}
	return vocabulary[i], true
}

// Order is the place of a key in the vocabulary; that of an unknown key comes
// after all others.
func Order(key string) int {
	if i, ok := byKey[key]; ok {
		return i
	}
	return len(vocabulary)
}
