package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// VehicleAt is one car in the address.
type VehicleAt struct {
	Vehicle vehicle.ID `path:"vehicle" minimum:"1"`
}

// VehicleBody is a car as somebody gives it.
type VehicleBody struct {
	Mark   string `json:"mark,omitempty" maxLength:"200" example:"BD51 SMR" doc:"The registration mark, in any spelling. Mark or VIN must be given."`
	VIN    string `json:"vin,omitempty" maxLength:"200" example:"1M8GDM9AXKP042788"`
	Make   string `json:"make" maxLength:"400"`
	Model  string `json:"model,omitempty" maxLength:"400"`
	Colour string `json:"colour,omitempty" maxLength:"400"`
}

func (b VehicleBody) input() vehicle.Input { return vehicle.Input(b) }

// VehicleEdit is a car with the version it was made from.
type VehicleEdit struct {
	VehicleBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// NewVehicle is a car to be put on file.
type NewVehicle struct {
	VehicleBody
	Facts    []FactBody  `json:"facts,omitempty" maxItems:"60"`
	KeeperID customer.ID `json:"keeper_id,omitempty" minimum:"1" doc:"The customer who keeps it."`
	KeptFrom Day         `json:"kept_from,omitzero" doc:"The first day of that; needed with a keeper."`
}

// VehicleChanged is the result of a change to a car.
type VehicleChanged struct {
	ID      vehicle.ID `json:"vehicle_id"`
	Version int        `json:"version,omitempty"`
}

func vehicleChanged(c vehicle.Changed) VehicleChanged { return VehicleChanged(c) }

// KeeperBody says who keeps a car from a day on.
type KeeperBody struct {
	CustomerID  customer.ID   `json:"customer_id,omitempty" minimum:"1" doc:"A customer on file; or else a new one."`
	NewCustomer *CustomerBody `json:"new_customer,omitempty"`
	Day         Day           `json:"day" doc:"The first day of the new keeper."`
	Was         customer.ID   `json:"was_customer_id,omitempty" minimum:"1" doc:"Who kept it on that day when the change was begun; left out for nobody. If it is somebody else by now, the answer is a 409."`
}

// Kept is who keeps a car now.
type Kept struct {
	CustomerID customer.ID `json:"customer_id"`
}

func (a *API) vehicleOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/vehicles", id: "find-vehicles", need: actor.ReadCards, tag: "Vehicles",
		short: "Find cars as you type",
		long: "By registration mark in any spelling, by part of the VIN, by the keeper's name, and by telephone for those who may read customers. " +
			"The likeliest come first. One character finds nothing.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Text  string `query:"text" required:"true" maxLength:"200"`
		Limit int    `query:"limit" minimum:"1" maximum:"50" default:"20"`
	}) (VehicleHits, error) {
		hits, err := a.Vehicles.Find(ctx, who, in.Text, in.Limit)
		return VehicleHits{list(hits, hitOf)}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/vehicles", id: "add-vehicle", need: actor.BookIn, tag: "Vehicles", status: http.StatusCreated,
		short: "Put a car on file", long: "Booking in can do so by itself.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body NewVehicle }) (VehicleChanged, error) {
		b := in.Body
		if err := cleanFacts(b.Facts); err != nil {
			return VehicleChanged{}, err
		}
		c, err := a.Vehicles.Add(ctx, who, vehicle.AddInput{
			Input: b.input(), Facts: list(b.Facts, FactBody.input), KeeperID: b.KeeperID, KeptFrom: b.KeptFrom.Day,
		})
		return vehicleChanged(c), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/vehicles/{vehicle}", id: "get-vehicle", need: actor.ReadCards, tag: "Vehicles",
		short: "Everything about one car",
	}, func(ctx context.Context, who actor.Actor, in *VehicleAt) (VehicleRecord, error) {
		r, err := a.Vehicles.Record(ctx, who, in.Vehicle)
		if err != nil {
			return VehicleRecord{}, err
		}
		return recordOf(r, who), nil
	})
	register(a, operation{
		method: http.MethodPut, path: "/vehicles/{vehicle}", id: "edit-vehicle", need: actor.BookIn, tag: "Vehicles",
		short: "Change a car's mark, VIN, make, model or colour",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		VehicleAt
		Body VehicleEdit
	}) (VehicleChanged, error) {
		c, err := a.Vehicles.Edit(ctx, who, vehicle.EditInput{ID: in.Vehicle, Version: in.Body.Version, Input: in.Body.input()})
		return vehicleChanged(c), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/vehicles/{vehicle}/keeper", id: "change-keeper", need: actor.BookIn, tag: "Vehicles",
		short: "Say who keeps a car from a day on",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		VehicleAt
		Body KeeperBody
	}) (Kept, error) {
		b := in.Body
		id, err := a.Vehicles.ChangeKeeper(ctx, who, vehicle.KeeperInput{
			VehicleID: in.Vehicle, CustomerID: b.CustomerID, NewCustomer: b.NewCustomer.input(), Day: b.Day.Day, Was: b.Was,
		})
		return Kept{id}, under("new_customer.", err, "name", "phone", "email", "address", "note")
	})
	register(a, operation{
		method: http.MethodGet, path: "/vehicles/{vehicle}/left-overs", id: "list-left-overs", need: actor.ReadCards, tag: "Vehicles",
		short: "The lines that earlier visits of a car left undone",
		long:  "Deferred or declined, and not taken up since. Booking in takes them back by their id.",
	}, func(ctx context.Context, who actor.Actor, in *VehicleAt) (LeftOvers, error) {
		all, err := a.Cards.LeftOvers(ctx, who, in.Vehicle)
		if err == nil && len(all) == 0 { // of a car that has none, or of no car
			_, err = a.Vehicles.Record(ctx, who, in.Vehicle)
		}
		return LeftOvers{list(all, leftOverOf)}, err
	})
	a.factOperations()
}

// LeftOver is a line that an earlier visit left undone.
type LeftOver struct {
	LineID   jobcard.LineID    `json:"line_id"`
	CardID   jobcard.CardID    `json:"card_id"`
	Title    string            `json:"title"`
	Reason   string            `json:"reason,omitempty"`
	Decided  string            `json:"decided_by,omitempty"`
	Declined bool              `json:"declined" doc:"The customer said no; else it was deferred."`
	At       Time              `json:"at"`
	Severity *jobcard.Severity `json:"severity,omitempty" doc:"The worst finding that proposed it."`
}

// LeftOvers lists such lines, the newest first.
type LeftOvers struct {
	LeftOvers []LeftOver `json:"left_overs"`
}

func leftOverOf(l jobcard.LeftOver) LeftOver {
	return LeftOver{
		LineID: l.ID, CardID: l.CardID, Title: l.Title, Reason: l.Reason, Decided: l.Decided, Declined: l.Declined, At: at(l.At),
		Severity: given(l.Severity),
	}
}

// given is a word that may be missing.
func given[T ~string](w T) *T {
	if w == "" {
		return nil
	}
	return &w
}
