package accountweb

import (
	"net/http"
	"strconv"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/web/ui"
)

type tokenRow struct {
	id                                  account.TokenID
	name, whose, made, used, until, tag string
}

type tokensView struct {
	page      ui.PageData
	rows      []tokenRow
	whose     []ui.Option
	form      *ui.Form
	mayChange bool
	// made is the token that was just made; its secret is empty when the
	// request came a second time.
	made *account.MadeToken
}

// lives are how long a token may work.
var lives = []ui.Option{
	{Value: "30", Label: "30 days"}, {Value: "90", Label: "90 days"}, {Value: "365", Label: "a year"}, {Value: "0", Label: "until it is revoked"},
}

func (p pages) tokens(w http.ResponseWriter, r *http.Request) error {
	return p.showTokens(w, r, http.StatusOK, nil, nil)
}

func (p pages) showTokens(w http.ResponseWriter, r *http.Request, status int, f *ui.Form, made *account.MadeToken) error {
	who := ui.Who(r.Context())
	list, err := p.accounts.Tokens(r.Context(), who)
	if err != nil {
		return err
	}
	staff, err := p.accounts.Users(r.Context(), who)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	v := tokensView{page: p.kit.Page(r, "Tokens", TokensPath), form: f, made: made, mayChange: elsewhere(r)}
	v.whose = append(v.whose, ui.Option{Label: "Choose"})
	for _, s := range staff {
		if s.Active {
			v.whose = append(v.whose, ui.Option{Value: ui.Itoa(s.ID), Label: s.Name + ", " + roleWord(s.Role)})
		}
	}
	for _, t := range list {
		row := tokenRow{
			id: t.ID, name: t.Name, whose: t.Staff + ", " + roleWord(t.Role), made: t.Created.In(house.Zone).Format(whenForm),
			used: "never", until: "it is revoked",
		}
		if t.LastUsed != nil {
			row.used = t.LastUsed.In(house.Zone).Format(whenForm)
		}
		if t.ExpiresAt != nil {
			row.until = t.ExpiresAt.In(house.Zone).Format(whenForm)
		}
		if t.Expired {
			row.tag = "expired"
		}
		v.rows = append(v.rows, row)
	}
	return p.kit.Render(w, r, status, tokensPage(v))
}

// makeToken answers with the page itself and not with a way to it: the secret
// is shown this once.
func (p pages) makeToken(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	days, err := strconv.Atoi(f.OneOf("days", "30", "90", "365", "0"))
	if err != nil {
		f.Fail("days", "please choose one from the list")
	}
	in := account.NewToken{Name: f.Values.Get("name"), StaffID: actor.StaffID(f.ID("staff_id")), Days: days}
	if f.Err() == nil {
		made, err := p.accounts.CreateToken(r.Context(), who, in)
		if err == nil {
			return p.showTokens(w, r, http.StatusOK, nil, &made)
		}
		if !f.Take(err) {
			return err
		}
	}
	return p.showTokens(w, r, http.StatusUnprocessableEntity, f, nil)
}

func (p pages) revokeToken(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[account.TokenID](r, "token")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	if _, err := p.accounts.RevokeToken(r.Context(), who, id); err != nil {
		return err
	}
	p.kit.Flash(w, "That token is worth nothing any more")
	return ui.SeeOther(w, r, TokensPath)
}
