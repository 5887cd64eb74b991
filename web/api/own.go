package api

import (
	"context"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5/middleware"

	"rampside/internal/account"
	"rampside/internal/actor"
)

// Nothing is what an operation takes that takes nothing.
type Nothing struct{}

// Me is whose token this is.
type Me struct {
	StaffID actor.StaffID `json:"staff_id"`
	Name    string        `json:"name"`
	Role    actor.Role    `json:"role"`
	Token   string        `json:"token" doc:"The token's name, which stands beside everything done with it."`
	Rights  []string      `json:"rights" doc:"What this token may do, in the words that each operation says it needs."`
	SignIn  string        `json:"sign_in,omitempty"`
	HasPIN  bool          `json:"has_pin"`
}

// everyRight is in the order of the document.
var everyRight = []actor.Right{
	actor.ReadCards, actor.ReadPeople, actor.SeeMargins, actor.BookIn, actor.EditCard, actor.RecordConsent, actor.Work,
	actor.WaiveFit, actor.CorrectClockings, actor.ManageGarage, actor.KeepTablets, actor.ManageStaff, actor.OwnSignIn,
}

// PasswordChange is a new password in place of the old one.
type PasswordChange struct {
	Old string `json:"old_password" maxLength:"1000"`
	New string `json:"password" maxLength:"1000" doc:"At least 8 characters."`
}

func (a *API) ownOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/me", id: "get-me", need: actor.OwnSignIn, tag: "You",
		short: "Whose token this is, and what it may do",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Me, error) {
		self, err := a.Accounts.Self(ctx, who)
		if err != nil {
			return Me{}, err
		}
		may := slices.DeleteFunc(slices.Clone(everyRight), func(r actor.Right) bool { return !who.May(r) })
		return Me{
			StaffID: who.StaffID, Name: who.Name, Role: who.Role, Token: who.Device, SignIn: self.SignIn, HasPIN: self.HasPIN,
			Rights: list(may, func(r actor.Right) string { return string(r) }),
		}, nil
	})
	registerEmpty(a, operation{
		method: http.MethodPut, path: "/me/password", id: "change-my-password", need: actor.OwnSignIn, tag: "You",
		short: "Change your own password",
		long: "With the old one. Every browser you are signed in at is signed out; tokens stay. Wrong old passwords count as wrong tries to sign in. " +
			"A PIN is changed on a tablet, not here.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body PasswordChange }) error {
		from := account.From{Address: middleware.GetClientIP(ctx), Agent: "api", RequestID: who.RequestID}
		_, err := a.Accounts.ChangePassword(ctx, who, in.Body.Old, in.Body.New, from)
		return err
	})
}
