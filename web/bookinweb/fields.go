package bookinweb

import (
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// No field here is marked as required to the browser: the server says what is
// missing, at every field at once and in words.

func searchField(v findView) ui.Input {
	in := v.Form.Field("q", "Car or keeper").Kind("search").Max(60).Say("mark, VIN or a part of it, name or telephone")
	if v.Here && len(v.Cars) > 0 {
		return in // the cursor goes to what was found
	}
	return in.Focus()
}

func mileageField(v *formView) ui.Input {
	in := v.Form.Field("mileage", "Mileage").Short().Max(20).Say(v.Mileage)
	if v.First && v.Car != nil {
		return in.Focus()
	}
	return in
}

func markField(v *formView) ui.Input {
	in := v.Form.Field("vehicle.mark", "Registration mark").Short().Max(markMax)
	if v.First && in.Value == "" {
		return in.Focus()
	}
	return in
}

func makeField(v *formView) ui.Input {
	in := v.Form.Field("vehicle.make", "Make").Max(vehicle.MakeMax)
	if v.First && v.Form.Get("vehicle.mark") != "" {
		return in.Focus()
	}
	return in
}

func lineField(v *formView, l lineRow) ui.Input {
	in := l.Form.Field("title", "Line "+l.Number).Max(jobcard.MaxTitle).With("list", "operations").With("data-complete", "yes")
	if l.Focus {
		return in.Focus()
	}
	return in
}

func factField(f factRow) ui.Input {
	in := f.Form.Field("value", f.Label).Max(80).Say(f.Hint).Suggest(f.Suggest)
	if f.Key == "" {
		in.Label = "What it is"
	}
	if f.Focus && f.Key != "" {
		return in.Focus()
	}
	return in
}

func sourceField(f factRow) ui.Input {
	return f.Form.Field("source", "From").With("aria-label", "From, fact "+f.Number)
}

func keyField(f factRow) ui.Input {
	in := f.Form.Field("key", "Fact "+f.Number)
	if f.Focus {
		return in.Focus()
	}
	return in
}

func customerField(v *formView, name, label string, most int) ui.Input {
	return v.Form.Field("customer."+name, label).Max(most)
}
