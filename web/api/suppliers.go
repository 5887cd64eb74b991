package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
)

// Supplier is somebody the garage buys parts from.
type Supplier struct {
	ID      garage.SupplierID `json:"id"`
	Name    string            `json:"name"`
	Phone   string            `json:"phone,omitempty"`
	Email   string            `json:"email,omitempty"`
	Active  bool              `json:"active"`
	Version int               `json:"version"`
}

func supplierOf(s garage.Supplier) Supplier { return Supplier(s) }

// SupplierBody is a supplier as the owner writes it.
type SupplierBody struct {
	Name   string `json:"name" maxLength:"400"`
	Phone  string `json:"phone,omitempty" maxLength:"400" example:"01632 960123"`
	Email  string `json:"email,omitempty" maxLength:"400" example:"ada@example.com"`
	Active *bool  `json:"active,omitempty" doc:"False retires it. True when left out."`
}

func (b SupplierBody) input(id garage.SupplierID, version int) garage.SupplierInput {
	return garage.SupplierInput{ID: id, Version: version, Name: b.Name, Phone: b.Phone, Email: b.Email, Active: orTrue(b.Active)}
}

// SupplierEdit is a supplier with the version it was made from.
type SupplierEdit struct {
	SupplierBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// SupplierAt is one supplier in the address.
type SupplierAt struct {
	Supplier garage.SupplierID `path:"supplier" minimum:"1"`
}

// Suppliers lists suppliers.
type Suppliers struct {
	Suppliers []Supplier `json:"suppliers"`
}

func (a *API) supplierOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/suppliers", id: "list-suppliers", need: actor.ManageGarage, tag: "Catalogue",
		short: "The suppliers, retired ones last",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Suppliers, error) {
		all, err := a.Garage.Suppliers(ctx, who)
		return Suppliers{list(all, supplierOf)}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/suppliers/{supplier}", id: "get-supplier", need: actor.ManageGarage, tag: "Catalogue",
		short: "One supplier",
	}, func(ctx context.Context, who actor.Actor, in *SupplierAt) (Supplier, error) {
		s, err := a.Garage.Supplier(ctx, who, in.Supplier)
		return supplierOf(s), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/suppliers", id: "add-supplier", need: actor.ManageGarage, tag: "Catalogue", status: http.StatusCreated,
		short: "Add a supplier",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body SupplierBody }) (Supplier, error) {
		s, err := a.Garage.SaveSupplier(ctx, who, in.Body.input(0, 0))
		return supplierOf(s), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/suppliers/{supplier}", id: "edit-supplier", need: actor.ManageGarage, tag: "Catalogue",
		short: "Change or retire a supplier",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		SupplierAt
		Body SupplierEdit
	}) (Supplier, error) {
		s, err := a.Garage.SaveSupplier(ctx, who, in.Body.input(in.Supplier, in.Body.Version))
		return supplierOf(s), err
	})
}
