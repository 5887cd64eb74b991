package api

import (
	"context"
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/money"
)

// StaffAt is one of the staff in the address.
type StaffAt struct {
	Staff actor.StaffID `path:"staff" minimum:"1"`
}

// Staff is somebody who works at the garage, as the owner sees them.
type Staff struct {
	ID          actor.StaffID `json:"id"`
	Name        string        `json:"name"`
	Role        actor.Role    `json:"role"`
	SignIn      string        `json:"sign_in,omitempty" doc:"What they type at the desk."`
	HasPassword bool          `json:"has_password"`
	HasPIN      bool          `json:"has_pin"`
	CostRate    money.Minor   `json:"cost_rate_minor" doc:"What an hour of theirs costs the garage."`
	Active      bool          `json:"active"`
	PINTries    int           `json:"pin_tries" doc:"Wrong PINs of the last day."`
	PINLocked   bool          `json:"pin_locked" doc:"One of the tablets refuses more."`
	CreatedAt   Time          `json:"created_at"`
	Version     int           `json:"version"`
}

func staffOf(p account.Staff) Staff {
	return Staff{
		p.ID, p.Name, p.Role, p.SignIn, p.HasPassword, p.HasPIN, p.CostRate, p.Active, p.PINTries, p.PINLocked, at(p.CreatedAt), p.Version,
	}
}

// StaffList is everybody on the staff.
type StaffList struct {
	Staff    []Staff `json:"staff"`
	Currency string  `json:"currency"`
}

// StaffBody is somebody's entry.
type StaffBody struct {
	Name     string      `json:"name" maxLength:"400"`
	Role     actor.Role  `json:"role"`
	SignIn   string      `json:"sign_in,omitempty" maxLength:"200" doc:"Left out: they use the tablet only, or are only on the books."`
	CostRate money.Minor `json:"cost_rate_minor,omitempty" doc:"What an hour of theirs costs the garage."`
}

// NewStaff is somebody to be added.
type NewStaff struct {
	StaffBody
	Password string `json:"password,omitempty" maxLength:"1000" doc:"Needed with a sign-in."`
	PIN      string `json:"pin,omitempty" maxLength:"100" doc:"4 to 8 figures, for the tablets."`
}

// StaffEdit is somebody's entry with the version it was made from.
type StaffEdit struct {
	StaffBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// StaffChanged is the result of a change to somebody's entry.
type StaffChanged struct {
	ID actor.StaffID `json:"staff_id"`
}

func staffChanged(id actor.StaffID, err error) (StaffChanged, error) { return StaffChanged{id}, err }

// ActiveBody lets somebody in or puts them out.
type ActiveBody struct {
	Active bool `json:"active"`
}

// PasswordBody is a new password.
type PasswordBody struct {
	Password string `json:"password" maxLength:"1000" doc:"At least 8 characters."`
}

// PINBody is a new PIN.
type PINBody struct {
	PIN string `json:"pin" maxLength:"100" doc:"4 to 8 figures; empty takes the PIN away."`
}

func (a *API) staffOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/staff", id: "list-staff", need: actor.ManageStaff, tag: "Staff",
		short: "Everybody on the staff, those who left last",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (StaffList, error) {
		all, err := a.Accounts.Users(ctx, who)
		if err != nil {
			return StaffList{}, err
		}
		out := StaffList{Staff: list(all, staffOf)}
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/staff/{staff}", id: "get-staff", need: actor.ManageStaff, tag: "Staff",
		short: "One of the staff",
	}, func(ctx context.Context, who actor.Actor, in *StaffAt) (Staff, error) {
		p, err := a.Accounts.User(ctx, who, in.Staff)
		return staffOf(p), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/staff", id: "add-staff", need: actor.ManageStaff, tag: "Staff", status: http.StatusCreated,
		short: "Add somebody to the staff",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body NewStaff }) (StaffChanged, error) {
		b := in.Body
		return staffChanged(a.Accounts.CreateUser(ctx, who, account.NewStaff{
			Name: b.Name, Role: b.Role, SignIn: b.SignIn, CostRate: b.CostRate, Password: b.Password, PIN: b.PIN,
		}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/staff/{staff}", id: "edit-staff", need: actor.ManageStaff, tag: "Staff",
		short: "Change somebody's entry", long: "Taking the sign-in away takes the password with it and ends their sessions.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		StaffAt
		Body StaffEdit
	}) (StaffChanged, error) {
		b := in.Body
		return staffChanged(a.Accounts.EditUser(ctx, who, account.EditStaff{
			ID: in.Staff, Version: b.Version, Name: b.Name, Role: b.Role, SignIn: b.SignIn, CostRate: b.CostRate,
		}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/staff/{staff}/active", id: "set-staff-active", need: actor.ManageStaff, tag: "Staff",
		short: "Put somebody out, or let them in again",
		long:  "Whoever is put out has their sessions ended and their tokens revoked at once. What they did stays on record.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		StaffAt
		Body ActiveBody
	}) (StaffChanged, error) {
		return staffChanged(a.Accounts.SetActive(ctx, who, in.Staff, in.Body.Active))
	})
	register(a, operation{
		method: http.MethodPut, path: "/staff/{staff}/password", id: "set-staff-password", need: actor.ManageStaff, tag: "Staff",
		short: "Give somebody a new password", long: "Their sessions end.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		StaffAt
		Body PasswordBody
	}) (StaffChanged, error) {
		return staffChanged(a.Accounts.SetPassword(ctx, who, in.Staff, in.Body.Password))
	})
	register(a, operation{
		method: http.MethodPut, path: "/staff/{staff}/pin", id: "set-staff-pin", need: actor.ManageStaff, tag: "Staff",
		short: "Give somebody a new PIN, or take it away",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		StaffAt
		Body PINBody
	}) (StaffChanged, error) {
		return staffChanged(a.Accounts.SetPIN(ctx, who, in.Staff, in.Body.PIN))
	})
	a.sessionOperations()
}
