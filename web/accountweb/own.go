package accountweb

import (
	"net/http"
	"strings"
	"time"

	"rampside/internal/account"
	"rampside/web/ui"
)

type sessionRow struct {
	id, where, since, seen, until string
	current                       bool
}

const whenForm = "2 Jan 2006, 15:04"

func sessionRows(list []account.Session, zone *time.Location) []sessionRow {
	rows := make([]sessionRow, len(list))
	for i, s := range list {
		where := "tablet " + s.Tablet
		if s.Tablet == "" {
			where = browser(s.Agent)
		}
		rows[i] = sessionRow{
			id: s.ID, where: where, since: s.Created.In(zone).Format(whenForm), seen: s.LastSeen.In(zone).Format(whenForm),
			until: s.ExpiresAt.In(zone).Format(whenForm), current: s.Current,
		}
	}
	return rows
}

// browser names what a User-Agent header says, as far as a person needs it to
// tell their own machines apart. Most browsers name older ones as well, so the
// order counts.
func browser(agent string) string {
	pick := func(otherwise string, words ...string) string {
		for _, w := range words {
			token, name, _ := strings.Cut(w, "=")
			if strings.Contains(agent, token) {
				return name
			}
		}
		return otherwise
	}
	if strings.TrimSpace(agent) == "" {
		return "a browser that does not say which"
	}
	return pick("a browser", "Edg=Edge", "OPR/=Opera", "Firefox=Firefox", "FxiOS=Firefox", "Chrom=Chrome", "CriOS=Chrome", "Safari=Safari") +
		pick("", "Android= on Android", "iPhone= on an iPhone", "iPad= on an iPad", "Windows= on Windows", "Macintosh= on a Mac", "CrOS= on ChromeOS", "Linux= on Linux")
}

// ownView is somebody's own page.
type ownView struct {
	page     ui.PageData
	self     account.Self
	atTablet bool
	sessions []sessionRow
	others   bool
	password *ui.Form
	pin      *ui.Form
}

func (p pages) own(w http.ResponseWriter, r *http.Request) error {
	return p.showOwn(w, r, http.StatusOK, nil, nil)
}

func (p pages) showOwn(w http.ResponseWriter, r *http.Request, status int, password, pin *ui.Form) error {
	who := ui.Who(r.Context())
	self, err := p.accounts.Self(r.Context(), who)
	if err != nil {
		return err
	}
	list, err := p.accounts.Sessions(r.Context(), who, who.StaffID, p.kit.Presented(r).Token)
	if err != nil {
		return err
	}
	house, err := p.accounts.House(r.Context())
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, ownPage(ownView{
		page: p.kit.Page(r, "Your sign-ins", ""), self: self, atTablet: who.DeviceID != 0,
		sessions: sessionRows(list, house.Zone), others: len(list) > 1, password: password, pin: pin,
	}))
}

// endOwn ends one of one's own sessions, or all the others.
func (p pages) endOwn(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	if id := f.Get("session"); id != "" {
		_, err = p.accounts.EndSession(r.Context(), who, who.StaffID, id)
	} else {
		_, err = p.accounts.EndSessions(r.Context(), who, who.StaffID, p.kit.Presented(r).Token)
	}
	if err != nil {
		return err
	}
	p.kit.Flash(w, "Signed out there")
	return ui.SeeOther(w, r, OwnPath)
}

func (p pages) changePassword(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	_, err = p.accounts.ChangePassword(r.Context(), who, typed(f, "old_password"), typed(f, "password"), p.from(r))
	if err == nil {
		p.kit.Flash(w, "Your new password holds")
		return ui.SeeOther(w, r, OwnPath)
	}
	status := http.StatusUnprocessableEntity
	if s, ok := refused(f, err); ok {
		status = s
	} else if !f.Take(err) {
		return err
	}
	return p.showOwn(w, r, status, f, nil)
}

func (p pages) changePIN(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	_, err = p.accounts.ChangePIN(r.Context(), who, typed(f, "old_pin"), typed(f, "pin"), p.from(r))
	if err == nil {
		p.kit.Flash(w, "Your new PIN holds; sign in with it")
		return ui.SeeOther(w, r, SignInPath)
	}
	status := http.StatusUnprocessableEntity
	if s, ok := refused(f, err); ok {
		status = s
	} else if !f.Take(err) {
		return err
	}
	return p.showOwn(w, r, status, nil, f)
}
