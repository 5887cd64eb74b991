// Package accountweb is the pages of signing in and out, of the garage's
// staff, its tablets and the tokens of programs.
package accountweb

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/web/ui"
)

// Where the pages are.
const (
	SignInPath  = "/sign-in"
	SignOutPath = "/sign-out"
	WelcomePath = "/welcome"
	StaffPath   = "/staff"
	OwnPath     = "/my-sessions"
	TabletsPath = "/tablets"
	TokensPath  = "/tokens"
)

type pages struct {
	kit      *ui.Kit
	accounts *account.Service
}

// Mount registers the pages.
func Mount(r chi.Router, kit *ui.Kit, accounts *account.Service) {
	p := pages{kit, accounts}
	const unsigned = "signing in is for those who are not signed in"
	kit.Public(r, http.MethodGet, SignInPath, unsigned, p.signInPage)
	kit.Public(r, http.MethodPost, SignInPath, unsigned, p.signIn)
	kit.Public(r, http.MethodGet, SignInPath+"/{staff}", unsigned+"; it answers on an enrolled tablet only", p.pinPage)
	kit.Public(r, http.MethodPost, SignInPath+"/{staff}", unsigned+"; it answers on an enrolled tablet only", p.pin)
	kit.Public(r, http.MethodPost, SignOutPath, "ending a session that has ended already is no offence", p.signOut)
	kit.Public(r, http.MethodGet, WelcomePath, "it is open only while there is nobody on the staff", p.welcomePage)
	kit.Public(r, http.MethodPost, WelcomePath, "it is open only while there is nobody on the staff", p.welcome)

	kit.Get(r, StaffPath, actor.ManageStaff, p.staff)
	kit.Get(r, StaffPath+"/new", actor.ManageStaff, p.newPerson)
	kit.Post(r, StaffPath, actor.ManageStaff, p.addPerson)
	kit.Get(r, StaffPath+"/{staff}", actor.ManageStaff, p.person)
	kit.Post(r, StaffPath+"/{staff}", actor.ManageStaff, p.editPerson)
	kit.Post(r, StaffPath+"/{staff}/password", actor.ManageStaff, p.setPassword)
	kit.Post(r, StaffPath+"/{staff}/pin", actor.ManageStaff, p.setPIN)
	kit.Post(r, StaffPath+"/{staff}/active", actor.ManageStaff, p.setActive)
	kit.Post(r, StaffPath+"/{staff}/sessions/end", actor.ManageStaff, p.endTheirSessions)

	kit.Get(r, OwnPath, actor.OwnSignIn, p.own)
	kit.Post(r, OwnPath+"/end", actor.OwnSignIn, p.endOwn)
	kit.Post(r, OwnPath+"/password", actor.OwnSignIn, p.changePassword)
	kit.Post(r, OwnPath+"/pin", actor.OwnSignIn, p.changePIN)

	kit.Get(r, TabletsPath, actor.KeepTablets, p.tablets)
	kit.Post(r, TabletsPath, actor.KeepTablets, p.enrol)
	kit.Post(r, TabletsPath+"/{tablet}/revoke", actor.KeepTablets, p.revokeTablet)
	kit.Post(r, TabletsPath+"/unlock/{staff}", actor.KeepTablets, p.unlock)

	kit.Get(r, TokensPath, actor.ManageStaff, p.tokens)
	kit.Post(r, TokensPath, actor.ManageStaff, p.makeToken)
	kit.Post(r, TokensPath+"/{token}/revoke", actor.ManageStaff, p.revokeToken)
}

// Sessions lets the kit know people by what their browser presents.
type Sessions struct{ Accounts *account.Service }

// Actor implements ui.Sessions.
func (s Sessions) Actor(ctx context.Context, p ui.Presented) (actor.Actor, error) {
	return s.Accounts.Actor(ctx, p.Token, p.Device)
}

// from gathers what a browser shows when somebody signs in at it.
func (p pages) from(r *http.Request) account.From {
	shown := p.kit.Presented(r)
	return account.From{
		Address: shown.Address, Agent: shown.Agent, Device: shown.Device, Token: shown.Token,
		RequestID: ui.Who(r.Context()).RequestID,
	}
}

// typed gives a secret as it was typed, without the trimming that other
// fields get. It is never shown again.
func typed(f *ui.Form, name string) string { return f.Values.Get(name) }

// secret is the input for one: it comes back empty, whatever was typed.
func secret(f *ui.Form, name, label, complete string) ui.Input {
	in := f.Field(name, label).Kind("password").Complete(complete)
	in.Value = ""
	return in
}

// pinField is the input for a PIN: a tablet shows its number keys.
func pinField(f *ui.Form, name, label string) ui.Input {
	return secret(f, name, label, "off").Digits().Max(8)
}
