package api

import (
	"context"
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
)

// Token lets a program do what one of the staff may do.
type Token struct {
	ID        account.TokenID `json:"id"`
	Name      string          `json:"name"`
	StaffID   actor.StaffID   `json:"staff_id"`
	Staff     string          `json:"staff"`
	Role      actor.Role      `json:"role"`
	Created   Time            `json:"created_at"`
	ExpiresAt Time            `json:"expires_at,omitzero" doc:"Absent for one without an end."`
	LastUsed  Time            `json:"last_used_at,omitzero" doc:"Absent before its first use."`
	Expired   bool            `json:"expired"`
}

// Tokens lists the tokens that are not revoked, the newest first.
type Tokens struct {
	Tokens []Token `json:"tokens"`
}

// NewToken asks for a token in somebody's name.
type NewToken struct {
	Name    string        `json:"name" maxLength:"400" doc:"Which program it is for."`
	StaffID actor.StaffID `json:"staff_id" minimum:"1" doc:"Whose rights it has."`
	Days    int           `json:"days,omitempty" doc:"How long it works; left out, until it is revoked."`
}

// MadeToken is a token that was just made.
type MadeToken struct {
	ID     account.TokenID `json:"token_id"`
	Name   string          `json:"name"`
	Secret string          `json:"secret,omitempty" doc:"Shown this once. Absent when the same request is sent again: it is not kept."`
}

// TokenChanged is the result of a change to a token.
type TokenChanged struct {
	ID account.TokenID `json:"token_id"`
}

func (a *API) tokenOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/tokens", id: "list-tokens", need: actor.ManageStaff, tag: "Tokens",
		short: "The tokens that are not revoked",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Tokens, error) {
		all, err := a.Accounts.Tokens(ctx, who)
		return Tokens{list(all, func(t account.Token) Token {
			return Token{t.ID, t.Name, t.StaffID, t.Staff, t.Role, at(t.Created), atOrNot(t.ExpiresAt), atOrNot(t.LastUsed), t.Expired}
		})}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/tokens", id: "make-token", need: actor.ManageStaff, tag: "Tokens", status: http.StatusCreated,
		short: "Make a token", long: "Its secret is shown this once.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body NewToken }) (MadeToken, error) {
		m, err := a.Accounts.CreateToken(ctx, who, account.NewToken{Name: in.Body.Name, StaffID: in.Body.StaffID, Days: in.Body.Days})
		return MadeToken(m), err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/tokens/{token}", id: "revoke-token", need: actor.ManageStaff, tag: "Tokens",
		short: "End a token at once",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Token account.TokenID `path:"token" minimum:"1"`
	}) (TokenChanged, error) {
		id, err := a.Accounts.RevokeToken(ctx, who, in.Token)
		return TokenChanged{id}, err
	})
}
