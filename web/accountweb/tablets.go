package accountweb

import (
	"net/http"
	"strconv"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/web/ui"
)

type tabletRow struct {
	id                   actor.DeviceID
	name, by, seen, busy string
	here                 bool
}

type tabletsView struct {
	page   ui.PageData
	rows   []tabletRow
	locked []account.Person
	// here is this browser's own name as a tablet, empty when it is none.
	here string
	form *ui.Form
}

func (p pages) tablets(w http.ResponseWriter, r *http.Request) error {
	return p.showTablets(w, r, http.StatusOK, nil)
}

func (p pages) showTablets(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	list, err := p.accounts.Tablets(r.Context(), who)
	if err != nil {
		return err
	}
	locked, err := p.accounts.LockedPINs(r.Context(), who)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	v := tabletsView{page: p.kit.Page(r, "Tablets", TabletsPath).Follow(r, "garage"), locked: locked, form: f}
	if who.DeviceID != 0 {
		v.here = who.Device
	}
	for _, t := range list {
		row := tabletRow{
			id: t.ID, name: t.Name, by: t.EnrolledBy + ", " + t.EnrolledAt.In(house.Zone).Format(whenForm),
			seen: "not yet", busy: strconv.Itoa(t.SignedIn), here: t.ID == who.DeviceID,
		}
		if t.LastSeen != nil {
			row.seen = t.LastSeen.In(house.Zone).Format(whenForm)
		}
		v.rows = append(v.rows, row)
	}
	return p.kit.Render(w, r, status, tabletsPage(v))
}

// enrol makes the browser that asks a tablet. Whoever did it is signed out of
// it: from here on it belongs to the workshop.
func (p pages) enrol(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	e, err := p.accounts.EnrolTablet(r.Context(), who, f.Values.Get("name"))
	if f.Take(err) {
		return p.showTablets(w, r, http.StatusUnprocessableEntity, f)
	}
	if err != nil {
		return err
	}
	p.kit.SetDevice(w, e.Secret, e.Until)
	if err := p.accounts.SignOut(r.Context(), who, p.kit.Presented(r).Token); err != nil {
		return err
	}
	p.kit.ClearSession(w)
	p.kit.Flash(w, "This tablet is enrolled. Choose your name.")
	return ui.SeeOther(w, r, SignInPath)
}

func (p pages) revokeTablet(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[actor.DeviceID](r, "tablet")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	if _, err := p.accounts.RevokeTablet(r.Context(), who, id); err != nil {
		return err
	}
	p.kit.Flash(w, "That tablet is an ordinary browser again")
	if id == who.DeviceID {
		p.kit.SetDevice(w, "", time.Time{})
		p.kit.ClearSession(w)
		return ui.SeeOther(w, r, SignInPath)
	}
	return ui.SeeOther(w, r, TabletsPath)
}

// unlock lets somebody try their PIN again.
func (p pages) unlock(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	if _, err := p.accounts.ClearPINLock(r.Context(), who, id); err != nil {
		return err
	}
	p.kit.Flash(w, "They may try their PIN again")
	if f.Values.Has("back") {
		return ui.SeeOther(w, r, f.Get("back"))
	}
	return ui.SeeOther(w, r, TabletsPath)
}
