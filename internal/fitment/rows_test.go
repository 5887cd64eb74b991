package fitment_test

import (
	"errors"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/fit"
	"rampside/internal/fitment"
)

func TestFieldsAndWordsMakeTheSameTree(t *testing.T) {
	for text, rows := range map[string][]fitment.Row{
		"engine layout is V": {{"A", "engine_layout", fitment.WayIs, "V", ""}},
		"engine code is one of K7A, K7B and built from 2015-03 to 2019-08": {
			{"A", "engine_code", fitment.WayIs, "k7a,K7B", ""}, {"B", "built", fitment.WayFrom, "3/2015", "8/2019"},
		},
		"(displacement at least 1600 or fuel is diesel) and gearbox is not automatic": {
			{"A", "displacement_cc", fitment.WayFrom, "1600", ""}, {"A", "fuel", fitment.WayIs, "diesel", ""}, {"C", "gearbox", fitment.WayIsNot, "Automatic", ""},
		},
		"centre bore is one of 57.1, 66.6":  {{"B", "centre_bore_mm", fitment.WayIs, "57,1, 66.6", ""}},
		"engine code does not begin with K": {{"A", "engine_code", fitment.WayNotBegins, "K", ""}},
	} {
		want, err := fit.Parse(text)
		if err != nil {
			if want, err = fit.Parse("not (engine code begins with K)"); err != nil {
				t.Fatal(err)
			}
		}
		got, err := fitment.FromRows(append(rows, fitment.Row{Letter: "A", Way: fitment.WayIs}))
		if err != nil || !got.Equal(want) {
			t.Errorf("%s\nin fields it is %s, %v", text, got, err)
		}
		back, ok := fitment.ToRows(want)
		if again, err := fitment.FromRows(back); !ok || err != nil || !again.Equal(want) {
			t.Errorf("%s: back in fields it is %v, %t, %v", text, back, ok, err)
		}
	}
}

func TestWhatRowsCannotSayStaysInWords(t *testing.T) {
	for _, text := range []string{
		"(engine layout is V and cylinders is 6) or (engine layout is inline and cylinders is 4)",
		"not (engine layout is V or cylinders is 4)", "any car", `engine code is "K7A/K7B"`,
	} {
		rule, err := fit.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		if rows, ok := fitment.ToRows(rule); ok {
			t.Errorf("%s came out as %v", text, rows)
		}
	}
}

func TestACodeThatLooksLikeSeveralIsAskedAbout(t *testing.T) {
	_, err := fitment.FromRows([]fitment.Row{{"A", "engine_code", fitment.WayIs, "k7a/k7b", ""}})
	var e *apperr.Error
	if !errors.As(err, &e) || e.Fields["cond.0.value"] == "" {
		t.Errorf("K7A/K7B in a field: %v", err)
	}
	if _, err := fitment.FromRows([]fitment.Row{{"A", "engine_oil", fitment.WayIs, "5W-30 ACEA A3/B4", ""}}); err != nil {
		t.Errorf("an oil: %v", err)
	}
}

func TestAWrongFieldHasItsMessage(t *testing.T) {
	for field, row := range map[string]fitment.Row{
		"cond.0.key":   {"A", "", fitment.WayIs, "V", ""},
		"cond.0.value": {"A", "displacement_cc", fitment.WayOver, "big", ""},
		"cond.0.to":    {"A", "displacement_cc", fitment.WayFrom, "1600", "1400"},
	} {
		_, err := fitment.FromRows([]fitment.Row{row})
		var e *apperr.Error
		if !errors.As(err, &e) || e.Fields[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
}
