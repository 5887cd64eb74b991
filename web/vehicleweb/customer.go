package vehicleweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/web/ui"
)

// customerView is a customer's page.
type customerView struct {
	Path    string
	Name    string
	Phone   string
	Call    string // the telephone number as a link; empty when it is not one
	Email   string
	Address string
	Note    string
	Version int64
	May     bool
	Edit    bool
	Form    *ui.Form
	Another string // where another car of theirs is booked in
	Account string // their account; empty for whoever may not see it
	Cars    []keptRow
	Visits  []visitRow
}

type keptRow struct{ Link, Called, Name, From, Until, BookIn string }

func (p pages) customer(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	return p.showCustomer(w, r, http.StatusOK, id, q.Get("do") == doEdit, nil)
}

func (p pages) showCustomer(w http.ResponseWriter, r *http.Request, status int, id customer.ID, edit bool, f *ui.Form) error {
	ctx, who := r.Context(), ui.Who(r.Context())
	c, err := p.people.Get(ctx, who, id)
	if err != nil {
		return err
	}
	dealings, err := p.cars.Dealings(ctx, who, id)
	if err != nil {
		return err
	}
	v := customerView{
		Path: personPath(id), Name: c.Name, Phone: c.Phone, Email: c.Email, Address: c.Address, Note: c.Note, Version: int64(c.Version),
		May: who.May(actor.BookIn), Form: f, Another: "/book-in?new=yes&customer=" + ui.Itoa(id), Call: call(c.Phone),
	}
	if who.May(actor.SeeAccounts) {
		v.Account = "/accounts/customers/" + ui.Itoa(id)
	}
	v.Edit = edit && v.May
	if v.Edit && f == nil {
		v.Form = ui.NewForm(map[string][]string{
			"name": {c.Name}, "phone": {c.Phone}, "email": {c.Email}, "address": {c.Address}, "note": {c.Note},
		})
	}
	for _, k := range dealings.Cars {
		row := keptRow{Link: carPath(k.ID), Called: k.Called(), Name: k.Name(), From: k.From.Long(), Until: "now"}
		if k.Until.IsZero() && v.May {
			row.BookIn = "/book-in?car=" + ui.Itoa(k.ID)
		} else if !k.Until.IsZero() {
			row.Until = k.Until.AddDays(-1).Long()
		}
		v.Cars = append(v.Cars, row)
	}
	for _, x := range dealings.Visits {
		v.Visits = append(v.Visits, newVisit(x))
	}
	page := p.kit.Page(r, c.Name, root).Follow(r, "garage")
	return p.kit.Render(w, r, status, customerPage(page, v))
}

// call gives a number as a telephone takes it, where there is just one.
func call(phone string) string {
	d := customer.Digits(phone)
	for _, c := range d {
		if c == ' ' {
			return ""
		}
	}
	if d == "" {
		return ""
	}
	return "tel:+" + d
}

func (p pages) editCustomer(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := customer.EditInput{ID: id, Version: int(f.Version()), Input: customer.Input{
		Name: f.Str("name", customer.NameMax), Phone: f.Str("phone", customer.PhoneMax), Email: f.Str("email", customer.EmailMax),
		Address: f.Text("address", customer.AddressMax), Note: f.Text("note", customer.NoteMax),
	}}
	if err = f.Err(); err == nil {
		_, err = p.people.Edit(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[customer.Customer](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "customer", Action: personPath(id), Back: personPath(id), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "name", Label: "Name", Theirs: now.Name, Yours: f.Get("name")},
				{Name: "phone", Label: "Telephone", Theirs: now.Phone, Yours: f.Get("phone")},
				{Name: "email", Label: "E-mail", Theirs: now.Email, Yours: f.Get("email")},
				{Name: "address", Label: "Address", Theirs: now.Address, Yours: f.Get("address"), Long: true},
				{Name: "note", Label: "Note", Theirs: now.Note, Yours: f.Get("note"), Long: true},
			},
		})
	}
	switch {
	case err == nil:
		p.kit.Flash(w, "Customer changed")
		return ui.SeeOther(w, r, personPath(id))
	case f.Take(err):
		return p.showCustomer(w, r, apperr.KindOf(err).Status(), id, true, f)
	}
	return err
}
