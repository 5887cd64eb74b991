package accountweb

import (
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/web/ui"
)

// personView is one person's page. Each of its forms may be the one that came
// back.
type personView struct {
	page      ui.PageData
	id        actor.StaffID
	active    bool
	hasPIN    bool
	locked    bool
	hasSignIn bool
	self      bool
	mayChange bool
	sessions  []sessionRow
	edit      *ui.Form
	password  *ui.Form
	pin       *ui.Form
	other     *ui.Form
	version   int64
	// What the entry's form shows where nothing was typed.
	name, signIn, role, cost string
	hasPassword              bool
}

func (v personView) path(more string) string { return personPath(v.id) + more }

// forms are those of the page; the one that came back is set.
type forms struct{ edit, password, pin, other *ui.Form }

func (p pages) person(w http.ResponseWriter, r *http.Request) error {
	return p.showPerson(w, r, http.StatusOK, forms{})
}

func (p pages) showPerson(w http.ResponseWriter, r *http.Request, status int, back forms) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	who := ui.Who(r.Context())
	s, err := p.accounts.User(r.Context(), who, id)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	sessions, err := p.accounts.Sessions(r.Context(), who, id, "")
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, personPage(personView{
		page: p.kit.Page(r, s.Name, StaffPath), id: id, active: s.Active, hasPIN: s.HasPIN, locked: s.PINLocked,
		hasSignIn: s.SignIn != "", hasPassword: s.HasPassword, self: id == who.StaffID, mayChange: elsewhere(r),
		sessions: sessionRows(sessions, house.Zone), edit: back.edit, password: back.password, pin: back.pin, other: back.other,
		version: versionOf(back.edit, s.Version), name: s.Name, signIn: s.SignIn, role: string(s.Role), cost: money.FormatPlain(s.CostRate),
	}))
}

// versionOf is the version that an edit that came back was made from: whoever
// corrects it is still to be told when the entry was changed meanwhile.
func versionOf(f *ui.Form, now int) int64 {
	if f == nil {
		return int64(now)
	}
	return f.Version()
}

func (p pages) editPerson(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := account.EditStaff{
		ID: id, Version: int(f.Version()), Name: f.Values.Get("name"), Role: role(f), SignIn: f.Values.Get("sign_in"),
		CostRate: cost(f, house.Currency),
	}
	if f.Err() == nil {
		_, err = p.accounts.EditUser(r.Context(), who, in)
		if err == nil {
			p.kit.Flash(w, "Saved")
			return ui.SeeOther(w, r, personPath(id))
		}
		if now, ok := ui.IsStale[account.Staff](err); ok {
			return p.kit.Stale(w, r, staleEntry(now, f))
		}
		if !f.Take(err) {
			return err
		}
	}
	return p.showPerson(w, r, http.StatusUnprocessableEntity, forms{edit: f})
}

func staleEntry(now account.Staff, f *ui.Form) ui.Stale {
	return ui.Stale{
		Thing: "entry", Action: personPath(now.ID), Back: personPath(now.ID), Version: int64(now.Version),
		Rows: []ui.StaleRow{
			{Name: "name", Label: "Name", Theirs: now.Name, Yours: f.Get("name")},
			{Name: "role", Label: "Role", Theirs: string(now.Role), Yours: f.Get("role"), Options: roleWords},
			{Name: "sign_in", Label: "Sign-in", Theirs: now.SignIn, Yours: f.Get("sign_in")},
			{Name: "cost_rate", Label: "Costs an hour", Theirs: money.FormatPlain(now.CostRate), Yours: f.Get("cost_rate")},
		},
	}
}

func (p pages) setPassword(w http.ResponseWriter, r *http.Request) error {
	return p.onPerson(w, r, func(who actor.Actor, id actor.StaffID, f *ui.Form) (string, error) {
		_, err := p.accounts.SetPassword(r.Context(), who, id, typed(f, "password"))
		return "The new password holds; they have to sign in with it", err
	}, func(f *ui.Form) forms { return forms{password: f} })
}

// setPIN gives a PIN, or takes it away by the second button.
func (p pages) setPIN(w http.ResponseWriter, r *http.Request) error {
	return p.onPerson(w, r, func(who actor.Actor, id actor.StaffID, f *ui.Form) (string, error) {
		if f.Get("do") == "remove" {
			_, err := p.accounts.SetPIN(r.Context(), who, id, "")
			return "The PIN is taken away", err
		}
		if typed(f, "pin") == "" {
			f.Fail("pin", "please give the PIN")
			return "", f.Err()
		}
		_, err := p.accounts.SetPIN(r.Context(), who, id, typed(f, "pin"))
		return "The new PIN holds", err
	}, func(f *ui.Form) forms { return forms{pin: f} })
}

func (p pages) setActive(w http.ResponseWriter, r *http.Request) error {
	return p.onPerson(w, r, func(who actor.Actor, id actor.StaffID, f *ui.Form) (string, error) {
		active := f.OneOf("active", "yes", "no")
		f.Required("active")
		if err := f.Err(); err != nil {
			return "", err
		}
		_, err := p.accounts.SetActive(r.Context(), who, id, active == "yes")
		if active == "yes" {
			return "They may sign in again", err
		}
		return "They cannot sign in any more", err
	}, func(f *ui.Form) forms { return forms{other: f} })
}

func (p pages) endTheirSessions(w http.ResponseWriter, r *http.Request) error {
	return p.onPerson(w, r, func(who actor.Actor, id actor.StaffID, _ *ui.Form) (string, error) {
		_, err := p.accounts.EndSessions(r.Context(), who, id, p.kit.Presented(r).Token)
		return "Signed out everywhere", err
	}, func(f *ui.Form) forms { return forms{other: f} })
}

// onPerson is a write about one person that goes back to their page, or shows
// it again with the form that was refused.
func (p pages) onPerson(w http.ResponseWriter, r *http.Request, do func(actor.Actor, actor.StaffID, *ui.Form) (string, error), back func(*ui.Form) forms) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	said, err := do(who, id, f)
	if err == nil {
		p.kit.Flash(w, said)
		return ui.SeeOther(w, r, personPath(id))
	}
	if !f.Take(err) {
		return err
	}
	return p.showPerson(w, r, http.StatusUnprocessableEntity, back(f))
}
