package garageweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/web/ui"
)

const labourPath = home + "/labour"

// labourRow is one type of labour in the list.
type labourRow struct {
	Path, Name, Rate string
	Active           bool
}

func (p pages) labour(w http.ResponseWriter, r *http.Request) error {
	return p.showLabour(w, r, nil, http.StatusOK)
}

func (p pages) showLabour(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	types, err := p.garage.LabourTypes(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	coin, err := p.coin(r)
	if err != nil {
		return err
	}
	rows := make([]labourRow, len(types))
	for i, t := range types {
		rows[i] = labourRow{labourPath + "/" + ui.Itoa(t.ID), t.Name, coin.Format(t.Rate), t.Active}
	}
	page := p.kit.Page(r, "Labour", home).Follow(r, live.All)
	return p.kit.Render(w, r, status, labourPage(page, f, rows))
}

func (p pages) labourType(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.LabourTypeID](r, "labour")
	if err != nil {
		return err
	}
	t, err := p.garage.LabourType(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	f := labourForm(t)
	f.Values.Set("version", ui.Itoa(int64(t.Version)))
	return p.showLabourType(w, r, f, http.StatusOK)
}

func (p pages) showLabourType(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	return p.kit.Render(w, r, status, labourTypePage(p.kit.Page(r, "Labour type", home), f))
}

func labourForm(t garage.LabourType) *ui.Form {
	return formOf("name", t.Name, "rate", money.FormatPlain(t.Rate), "active", yes(t.Active))
}

func readLabour(f *ui.Form) garage.LabourTypeInput {
	f.Required("name", "rate")
	return garage.LabourTypeInput{Version: int(f.Version()), Name: f.Str("name", 120), Rate: f.Money("rate"), Active: f.Bool("active")}
}

func (p pages) addLabour(w http.ResponseWriter, r *http.Request) error {
	var in garage.LabourTypeInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readLabour(f) },
		write: func(who actor.Actor) (string, string, error) {
			t, err := p.garage.SaveLabourType(r.Context(), who, in)
			return labourPath, "Labour added: " + t.Name, err
		},
		again: func(f *ui.Form, status int) error { return p.showLabour(w, r, f, status) },
	})
}

func (p pages) saveLabour(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.LabourTypeID](r, "labour")
	if err != nil {
		return err
	}
	var in garage.LabourTypeInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readLabour(f); in.ID = id },
		write: func(who actor.Actor) (string, string, error) {
			t, err := p.garage.SaveLabourType(r.Context(), who, in)
			return labourPath, "Labour saved: " + t.Name, err
		},
		again: func(f *ui.Form, status int) error { return p.showLabourType(w, r, f, status) },
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[garage.LabourType](err)
			path, theirs := labourPath+"/"+ui.Itoa(id), labourForm(now)
			return ui.Stale{Thing: "labour type", Action: path, Back: path, Version: int64(now.Version), Rows: []ui.StaleRow{
				{Name: "name", Label: "Name", Theirs: theirs.Get("name"), Yours: f.Get("name")},
				{Name: "rate", Label: "An hour, net", Theirs: theirs.Get("rate"), Yours: f.Get("rate")},
				{Name: "active", Label: "In use", Theirs: yesNo(now.Active), Yours: yesNo(f.Bool("active")), Options: yesNoOptions()},
			}}, ok
		},
	})
}
