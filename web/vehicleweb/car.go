package vehicleweb

import (
	"net/http"

	"rampside/internal/apperr"
	"rampside/internal/fact"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

func (p pages) car(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[vehicle.ID](r, "vehicle")
	if err != nil {
		return err
	}
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	return p.show(w, r, http.StatusOK, id, q.Get("do"), nil, nil)
}

// show renders a car's page with one part of it open to be changed, and what
// was typed there. choices are customers to choose from, where several fit.
func (p pages) show(w http.ResponseWriter, r *http.Request, status int, id vehicle.ID, do string, f *ui.Form, choices []ui.Option) error {
	ctx, who := r.Context(), ui.Who(r.Context())
	rec, err := p.cars.Record(ctx, who, id)
	if err != nil {
		return err
	}
	left, err := p.cards.LeftOvers(ctx, who, id)
	if err != nil {
		return err
	}
	zone, err := p.garage.Zone(ctx)
	if err != nil {
		return err
	}
	v := newCarView(rec, left, who, zone, p.now())
	v.Choices = choices
	v.open(do, f, r)
	page := p.kit.Page(r, v.Called+" "+v.Name, root).Follow(r, "garage")
	page.OwnHead = true
	return p.kit.Render(w, r, status, carPage(page, v))
}

// open opens one part of the page, filled with what was typed or with how
// things stand.
func (v *carView) open(do string, f *ui.Form, r *http.Request) {
	switch {
	case (do == doEdit || do == doKeeper) && v.May, do == doFact && v.MayFacts:
		v.Do = do
	}
	if f != nil {
		v.Form = f
		return
	}
	v.Form = ui.NewForm(nil)
	set := v.Form.Values.Set
	switch v.Do {
	case doEdit:
		set("mark", v.car.MarkShown)
		set("vin", v.car.VIN)
		set("make", v.car.Make)
		set("model", v.car.Model)
		set("colour", v.car.Colour)
	case doKeeper:
		set("day", v.Today)
		set("was", v.Was)
	case doFact:
		v.openFact(r.URL.Query().Get("fact"), r.URL.Query().Get("source"))
	}
}

// openFact fills the form of a fact with what a source said of it; or, where
// none is named, gets it ready for what is read where the fact is found.
func (v *carView) openFact(key, source string) {
	set := v.Form.Values.Set
	for _, f := range v.Facts {
		for _, x := range f.Values {
			if x.Key == key && x.Source == source {
				set("fact", x.Key)
				set("source", x.Source)
				set("value", x.Value)
				set("was", x.Value)
				return
			}
		}
	}
	k, ok := fact.KeyOf(key)
	if !ok || source != "" {
		return
	}
	set("fact", k.Key)
	switch k.Where {
	case fact.AtLogbook:
		set("source", string(vehicle.FromLogbook))
	case fact.AtPlate:
		set("source", string(vehicle.FromPlate))
	default:
		set("source", string(vehicle.FromCar))
	}
}

func (p pages) editCar(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[vehicle.ID](r, "vehicle")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := vehicle.EditInput{ID: id, Version: int(f.Version()), Input: vehicle.Input{
		Mark: f.Str("mark", 60), VIN: f.Str("vin", 60), Make: f.Str("make", vehicle.MakeMax),
		Model: f.Str("model", vehicle.ModelMax), Colour: f.Str("colour", vehicle.ColourMax),
	}}
	if err = f.Err(); err == nil {
		_, err = p.cars.Edit(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[vehicle.Vehicle](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "car", Action: carPath(id), Back: carPath(id), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "mark", Label: "Registration mark", Theirs: now.MarkShown, Yours: f.Get("mark")},
				{Name: "vin", Label: "VIN", Theirs: now.VIN, Yours: f.Get("vin")},
				{Name: "make", Label: "Make", Theirs: now.Make, Yours: f.Get("make")},
				{Name: "model", Label: "Model", Theirs: now.Model, Yours: f.Get("model")},
				{Name: "colour", Label: "Colour", Theirs: now.Colour, Yours: f.Get("colour")},
			},
		})
	}
	return p.reply(w, r, id, doEdit, f, nil, "Car changed", "", err)
}

// reply finishes a write on a car: back to its page, or the form again with
// its messages, or the error for the adapter.
func (p pages) reply(w http.ResponseWriter, r *http.Request, id vehicle.ID, do string, f *ui.Form, choices []ui.Option, flash, anchor string, err error) error {
	switch {
	case err == nil:
		p.kit.Flash(w, flash)
		return ui.SeeOther(w, r, carPath(id)+anchor)
	case f.Take(err):
		return p.show(w, r, apperr.KindOf(err).Status(), id, do, f, choices)
	case apperr.Is(err, apperr.Conflict):
		f.Summary = err.Error()
		return p.show(w, r, http.StatusConflict, id, do, f, choices)
	}
	return err
}
