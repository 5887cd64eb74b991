// Package caution is the catalogue of cautions that a line of work or a fact
// about a car calls for: what can hurt, what to do about it, and who says so.
// It is data. The words are ours; each entry names the public source of its
// facts, or says that there is none.
package caution

import (
	"errors"
	"slices"
)

// Key names a caution, as operations and lines store it.
type Key string

// The cautions.
const (
	Airbag      Key = "airbag"
	Lifting     Key = "lifting"
	Brakes      Key = "brakes"
	Steering    Key = "steering"
	Wheels      Key = "wheels"
	Fuel        Key = "fuel"
	HighVoltage Key = "high-voltage"
	Refrigerant Key = "refrigerant"
	Battery     Key = "battery"
	Coolant     Key = "coolant"
	Fumes       Key = "fumes"
	Paint       Key = "paint"
	Dust        Key = "dust"
)

// Sentence stands below every list of cautions.
const Sentence = "These notes are reminders. Local rules, the maker's procedure and the trained or licensed person decide."

// NoSource is what Source says where the facts are what the trade knows.
const NoSource = "common practice, no published source"

// Caution is one entry. Source names where its facts are published.
type Caution struct {
	Key    Key
	Title  string
	Text   string
	Source string
}

// ErrUnknown says that a list names a caution that there is not.
var ErrUnknown = errors.New("choose cautions from the list")

// All gives the catalogue in the order in which it is listed.
func All() []Caution { return slices.Clone(catalogue) }

// ByKey finds one caution; ok is false when there is no such.
func ByKey(k Key) (c Caution, ok bool) {
	i := slices.IndexFunc(catalogue, func(c Caution) bool { return c.Key == k })
	if i < 0 {
		return Caution{}, false
	}
	return catalogue[i], true
}

// Valid gives ErrUnknown when one of keys is not in the catalogue.
func Valid(keys []Key) error {
	for _, k := range keys {
		if _, ok := ByKey(k); !ok {
			return ErrUnknown
		}
	}
	return nil
}

// Of gives the cautions that keys name, in the catalogue's order and each
// once, whatever the order of keys. A key that is not in the catalogue is left
// out: a list stored long ago may name one that has gone.
func Of(keys []Key) []Caution {
	var cs []Caution
	for _, c := range catalogue {
		if slices.Contains(keys, c.Key) {
			cs = append(cs, c)
		}
	}
	return cs
}

// Merge joins lists of keys into one, in the catalogue's order and each once.
func Merge(lists ...[]Key) []Key {
	var keys []Key
	for _, c := range Of(slices.Concat(lists...)) {
		keys = append(keys, c.Key)
	}
	return keys
}

// Safety tells whether work that carries k must be checked by a second person
// before the car may go: brakes, steering, restraints, wheels, high voltage.
// The choice is common practice, no published source. Ask it of the cautions
// of the work itself, not of those that the car's facts add.
func Safety(k Key) bool {
	switch k {
	case Airbag, Brakes, Steering, Wheels, HighVoltage:
		return true
	}
	return false
}

// NeedsSecondCheck tells whether one of keys is a Safety one.
func NeedsSecondCheck(keys []Key) bool { return slices.ContainsFunc(keys, Safety) }
