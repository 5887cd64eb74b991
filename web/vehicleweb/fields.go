package vehicleweb

import (
	"rampside/internal/fact"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

func searchField(v findView) ui.Input {
	in := v.Form.Field("q", "Car or keeper").Kind("search").Max(60).Say("mark, VIN or a part of it, name or telephone")
	if v.Here && len(v.Cars) > 0 {
		return in
	}
	return in.Focus()
}

// formVersion is the version that an edit is made from: the one it was begun
// from, when it came back with a message.
func formVersion(f *ui.Form, now int64) int64 {
	if f != nil && f.Version() != 0 {
		return f.Version()
	}
	return now
}

// factField shows what belongs to the form of a fact, and nothing of another
// form that is open on the page.
func factField(v *carView, name, label string) ui.Input {
	if v.Do == doFact {
		return v.Form.Field(name, label)
	}
	var none *ui.Form
	return none.Field(name, label)
}

func factValueField(v *carView) ui.Input {
	in := factField(v, "value", "What it is").Max(80)
	if v.Do != doFact {
		return in
	}
	if k, ok := fact.KeyOf(v.Form.Get("fact")); ok {
		in = in.Suggest(k.Options).Say(k.How)
		if k.Unit != "" {
			in.Label += ", " + k.Unit
		}
	}
	return in.Focus()
}

func factHeading(v *carView) string {
	if v.Do == doFact && v.Form.Get("was") != "" {
		return "Change a fact"
	}
	return "Note a fact"
}

// keyOptions are all keys; an edit of what a source said keeps to its own.
func keyOptions(v *carView) []ui.Option {
	own := ""
	if v.Do == doFact && v.Form.Get("was") != "" {
		own = v.Form.Get("fact")
	}
	out := []ui.Option{}
	if own == "" {
		out = append(out, ui.Option{Value: "", Label: "which fact?"})
	}
	for _, k := range fact.Vocabulary() {
		if own != "" && k.Key != own || k.Kind == fact.Chassis && v.car.VIN != "" {
			continue // a VIN is the chassis number, and is changed with the car
		}
		out = append(out, ui.Option{Value: k.Key, Label: k.Titled()})
	}
	return out
}

func sourceOptions(v *carView) []ui.Option {
	own := vehicle.Source("")
	if v.Do == doFact && v.Form.Get("was") != "" {
		own = vehicle.Source(v.Form.Get("source"))
	}
	out := []ui.Option{}
	if own == "" {
		out = append(out, ui.Option{Value: "", Label: "where from?"})
	}
	for _, s := range vehicle.Sources() {
		if own == "" || s == own {
			out = append(out, ui.Option{Value: string(s), Label: s.Words()})
		}
	}
	return out
}

func factCols(v *carView) []ui.Col {
	cols := []ui.Col{{Label: "Fact"}, {Label: "What it is"}, {Label: "From"}, {Label: "Noted"}}
	if v.MayFacts {
		cols = append(cols, ui.Col{Label: "Change"})
	}
	return cols
}

func visitCols(cars bool) []ui.Col {
	cols := []ui.Col{{Label: "Card"}}
	if cars {
		cols = append(cols, ui.Col{Label: "Car"})
	}
	return append(cols, ui.Col{Label: "Day"}, ui.Col{Label: "Stage"}, ui.Col{Label: "Mileage", Num: true}, ui.Col{Label: "Lines"}, ui.Col{Label: "In their words"})
}
