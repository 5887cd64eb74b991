package accountweb

import (
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/web/ui"
)

// roleWords are the roles as the pages call them.
var roleWords = []ui.Option{
	{Value: string(actor.Technician), Label: "Technician", Hint: "sees the work, not what it costs"},
	{Value: string(actor.Desk), Label: "Front desk", Hint: "books in, quotes, promises, hands over"},
	{Value: string(actor.Owner), Label: "Owner", Hint: "may do everything"},
}

func roleWord(r actor.Role) string {
	for _, o := range roleWords {
		if o.Value == string(r) {
			return o.Label
		}
	}
	return string(r)
}

// staffRow is one person in the list.
type staffRow struct {
	name, path, role, signIn, pin, cost string
}

type staffView struct {
	page      ui.PageData
	rows      []staffRow
	left      []staffRow
	mayChange bool
}

// elsewhere tells whether staff may be managed where the request comes from:
// not on a workshop tablet.
func elsewhere(r *http.Request) bool { return ui.Who(r.Context()).DeviceID == 0 }

func (p pages) staff(w http.ResponseWriter, r *http.Request) error {
	list, err := p.accounts.Users(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	v := staffView{page: p.kit.Page(r, "Staff", StaffPath).Follow(r, "garage"), mayChange: elsewhere(r)}
	for _, s := range list {
		row := staffRow{
			name: s.Name, path: personPath(s.ID), role: roleWord(s.Role), signIn: s.SignIn,
			pin: pinWord(s), cost: house.Currency.Format(s.CostRate),
		}
		if s.Active {
			v.rows = append(v.rows, row)
		} else {
			v.left = append(v.left, row)
		}
	}
	return p.kit.Render(w, r, http.StatusOK, staffPage(v))
}

func pinWord(s account.Staff) string {
	switch {
	case s.PINLocked:
		return "locked"
	case s.HasPIN:
		return "set"
	}
	return "none"
}

func personPath(id actor.StaffID) string { return StaffPath + "/" + ui.Itoa(id) }

type newPersonView struct {
	page ui.PageData
	form *ui.Form
}

func (p pages) newPerson(w http.ResponseWriter, r *http.Request) error {
	return p.newForm(w, r, http.StatusOK, nil)
}

func (p pages) newForm(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	return p.kit.Render(w, r, status, newPersonPage(newPersonView{p.kit.Page(r, "Add somebody", StaffPath), f}))
}

func (p pages) addPerson(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := account.NewStaff{
		Name: f.Values.Get("name"), Role: role(f), SignIn: f.Values.Get("sign_in"), CostRate: cost(f, house.Currency),
		Password: typed(f, "password"), PIN: typed(f, "pin"),
	}
	if f.Err() == nil {
		_, err = p.accounts.CreateUser(r.Context(), who, in)
		if err == nil {
			p.kit.Flash(w, "Added to the staff")
			return ui.SeeOther(w, r, StaffPath)
		}
		if !f.Take(err) {
			return err
		}
	}
	return p.newForm(w, r, http.StatusUnprocessableEntity, f)
}

func role(f *ui.Form) actor.Role {
	return ui.OneOf(f, "role", actor.Owner, actor.Desk, actor.Technician)
}

// cost reads what an hour costs, in the garage's currency; nothing is 0.
func cost(f *ui.Form, c money.Currency) money.Minor { return ui.Read(f, "cost_rate", c.Parse) }

// shown is what a field shows where nothing was typed: nothing, once the form
// was sent.
func shown(f *ui.Form, saved string) string {
	if f == nil {
		return saved
	}
	return ""
}
