package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/money"
)

// Operation is a job the garage offers.
type Operation struct {
	ID            garage.OperationID  `json:"id"`
	Name          string              `json:"name"`
	LabourTypeID  garage.LabourTypeID `json:"labour_type_id"`
	LabourName    string              `json:"labour_name"`
	Rate          *money.Minor        `json:"rate_minor,omitempty" doc:"Net, an hour, of its labour."`
	LowMinutes    int64               `json:"low_minutes" doc:"If all goes well."`
	LikelyMinutes int64               `json:"likely_minutes" doc:"As a rule."`
	HighMinutes   int64               `json:"high_minutes" doc:"If it goes badly."`
	FixedPrice    *money.Minor        `json:"fixed_price_minor,omitempty" doc:"Net, instead of hours times rate."`
	VATCode       money.VATCode       `json:"vat_code"`
	Cautions      []caution.Key       `json:"cautions"`
	Safety        bool                `json:"safety" doc:"Needs a second person's check before the card can be ready."`
	WheelsOff     bool                `json:"wheels_off" doc:"A wheel comes off: a torque check goes on record."`
	Inspects      bool                `json:"inspects" doc:"Looks for more work."`
	Active        bool                `json:"active"`
	Version       int                 `json:"version"`
}

func operationOf(o garage.Operation, money bool) Operation {
	out := Operation{
		ID: o.ID, Name: o.Name, LabourTypeID: o.LabourTypeID, LabourName: o.LabourName, Rate: onlyIf(money, o.Rate),
		LowMinutes: minutes(o.Low), LikelyMinutes: minutes(o.Likely), HighMinutes: minutes(o.High), VATCode: o.VATCode,
		Cautions: list(o.Cautions, same), Safety: o.Safety, WheelsOff: o.WheelsOff, Inspects: o.Inspects, Active: o.Active, Version: o.Version,
	}
	if money {
		out.FixedPrice = o.FixedPrice
	}
	return out
}

// OperationBody is an operation as the owner writes it.
type OperationBody struct {
	Name          string              `json:"name" maxLength:"400"`
	LabourTypeID  garage.LabourTypeID `json:"labour_type_id" minimum:"1"`
	LowMinutes    int64               `json:"low_minutes" minimum:"0" maximum:"12000"`
	LikelyMinutes int64               `json:"likely_minutes" minimum:"0" maximum:"12000"`
	HighMinutes   int64               `json:"high_minutes" minimum:"0" maximum:"12000"`
	FixedPrice    *money.Minor        `json:"fixed_price_minor,omitempty" nullable:"true"`
	VATCode       money.VATCode       `json:"vat_code"`
	Cautions      []caution.Key       `json:"cautions,omitempty" maxItems:"50"`
	Safety        bool                `json:"safety,omitempty"`
	WheelsOff     bool                `json:"wheels_off,omitempty"`
	Inspects      bool                `json:"inspects,omitempty"`
	Active        *bool               `json:"active,omitempty" doc:"False retires it. True when left out."`
}

func (b OperationBody) input(id garage.OperationID, version int) garage.OperationInput {
	return garage.OperationInput{
		ID: id, Version: version, Name: b.Name, LabourTypeID: b.LabourTypeID,
		Low: ofMinutes(b.LowMinutes), Likely: ofMinutes(b.LikelyMinutes), High: ofMinutes(b.HighMinutes),
		FixedPrice: b.FixedPrice, VATCode: b.VATCode, Cautions: b.Cautions, Safety: b.Safety, WheelsOff: b.WheelsOff, Inspects: b.Inspects,
		Active: orTrue(b.Active),
	}
}

func orTrue(b *bool) bool { return b == nil || *b }

// OperationEdit is an operation with the version it was made from.
type OperationEdit struct {
	OperationBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// OperationAt is one operation in the address.
type OperationAt struct {
	Operation garage.OperationID `path:"operation" minimum:"1"`
}

// Operations lists operations.
type Operations struct {
	Operations []Operation `json:"operations"`
	Currency   string      `json:"currency"`
}

func (a *API) catalogueOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/operations", id: "list-operations", need: actor.ManageGarage, tag: "Catalogue",
		short: "The jobs the garage offers, retired ones last",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Text string `query:"text" maxLength:"200" doc:"Words that the name holds."`
	}) (Operations, error) {
		all, err := a.Garage.Operations(ctx, who, in.Text)
		if err != nil {
			return Operations{}, err
		}
		out := Operations{Operations: list(all, func(o garage.Operation) Operation { return operationOf(o, true) })}
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/operations/{operation}", id: "get-operation", need: actor.ManageGarage, tag: "Catalogue",
		short: "One operation",
	}, func(ctx context.Context, who actor.Actor, in *OperationAt) (Operation, error) {
		o, err := a.Garage.Operation(ctx, who, in.Operation)
		return operationOf(o, true), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/operations", id: "add-operation", need: actor.ManageGarage, tag: "Catalogue", status: http.StatusCreated,
		short: "Add an operation",
		long:  "It is marked for a second check by itself where its cautions or a wheel that comes off call for one.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body OperationBody }) (Operation, error) {
		o, err := a.Garage.SaveOperation(ctx, who, in.Body.input(0, 0))
		return operationOf(o, true), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/operations/{operation}", id: "edit-operation", need: actor.ManageGarage, tag: "Catalogue",
		short: "Change or retire an operation", long: "Cards keep what was written on them.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		OperationAt
		Body OperationEdit
	}) (Operation, error) {
		o, err := a.Garage.SaveOperation(ctx, who, in.Body.input(in.Operation, in.Body.Version))
		return operationOf(o, true), err
	})
	a.labourOperations()
	a.supplierOperations()
	a.vatOperations()
}
