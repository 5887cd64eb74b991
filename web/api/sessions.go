package api

import (
	"context"
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
)

// Session is one browser or tablet that somebody is signed in at.
type Session struct {
	ID        string `json:"id" doc:"Tells the sessions of one person apart; it does not open one."`
	Tablet    string `json:"tablet,omitempty" doc:"The tablet's name; absent at the desk."`
	Agent     string `json:"agent,omitempty"`
	Created   Time   `json:"created_at"`
	LastSeen  Time   `json:"last_seen_at"`
	ExpiresAt Time   `json:"expires_at"`
}

// Sessions lists where somebody is signed in, the newest first.
type Sessions struct {
	Sessions []Session `json:"sessions"`
}

func (a *API) sessionOperations() {
	const whose = "Your own; anybody else's needs the right to manage staff. Tokens are no sessions."
	register(a, operation{
		method: http.MethodGet, path: "/staff/{staff}/sessions", id: "list-sessions", need: actor.OwnSignIn, tag: "Staff",
		short: "Where somebody is signed in", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *StaffAt) (Sessions, error) {
		all, err := a.Accounts.Sessions(ctx, who, in.Staff, "")
		return Sessions{list(all, func(s account.Session) Session {
			return Session{s.ID, s.Tablet, s.Agent, at(s.Created), at(s.LastSeen), at(s.ExpiresAt)}
		})}, err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/staff/{staff}/sessions", id: "end-sessions", need: actor.OwnSignIn, tag: "Staff",
		short: "Sign somebody out everywhere", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *StaffAt) (StaffChanged, error) {
		return staffChanged(a.Accounts.EndSessions(ctx, who, in.Staff, ""))
	})
	register(a, operation{
		method: http.MethodDelete, path: "/staff/{staff}/sessions/{session}", id: "end-session", need: actor.OwnSignIn, tag: "Staff",
		short: "Sign somebody out at one browser or tablet", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *struct {
		StaffAt
		Session string `path:"session" maxLength:"100"`
	}) (StaffChanged, error) {
		return staffChanged(a.Accounts.EndSession(ctx, who, in.Staff, in.Session))
	})
}
