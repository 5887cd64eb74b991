package fit_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/fact"
	"rampside/internal/fit"
)

var texts = []string{
	"K7A", "K9K 836", "not", "one of", "front and rear", "a, b", `say "x"`, "(a)", "is", "to", "x: y", ":", "at least", "a=b", "any car", "1995 cc", "ß",
	"or", "b;c", "from 5", "no car", "'", "<script>alert(1)</script>", "é", "...",
}

// valueOf draws a value as somebody may type it.
func valueOf(t *rapid.T, k fact.Key) string {
	switch k.Kind {
	case fact.Number:
		step := fact.One
		for range k.Decimals {
			step /= 10
		}
		low, high := int64(k.Low)*int64(fact.One/step), int64(k.High)*int64(fact.One/step)
		s := (fact.Millionth(rapid.Int64Range(low, high).Draw(t, "figure")) * step).String()
		if units := k.Units(); len(units) > 0 && rapid.Bool().Draw(t, "converted") {
			return s + " " + rapid.SampledFrom(units).Draw(t, "unit").Name
		}
		return s
	case fact.Choice:
		return rapid.SampledFrom(k.Options).Draw(t, "option")
	case fact.Date:
		return rapid.SampledFrom([]string{"2015", "2015-03", "14/3/2015", "Aug 2019", "2020", "29 Feb 2020"}).Draw(t, "date")
	case fact.Tyre:
		return rapid.SampledFrom([]string{"205/55 R16", "205/55 R16 91V", "205/55 R16 94V XL", "195/75 R16C 107/105R", "5.60-15", "255/40 ZR19"}).Draw(t, "size")
	case fact.Pattern:
		return rapid.SampledFrom([]string{"5x112", "4x98", "5x114.3"}).Draw(t, "pattern")
	case fact.Chassis:
		return rapid.SampledFrom([]string{"1G4AH59H45G118341", "118341", "5G118341", "5G200000", "6G002000", "5000"}).Draw(t, "number")
	}
	return rapid.SampledFrom(texts).Draw(t, "text")
}

// conditionOf draws a condition; the values that a unit takes out of bounds, or
// that run backwards, are drawn again.
func conditionOf(t *rapid.T) fit.Rule {
	for {
		k := rapid.SampledFrom(fact.Vocabulary()).Draw(t, "key")
		test := rapid.SampledFrom(fit.Tests(k.Kind)).Draw(t, "test")
		var values []string
		n := 1
		if test == fit.Is || test == fit.Begins {
			n = rapid.IntRange(1, 3).Draw(t, "n")
		}
		for range n {
			values = append(values, valueOf(t, k))
		}
		if test == fit.From {
			values = append(values, "")
			switch rapid.IntRange(0, 2).Draw(t, "ends") {
			case 0:
				values[0], values[1] = "", values[0]
			case 1:
				values[1] = valueOf(t, k)
			}
		}
		if r, err := fit.Compare(k.Key, test, values...); err == nil {
			return r
		}
	}
}

func ruleOf(t *rapid.T, depth int) fit.Rule {
	if depth == 0 {
		return conditionOf(t)
	}
	switch rapid.IntRange(0, 9).Draw(t, "shape") {
	case 0:
		return fit.AnyCar()
	case 1:
		return fit.NoCar()
	case 2, 3:
		return fit.Not(ruleOf(t, depth-1))
	case 4, 5, 6:
		join := rapid.SampledFrom([]func(...fit.Rule) fit.Rule{fit.All, fit.Any}).Draw(t, "join")
		var parts []fit.Rule
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			parts = append(parts, ruleOf(t, depth-1))
		}
		return join(parts...)
	}
	return conditionOf(t)
}

func TestWhatIsWrittenIsReadAsTheSameTree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := ruleOf(t, 3)
		if r.IsZero() {
			return
		}
		again, err := fit.Parse(r.String())
		if err != nil || !reflect.DeepEqual(again, r) {
			t.Fatalf("%s\nis read as\n%s, %v", r, again, err)
		}
	})
}

func TestARuleSurvivesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := ruleOf(t, 3)
		b, err := json.Marshal(r)
		var again fit.Rule
		if err != nil || json.Unmarshal(b, &again) != nil || !reflect.DeepEqual(again, r) {
			t.Fatalf("%s\nbecame %s\nand %s, %v", r, b, again, err)
		}
	})
}

func TestAVerdictSurvivesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := fit.Judge(ruleOf(t, 3), oracleCar)
		b, err := json.Marshal(v)
		var again fit.Verdict
		if err != nil || json.Unmarshal(b, &again) != nil || !reflect.DeepEqual(again, v) {
			t.Fatalf("%+v\nbecame %s\nand %+v, %v", v, b, again, err)
		}
	})
}

// Judging cannot depend on the order of parts, nor on how a rule is turned
// round (the laws of De Morgan, which hold in Kleene's strong logic).
func TestTheOrderOfPartsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := ruleOf(t, 2), ruleOf(t, 2)
		for _, same := range [][2]fit.Rule{
			{fit.All(a, b), fit.All(b, a)},
			{fit.Any(a, b), fit.Any(b, a)},
			{fit.Not(fit.All(a, b)), fit.Any(fit.Not(a), fit.Not(b))},
			{fit.Not(fit.Not(a)), a},
		} {
			one, other := fit.Judge(same[0], oracleCar), fit.Judge(same[1], oracleCar)
			if one.Truth != other.Truth || len(one.Settle) != len(other.Settle) || len(one.Refute) != len(other.Refute) {
				t.Fatalf("%s: %s, settled by %d\n%s: %s, settled by %d", same[0], one.Truth, len(one.Settle), same[1], other.Truth, len(other.Settle))
			}
		}
	})
}
