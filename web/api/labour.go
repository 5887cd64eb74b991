package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/money"
)

// LabourType is a kind of work with its own price.
type LabourType struct {
	ID      garage.LabourTypeID `json:"id"`
	Name    string              `json:"name"`
	Rate    *money.Minor        `json:"rate_minor,omitempty" doc:"Net, an hour."`
	Active  bool                `json:"active"`
	Version int                 `json:"version"`
}

func labourTypeOf(t garage.LabourType, money bool) LabourType {
	return LabourType{ID: t.ID, Name: t.Name, Rate: onlyIf(money, t.Rate), Active: t.Active, Version: t.Version}
}

// LabourTypeBody is a type of labour as the owner writes it.
type LabourTypeBody struct {
	Name   string      `json:"name" maxLength:"400"`
	Rate   money.Minor `json:"rate_minor" doc:"Net, an hour."`
	Active *bool       `json:"active,omitempty" doc:"False retires it. True when left out."`
}

// LabourTypeEdit is a type of labour with the version it was made from.
type LabourTypeEdit struct {
	LabourTypeBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// LabourTypeAt is one type of labour in the address.
type LabourTypeAt struct {
	LabourType garage.LabourTypeID `path:"labour" minimum:"1"`
}

// LabourTypes lists types of labour.
type LabourTypes struct {
	LabourTypes []LabourType `json:"labour_types"`
	Currency    string       `json:"currency"`
}

func (a *API) labourOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/labour-types", id: "list-labour-types", need: actor.ManageGarage, tag: "Catalogue",
		short: "The types of labour, retired ones last",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (LabourTypes, error) {
		all, err := a.Garage.LabourTypes(ctx, who)
		if err != nil {
			return LabourTypes{}, err
		}
		out := LabourTypes{LabourTypes: list(all, func(t garage.LabourType) LabourType { return labourTypeOf(t, true) })}
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/labour-types/{labour}", id: "get-labour-type", need: actor.ManageGarage, tag: "Catalogue",
		short: "One type of labour",
	}, func(ctx context.Context, who actor.Actor, in *LabourTypeAt) (LabourType, error) {
		t, err := a.Garage.LabourType(ctx, who, in.LabourType)
		return labourTypeOf(t, true), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/labour-types", id: "add-labour-type", need: actor.ManageGarage, tag: "Catalogue", status: http.StatusCreated,
		short: "Add a type of labour",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body LabourTypeBody }) (LabourType, error) {
		t, err := a.Garage.SaveLabourType(ctx, who, garage.LabourTypeInput{Name: in.Body.Name, Rate: in.Body.Rate, Active: orTrue(in.Body.Active)})
		return labourTypeOf(t, true), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/labour-types/{labour}", id: "edit-labour-type", need: actor.ManageGarage, tag: "Catalogue",
		short: "Change or retire a type of labour", long: "Cards keep the rate that was written on them.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LabourTypeAt
		Body LabourTypeEdit
	}) (LabourType, error) {
		t, err := a.Garage.SaveLabourType(ctx, who, garage.LabourTypeInput{
			ID: in.LabourType, Version: in.Body.Version, Name: in.Body.Name, Rate: in.Body.Rate, Active: orTrue(in.Body.Active),
		})
		return labourTypeOf(t, true), err
	})
}
