package api

import (
	"context"
	"net/http"

	"rampside/internal/account"
	"rampside/internal/actor"
)

// Tablet is an enrolled tablet.
type Tablet struct {
	ID         actor.DeviceID `json:"id"`
	Name       string         `json:"name"`
	EnrolledBy string         `json:"enrolled_by"`
	EnrolledAt Time           `json:"enrolled_at"`
	LastSeen   Time           `json:"last_seen_at,omitzero" doc:"Absent before its first use."`
	SignedIn   int            `json:"signed_in" doc:"How many are signed in at it."`
}

// Tablets are the enrolled tablets, and whose PIN one of them refuses.
type Tablets struct {
	Tablets []Tablet `json:"tablets"`
	Locked  []Person `json:"locked" doc:"Those whose PIN a tablet refuses to look at for now."`
}

// TabletChanged is the result of a change to a tablet.
type TabletChanged struct {
	ID actor.DeviceID `json:"tablet_id"`
}

func (a *API) tabletOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/tablets", id: "list-tablets", need: actor.KeepTablets, tag: "Tablets",
		short: "The tablets of the workshop",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Tablets, error) {
		all, err := a.Accounts.Tablets(ctx, who)
		if err != nil {
			return Tablets{}, err
		}
		locked, err := a.Accounts.LockedPINs(ctx, who)
		return Tablets{
			Tablets: list(all, func(t account.Tablet) Tablet {
				return Tablet{t.ID, t.Name, t.EnrolledBy, at(t.EnrolledAt), atOrNot(t.LastSeen), t.SignedIn}
			}),
			Locked: list(locked, func(p account.Person) Person { return Person{p.ID, p.Name} }),
		}, err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/tablets/{tablet}", id: "revoke-tablet", need: actor.KeepTablets, tag: "Tablets",
		short: "Make a tablet an ordinary browser again", long: "Its sessions end at once, and no PIN works at it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Tablet actor.DeviceID `path:"tablet" minimum:"1"`
	}) (TabletChanged, error) {
		id, err := a.Accounts.RevokeTablet(ctx, who, in.Tablet)
		return TabletChanged{id}, err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/staff/{staff}/pin-lock", id: "clear-pin-lock", need: actor.KeepTablets, tag: "Tablets",
		short: "Let somebody try their PIN again",
	}, func(ctx context.Context, who actor.Actor, in *StaffAt) (StaffChanged, error) {
		return staffChanged(a.Accounts.ClearPINLock(ctx, who, in.Staff))
	})
}
