package garageweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/web/ui"
)

const suppliersPath = home + "/suppliers"

// supplierRow is one supplier in the list.
type supplierRow struct {
	Path, Name, Phone, Email string
	Active                   bool
}

func (p pages) suppliers(w http.ResponseWriter, r *http.Request) error {
	return p.showSuppliers(w, r, nil, http.StatusOK)
}

func (p pages) showSuppliers(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	all, err := p.garage.Suppliers(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	rows := make([]supplierRow, len(all))
	for i, s := range all {
		rows[i] = supplierRow{suppliersPath + "/" + ui.Itoa(s.ID), s.Name, s.Phone, s.Email, s.Active}
	}
	page := p.kit.Page(r, "Suppliers", home).Follow(r, live.All)
	return p.kit.Render(w, r, status, suppliersPage(page, f, rows))
}

func (p pages) supplier(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.SupplierID](r, "supplier")
	if err != nil {
		return err
	}
	s, err := p.garage.Supplier(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	f := supplierForm(s)
	f.Values.Set("version", ui.Itoa(int64(s.Version)))
	return p.showSupplier(w, r, f, http.StatusOK)
}

func (p pages) showSupplier(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	return p.kit.Render(w, r, status, supplierPage(p.kit.Page(r, "Supplier", home), f))
}

func supplierForm(s garage.Supplier) *ui.Form {
	return formOf("name", s.Name, "phone", s.Phone, "email", s.Email, "active", yes(s.Active))
}

func readSupplier(f *ui.Form) garage.SupplierInput {
	f.Required("name")
	return garage.SupplierInput{
		Version: int(f.Version()), Name: f.Str("name", 120), Phone: f.Str("phone", 80), Email: f.Str("email", 254), Active: f.Bool("active"),
	}
}

func (p pages) addSupplier(w http.ResponseWriter, r *http.Request) error {
	var in garage.SupplierInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readSupplier(f) },
		write: func(who actor.Actor) (string, string, error) {
			s, err := p.garage.SaveSupplier(r.Context(), who, in)
			return suppliersPath, "Supplier added: " + s.Name, err
		},
		again: func(f *ui.Form, status int) error { return p.showSuppliers(w, r, f, status) },
	})
}

func (p pages) saveSupplier(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.SupplierID](r, "supplier")
	if err != nil {
		return err
	}
	var in garage.SupplierInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readSupplier(f); in.ID = id },
		write: func(who actor.Actor) (string, string, error) {
			s, err := p.garage.SaveSupplier(r.Context(), who, in)
			return suppliersPath, "Supplier saved: " + s.Name, err
		},
		again: func(f *ui.Form, status int) error { return p.showSupplier(w, r, f, status) },
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[garage.Supplier](err)
			path := suppliersPath + "/" + ui.Itoa(id)
			return ui.Stale{Thing: "supplier", Action: path, Back: path, Version: int64(now.Version), Rows: []ui.StaleRow{
				{Name: "name", Label: "Name", Theirs: now.Name, Yours: f.Get("name")},
				{Name: "phone", Label: "Telephone", Theirs: now.Phone, Yours: f.Get("phone")},
				{Name: "email", Label: "E-mail", Theirs: now.Email, Yours: f.Get("email")},
				{Name: "active", Label: "In use", Theirs: yesNo(now.Active), Yours: yesNo(f.Bool("active")), Options: yesNoOptions()},
			}}, ok
		},
	})
}
