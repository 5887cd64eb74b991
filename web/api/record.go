package api

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// Event is one entry of the record: who did what, when, from where.
type Event struct {
	ID        int64           `json:"id"`
	At        Time            `json:"at"`
	StaffID   actor.StaffID   `json:"staff_id,omitempty" doc:"Absent for the server's own console."`
	Staff     string          `json:"staff"`
	Via       actor.Via       `json:"via"`
	Device    string          `json:"device,omitempty" doc:"The tablet's or the token's name, or the browser's address."`
	RequestID string          `json:"request_id,omitempty"`
	Kind      string          `json:"kind"`
	CardID    jobcard.CardID  `json:"card_id,omitempty"`
	Subject   string          `json:"subject,omitempty"`
	Detail    json.RawMessage `json:"detail" doc:"An object: what changed."`
}

func eventOf(e change.Event) Event {
	return Event{
		e.ID, at(e.At), e.StaffID, e.StaffName, e.Via, e.Device, e.RequestID, e.Kind, jobcard.CardID(e.CardID), e.Subject, e.Detail,
	}
}

// Events is a page of the record, the newest first.
type Events struct {
	Events []Event `json:"events"`
	Before int64   `json:"next_before,omitempty" doc:"Ask for the events before this one to go on; absent at the end."`
}

// Verdict is what verifying the record found.
type Verdict struct {
	Holds    bool   `json:"holds" doc:"Nothing in the record was changed."`
	Events   int    `json:"events" doc:"How many hold, from the first on."`
	BrokenAt int64  `json:"broken_at_id,omitempty" doc:"The first that does not."`
	Head     int64  `json:"head_id" doc:"The newest event. Noted down with its seal, it shows later whether anything was cut off at the end."`
	Seal     string `json:"seal" doc:"The digest of the newest event, in hexadecimal."`
}

func (a *API) recordOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/events", id: "list-events", need: actor.ManageGarage, tag: "Record",
		short: "The record: who did what, when and from where; the newest first",
	}, a.events)
	register(a, operation{
		method: http.MethodGet, path: "/events/verify", id: "verify-events", need: actor.ManageGarage, tag: "Record",
		short: "Go through the whole record and say whether its chain holds",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Verdict, error) {
		v, err := a.DB.Verify(ctx, who)
		return Verdict{v.Holds(), v.Events, v.BrokenAt, v.Head, hex.EncodeToString(v.Seal)}, err
	})
}

func (a *API) events(ctx context.Context, who actor.Actor, in *struct {
	Before int64          `query:"before" minimum:"1" doc:"Only events before this one."`
	Card   jobcard.CardID `query:"card" minimum:"1"`
	Staff  actor.StaffID  `query:"staff" minimum:"1"`
	Day    Day            `query:"day"`
	Limit  int            `query:"limit" minimum:"1" maximum:"500" default:"100"`
}) (Events, error) {
	f := change.Filter{Before: in.Before, CardID: int64(in.Card), StaffID: in.Staff, Limit: in.Limit + 1}
	if !in.Day.IsZero() {
		zone, err := a.Garage.Zone(ctx)
		if err != nil {
			return Events{}, err
		}
		f.From, f.To = workday.Bounds(in.Day.Day, zone)
	}
	all, err := a.DB.Read(ctx, who, f)
	if err != nil {
		return Events{}, err
	}
	out := Events{}
	if len(all) > in.Limit {
		all = all[:in.Limit]
		out.Before = all[in.Limit-1].ID
	}
	out.Events = list(all, eventOf)
	return out, nil
}
