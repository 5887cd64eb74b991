package accountweb

import (
	"net/http"

	"rampside/internal/account"
	"rampside/internal/apperr"
	"rampside/web/ui"
)

type welcomeView struct {
	page ui.PageData
	form *ui.Form
}

// welcomePage is what the very first browser sees: the garage has no name and
// nobody in it yet.
func (p pages) welcomePage(w http.ResponseWriter, r *http.Request) error {
	none, err := p.accounts.NeedsOwner(r.Context())
	if err != nil {
		return err
	}
	if !none {
		return ui.SeeOther(w, r, SignInPath)
	}
	return p.welcomeForm(w, r, http.StatusOK, nil)
}

func (p pages) welcomeForm(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	return p.kit.Render(w, r, status, welcome(welcomeView{p.frame(r, "Welcome", false), f}))
}

func (p pages) welcome(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	in := account.NewOwner{Garage: f.Values.Get("garage"), Name: f.Values.Get("name"), SignIn: f.Values.Get("sign_in"), Password: typed(f, "password")}
	_, err := p.accounts.FirstOwner(r.Context(), in)
	if f.Take(err) {
		return p.welcomeForm(w, r, http.StatusUnprocessableEntity, f)
	}
	if err != nil && !apperr.Is(err, apperr.Conflict) {
		return err
	}
	// There is an owner now: this one, or one who was quicker. The form sent
	// twice is the first; anybody else does not know the password.
	s, serr := p.accounts.SignIn(r.Context(), in.SignIn, in.Password, p.from(r))
	switch {
	case serr == nil:
		return p.welcomeIn(w, r, s, "/")
	case err != nil:
		return err
	}
	return serr
}
