package fitweb

import (
	"errors"

	"rampside/internal/apperr"
	"rampside/internal/fact"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// valueField is where a reading is typed. What was typed wrong belongs to the
// form that asked for that fact.
func valueField(f *ui.Form, r Reading, first bool) ui.Input {
	mine := f
	if f != nil && f.Get("fact") != r.Key {
		mine = nil
	}
	in := mine.Field("value", r.titled()).Must().Max(fact.ValueMax).Say(r.Where + ": " + r.How)
	if r.Figure {
		in = in.Decimal()
	}
	if first {
		in = in.Focus()
	}
	return in
}

// ReadMeasure reads what Measure asked for.
func ReadMeasure(f *ui.Form, part jobcard.PartID) fitment.MeasureInput {
	return fitment.MeasureInput{PartID: part, Key: f.Str("fact", 60), Value: f.Str("value", 400), Was: f.Str("was", 400)}
}

// Measured moves what was wrong with a reading into its form, and tells whether
// it was that. Another reading meanwhile is one.
func Measured(f *ui.Form, err error) bool {
	var e *apperr.Error
	if errors.As(err, &e) {
		if now, ok := e.Current.(vehicle.Fact); ok {
			k, _ := fact.KeyOf(now.Key)
			f.Fail("value", "%s read %s off the car meanwhile: look again, and change it on the car's page if that is wrong", orSomebody(now.NotedBy), k.Shown(now.Value))
			return true
		}
		if m := e.Fields["key"]; m != "" {
			f.Fail("value", "%s", m)
			return true
		}
	}
	return f.Take(err)
}

func orSomebody(name string) string {
	if name == "" {
		return "somebody"
	}
	return name
}
