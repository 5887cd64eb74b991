package garageweb

import (
	"net/http"
	"net/url"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/web/ui"
)

const operationsPath = home + "/operations"

// operationRow is one operation in the list.
type operationRow struct {
	Path, Name, Labour, Hours, Price, VAT, Notes string
	Active                                       bool
}

func (p pages) operations(w http.ResponseWriter, r *http.Request) error {
	q := ui.ReadQuery(r)
	text := q.Str("q", 120)
	if err := q.Err(); err != nil {
		return err
	}
	all, err := p.garage.Operations(r.Context(), ui.Who(r.Context()), text)
	if err != nil {
		return err
	}
	coin, err := p.coin(r)
	if err != nil {
		return err
	}
	rows := make([]operationRow, len(all))
	for i, o := range all {
		rows[i] = rowOf(o, coin)
	}
	page := p.kit.Page(r, "Operations", home).Follow(r, live.All)
	return p.kit.Render(w, r, http.StatusOK, operationsPage(page, q, rows))
}

// coin is the garage's currency.
func (p pages) coin(r *http.Request) (money.Currency, error) {
	o, err := p.garage.Overview(r.Context(), ui.Who(r.Context()))
	return o.Money(), err
}

func rowOf(o garage.Operation, coin money.Currency) operationRow {
	row := operationRow{
		Path: operationsPath + "/" + ui.Itoa(o.ID), Name: o.Name, Labour: o.LabourName, VAT: o.VATCode.Label(), Active: o.Active,
		Hours: hours.FormatBare(o.Low) + " · " + hours.FormatBare(o.Likely) + " · " + hours.FormatBare(o.High),
	}
	if o.FixedPrice != nil {
		row.Price = coin.Format(*o.FixedPrice) + " fixed"
	} else {
		row.Price = coin.Format(money.LabourNet(o.Likely, o.Rate))
	}
	var notes []string
	for _, c := range caution.Of(o.Cautions) {
		notes = append(notes, c.Title)
	}
	for _, n := range []struct {
		on   bool
		word string
	}{{o.Safety, "second check"}, {o.WheelsOff, "wheels off"}, {o.Inspects, "inspects"}} {
		if n.on {
			notes = append(notes, n.word)
		}
	}
	row.Notes = strings.Join(notes, ", ")
	return row
}

// operationView is the page of one operation, new or not.
type operationView struct {
	Form    *ui.Form
	Action  string
	New     bool
	Labour  []ui.Option
	Caution []tick
}

func (p pages) newOperation(w http.ResponseWriter, r *http.Request) error {
	f := formOf("vat_code", string(money.Standard))
	return p.showOperation(w, r, operationView{Form: f, Action: operationsPath, New: true}, http.StatusOK)
}

func (p pages) operation(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.OperationID](r, "operation")
	if err != nil {
		return err
	}
	o, err := p.garage.Operation(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	f := operationForm(o)
	f.Values.Set("version", ui.Itoa(int64(o.Version)))
	return p.showOperation(w, r, operationView{Form: f, Action: operationsPath + "/" + ui.Itoa(id)}, http.StatusOK)
}

func (p pages) showOperation(w http.ResponseWriter, r *http.Request, v operationView, status int) error {
	types, err := p.garage.LabourTypes(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	coin, err := p.coin(r)
	if err != nil {
		return err
	}
	v.Labour = []ui.Option{{Label: "not chosen"}}
	for _, t := range types {
		if value := ui.Itoa(t.ID); t.Active || value == v.Form.Get("labour_type") {
			v.Labour = append(v.Labour, ui.Option{Value: value, Label: t.Name + ", " + coin.Format(t.Rate) + " an hour"})
		}
	}
	v.Caution = ticks(v.Form, "cautions", cautionOptions())
	title := "New operation"
	if !v.New {
		title = "Operation"
	}
	return p.kit.Render(w, r, status, operationPage(p.kit.Page(r, title, home), v))
}

func cautionOptions() []ui.Option {
	var out []ui.Option
	for _, c := range caution.All() {
		out = append(out, ui.Option{Value: string(c.Key), Label: c.Title})
	}
	return out
}

func vatOptions() []ui.Option {
	var out []ui.Option
	for _, c := range money.VATCodes() {
		out = append(out, ui.Option{Value: string(c), Label: c.Label()})
	}
	return out
}

func operationForm(o garage.Operation) *ui.Form {
	price := ""
	if o.FixedPrice != nil {
		price = money.FormatPlain(*o.FixedPrice)
	}
	f := formOf("name", o.Name, "labour_type", ui.Itoa(o.LabourTypeID), "low", hours.FormatBare(o.Low), "likely", hours.FormatBare(o.Likely),
		"high", hours.FormatBare(o.High), "fixed_price", price, "vat_code", string(o.VATCode), "safety", yes(o.Safety),
		"wheels_off", yes(o.WheelsOff), "inspects", yes(o.Inspects), "active", yes(o.Active))
	for _, k := range o.Cautions {
		f.Values.Add("cautions", string(k))
	}
	return f
}

func readOperation(f *ui.Form) garage.OperationInput {
	f.Required("name", "labour_type", "low", "likely", "high", "vat_code")
	in := garage.OperationInput{
		Version: int(f.Version()), Name: f.Str("name", 120), LabourTypeID: garage.LabourTypeID(f.ID("labour_type")),
		Low: ui.Read(f, "low", hours.Parse), Likely: ui.Read(f, "likely", hours.Parse), High: ui.Read(f, "high", hours.Parse),
		VATCode: ui.OneOf(f, "vat_code", money.VATCodes()...), Safety: f.Bool("safety"), WheelsOff: f.Bool("wheels_off"),
		Inspects: f.Bool("inspects"), Active: f.Bool("active"),
	}
	if f.Get("fixed_price") != "" {
		price := f.Money("fixed_price")
		in.FixedPrice = &price
	}
	for _, k := range several(f, "cautions", 2*len(caution.All())) {
		in.Cautions = append(in.Cautions, caution.Key(k))
	}
	return in
}

func (p pages) addOperation(w http.ResponseWriter, r *http.Request) error {
	return p.putOperation(w, r, 0, operationsPath)
}

func (p pages) saveOperation(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.OperationID](r, "operation")
	if err != nil {
		return err
	}
	return p.putOperation(w, r, id, operationsPath+"/"+ui.Itoa(id))
}

func (p pages) putOperation(w http.ResponseWriter, r *http.Request, id garage.OperationID, path string) error {
	var in garage.OperationInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readOperation(f); in.ID = id },
		write: func(who actor.Actor) (string, string, error) {
			o, err := p.garage.SaveOperation(r.Context(), who, in)
			return operationsPath + "?" + url.Values{"q": {o.Name}}.Encode(), "Operation saved: " + o.Name, err
		},
		again: func(f *ui.Form, status int) error {
			return p.showOperation(w, r, operationView{Form: f, Action: path, New: id == 0}, status)
		},
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[garage.Operation](err)
			if !ok {
				return ui.Stale{}, false
			}
			labour, err := p.garage.LabourTypes(r.Context(), ui.Who(r.Context()))
			return staleOperation(f, now, path, labour), err == nil
		},
	})
}

func staleOperation(f *ui.Form, now garage.Operation, path string, labour []garage.LabourType) ui.Stale {
	var types []ui.Option
	names := map[string]string{}
	for _, t := range labour {
		names[ui.Itoa(t.ID)] = t.Name
		types = append(types, ui.Option{Value: ui.Itoa(t.ID), Label: t.Name})
	}
	theirs := operationForm(now)
	s := ui.Stale{Thing: "operation", Action: path, Back: path, Version: int64(now.Version)}
	for _, row := range []ui.StaleRow{
		{Name: "name", Label: "Name"},
		{Name: "labour_type", Label: "Labour", Options: types},
		{Name: "low", Label: "Hours when all goes well"},
		{Name: "likely", Label: "Hours as a rule"},
		{Name: "high", Label: "Hours when it goes badly"},
		{Name: "fixed_price", Label: "Fixed price"},
		{Name: "vat_code", Label: "VAT", Options: vatOptions()},
		{Name: "cautions", Label: "Cautions"},
		{Name: "safety", Label: "Needs a second check", Options: yesNoOptions()},
		{Name: "wheels_off", Label: "A wheel comes off", Options: yesNoOptions()},
		{Name: "inspects", Label: "Inspects or diagnoses", Options: yesNoOptions()},
		{Name: "active", Label: "In use", Options: yesNoOptions()},
	} {
		row.Theirs, row.Yours = joined(theirs, row.Name), joined(f, row.Name)
		switch row.Name {
		case "safety", "wheels_off", "inspects", "active":
			row.Theirs, row.Yours = yesNo(theirs.Bool(row.Name)), yesNo(f.Bool(row.Name))
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}
