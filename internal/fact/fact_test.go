package fact_test

import (
	"slices"
	"strings"
	"testing"

	"rampside/internal/caution"
	"rampside/internal/fact"
)

func TestTheVocabularyIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for i, k := range fact.Vocabulary() {
		if k.Key == "" || k.Label == "" || k.How == "" || k.Where.Ease() >= len(fact.Places()) || seen[k.Key] || seen[k.Label] {
			t.Errorf("%+v: says too little, or comes twice", k)
		}
		seen[k.Key], seen[k.Label] = true, true
		if (k.Kind == fact.Choice) != (len(k.Options) > 0) || (k.Kind == fact.Number) != (k.High > k.Low) {
			t.Errorf("%s: its kind and its bounds or options differ", k.Key)
		}
		for _, o := range k.Options {
			if got, err := k.Clean(o); err != nil || got != o {
				t.Errorf("%s: option %s is kept as %s, %v", k.Key, o, got, err)
			}
		}
		if fact.Order(k.Key) != i {
			t.Errorf("%s is number %d, and said to be %d", k.Key, i, fact.Order(k.Key))
		}
		if err := caution.Valid(k.Cautions()); err != nil {
			t.Errorf("%s: %v", k.Key, err)
		}
	}
	if _, ok := fact.KeyOf("colour of the driver's hat"); ok || fact.Order("") != len(fact.Vocabulary()) {
		t.Error("an unknown key was found")
	}
}

func TestNoTwoFactsAreCalledTheSame(t *testing.T) {
	of := map[string]string{}
	for _, k := range fact.Vocabulary() {
		names := append([]string{k.Name(), strings.ReplaceAll(k.Key, "_", " ")}, k.Also...)
		slices.Sort(names)
		for _, n := range slices.Compact(names) {
			if n != strings.ToLower(n) {
				t.Errorf("%s: %q has capitals", k.Key, n)
			}
			if other := of[n]; other != "" {
				t.Errorf("%q is both %s and %s", n, other, k.Key)
			}
			of[n] = k.Key
		}
	}
}

func TestTheLogbookIsEasiestAndUnderTheCarHardest(t *testing.T) {
	p := fact.Places()
	if p[0] != fact.AtLogbook || p[len(p)-1] != fact.UnderCar || fact.UnderHood.Ease() >= fact.WheelOff.Ease() || fact.Place("on the moon").Ease() != len(p) {
		t.Errorf("%v", p)
	}
}

func TestAFactThatIsDangerousToReadSaysSo(t *testing.T) {
	for _, c := range []struct {
		key  string
		want []caution.Key
	}{
		{"high_voltage", []caution.Key{caution.HighVoltage}},
		{"gearbox_code", []caution.Key{caution.Lifting}},
		{"front_disc_mm", []caution.Key{caution.Lifting, caution.Brakes, caution.Wheels}},
		{"stud_pattern", []caution.Key{caution.Lifting, caution.Wheels}},
		{"battery_type", []caution.Key{caution.Battery}},
		{"displacement_cc", nil},
		{"tyre_size", nil},
	} {
		if got := key(t, c.key).Cautions(); !slices.Equal(got, c.want) {
			t.Errorf("%s calls for %v, want %v", c.key, got, c.want)
		}
	}
}
