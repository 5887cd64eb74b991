package accountweb

import (
	"net/http"
	"net/url"
	"strings"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/web/ui"
)

type signInView struct {
	page ui.PageData
	form *ui.Form
	// next is where to go afterwards, on this server.
	next string
	// people are the names on an enrolled tablet; tablet is its name.
	people []account.Person
	tablet string
	// person is whose PIN is asked for.
	person account.Person
	// now is who is signed in at the tablet already, if anybody.
	now string
}

// next is where somebody wanted to go before they had to sign in. Only paths
// of ours are taken, and never back to this page.
func next(f *ui.Form) string {
	to := ui.LocalPath(f.Get("next"))
	if to == SignInPath || strings.HasPrefix(to, SignInPath+"?") || strings.HasPrefix(to, SignInPath+"/") {
		return "/"
	}
	return to
}

func (v signInView) withNext(path string) string {
	if v.next == "/" {
		return path
	}
	return path + "?next=" + url.QueryEscape(v.next)
}

func (v signInView) pinPath(id actor.StaffID) string {
	return v.withNext(SignInPath + "/" + ui.Itoa(id))
}

func (v signInView) passwordPath() string {
	path := v.withNext(SignInPath)
	if strings.Contains(path, "?") {
		return path + "&with=password"
	}
	return path + "?with=password"
}

func (p pages) frame(r *http.Request, title string, floor bool) ui.PageData {
	page := p.kit.Page(r, title, "")
	page.Bare, page.Floor = true, floor
	return page
}

// signInPage asks for sign-in and password; on an enrolled tablet it shows the
// names of those with a PIN first.
func (p pages) signInPage(w http.ResponseWriter, r *http.Request) error {
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	none, err := p.accounts.NeedsOwner(r.Context())
	if err != nil {
		return err
	}
	if none {
		return ui.SeeOther(w, r, WelcomePath)
	}
	who := ui.Who(r.Context())
	if who.DeviceID != 0 && q.Get("with") != "password" {
		v := signInView{page: p.frame(r, "Who are you?", true), next: next(q), tablet: who.Device, now: who.Name}
		if v.people, err = p.accounts.AtTablet(r.Context(), who); err != nil {
			return err
		}
		return p.kit.Render(w, r, http.StatusOK, names(v))
	}
	if who.Known() && who.DeviceID == 0 {
		return ui.SeeOther(w, r, next(q))
	}
	return p.passwordForm(w, r, http.StatusOK, q)
}

func (p pages) passwordForm(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	return p.kit.Render(w, r, status, password(signInView{
		page: p.frame(r, "Sign in", who.DeviceID != 0), form: f, next: next(f), tablet: who.Device,
	}))
}

func (p pages) signIn(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	in, err := p.accounts.SignIn(r.Context(), typed(f, "sign_in"), typed(f, "password"), p.from(r))
	if status, ok := refused(f, err); ok {
		return p.passwordForm(w, r, status, f)
	}
	if err != nil {
		return err
	}
	return p.welcomeIn(w, r, in, next(f))
}

// refused takes a wrong secret, or one try too many, into the form.
func refused(f *ui.Form, err error) (status int, ok bool) {
	switch apperr.KindOf(err) {
	case apperr.Unsigned:
		f.Summary, status = err.Error(), http.StatusUnprocessableEntity
	case apperr.TooMany:
		f.Summary, status = err.Error(), http.StatusTooManyRequests
	default:
		return 0, false
	}
	return status, true
}

// welcomeIn hands over the session and goes on.
func (p pages) welcomeIn(w http.ResponseWriter, r *http.Request, in account.SignedIn, to string) error {
	p.kit.SetSession(w, in.Token, in.Until)
	if !in.TabletUntil.IsZero() {
		p.kit.SetDevice(w, p.kit.Presented(r).Device, in.TabletUntil)
	}
	return ui.SeeOther(w, r, to)
}

func (p pages) pinPage(w http.ResponseWriter, r *http.Request) error {
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	return p.pinForm(w, r, http.StatusOK, q)
}

func (p pages) pinForm(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	who := ui.Who(r.Context())
	person, err := p.accounts.PersonAtTablet(r.Context(), who, id)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, pinPad(signInView{
		page: p.frame(r, person.Name, true), form: f, next: next(f), tablet: who.Device, person: person,
	}))
}

func (p pages) pin(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[actor.StaffID](r, "staff")
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	in, err := p.accounts.SignInPIN(r.Context(), id, typed(f, "pin"), p.from(r))
	if status, ok := refused(f, err); ok {
		return p.pinForm(w, r, status, f)
	}
	if err != nil {
		return err
	}
	return p.welcomeIn(w, r, in, next(f))
}

func (p pages) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := p.accounts.SignOut(r.Context(), ui.Who(r.Context()), p.kit.Presented(r).Token); err != nil {
		return err
	}
	p.kit.ClearSession(w)
	return ui.SeeOther(w, r, SignInPath)
}
