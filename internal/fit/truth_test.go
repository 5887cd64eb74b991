package fit_test

import (
	"encoding/json"
	"testing"

	"rampside/internal/fit"
)

const (
	T = fit.True
	U = fit.Unknown
	F = fit.False
)

// The tables of Kleene's strong logic: S. C. Kleene, Introduction to
// Metamathematics (1952), section 64, pages 332 to 335, where u is undefined.
// Those of SQL are the same: ISO/IEC 9075-2, boolean value expression, tables
// "Truth table for the AND boolean operator" and for OR, as the PostgreSQL
// manual prints them in "Logical Operators" with null for unknown.
var kleene = []struct{ a, b, and, or fit.Truth }{
	{T, T, T, T},
	{T, U, U, T},
	{T, F, F, T},
	{U, T, U, T},
	{U, U, U, U},
	{U, F, F, U},
	{F, T, F, T},
	{F, U, F, U},
	{F, F, F, F},
}

var kleeneNot = map[fit.Truth]fit.Truth{T: F, U: U, F: T}

// leaves are a condition of each truth for the car below.
var leaves = map[fit.Truth]string{T: "doors is 5", U: "fuel is diesel", F: "doors is 3"}

func TestTheLogicIsKleenesStrongOne(t *testing.T) {
	for _, c := range kleene {
		if c.a.And(c.b) != c.and || c.a.Or(c.b) != c.or {
			t.Errorf("%s and %s: %s, %s", c.a, c.b, c.a.And(c.b), c.a.Or(c.b))
		}
		a, b := parsed(t, leaves[c.a]), parsed(t, leaves[c.b])
		car := fit.Known{"doors": {Text: "5", Source: "read off the car"}}
		if got := fit.Judge(fit.All(a, b), car); got.Truth != c.and || got.Proof.Truth != c.and {
			t.Errorf("%s and %s: judged %s, want %s", c.a, c.b, got.Truth, c.and)
		}
		if got := fit.Judge(fit.Any(a, b), car).Truth; got != c.or {
			t.Errorf("%s or %s: judged %s, want %s", c.a, c.b, got, c.or)
		}
		if got := fit.Judge(fit.Not(a), car).Truth; got != kleeneNot[c.a] || c.a.Not() != got {
			t.Errorf("not %s: judged %s", c.a, got)
		}
	}
}

func TestATruthSurvivesJSON(t *testing.T) {
	for _, want := range []fit.Truth{T, U, F} {
		b, err := json.Marshal(want)
		var got fit.Truth
		if err != nil || json.Unmarshal(b, &got) != nil || got != want {
			t.Errorf("%s became %s and %s, %v", want, b, got, err)
		}
	}
	var got fit.Truth
	if err := json.Unmarshal([]byte(`"perhaps"`), &got); err == nil {
		t.Error("perhaps is no truth")
	}
}

func parsed(t testing.TB, text string) fit.Rule {
	t.Helper()
	r, err := fit.Parse(text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return r
}
