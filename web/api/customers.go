package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/vehicle"
)

// CustomerAt is one customer in the address.
type CustomerAt struct {
	Customer customer.ID `path:"customer" minimum:"1"`
}

// CustomerBody is a customer as somebody gives them.
type CustomerBody struct {
	Name    string `json:"name" maxLength:"400"`
	Phone   string `json:"phone,omitempty" maxLength:"400" example:"01632 960123"`
	Email   string `json:"email,omitempty" maxLength:"1000" example:"ada@example.com"`
	Address string `json:"address,omitempty" maxLength:"2000" doc:"Several lines."`
	Note    string `json:"note,omitempty" maxLength:"8000"`
}

func (b *CustomerBody) input() *customer.Input {
	if b == nil {
		return nil
	}
	in := customer.Input(*b)
	return &in
}

// CustomerEdit is a customer with the version it was made from.
type CustomerEdit struct {
	CustomerBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// Customer is one person or firm.
type Customer struct {
	ID        customer.ID `json:"id"`
	Name      string      `json:"name"`
	Phone     string      `json:"phone,omitempty"`
	Email     string      `json:"email,omitempty"`
	Address   string      `json:"address,omitempty"`
	Note      string      `json:"note,omitempty"`
	CreatedAt Time        `json:"created_at"`
	Version   int         `json:"version"`
}

func customerOf(c customer.Customer) Customer {
	return Customer{
		ID: c.ID, Name: c.Name, Phone: c.Phone, Email: c.Email, Address: c.Address, Note: c.Note, CreatedAt: at(c.CreatedAt), Version: c.Version,
	}
}

// Customers are what a search found.
type Customers struct {
	Customers []Customer `json:"customers"`
}

// KeptCar is a car that a customer keeps or kept.
type KeptCar struct {
	Vehicle
	From  Day `json:"kept_from"`
	Until Day `json:"kept_until,omitzero" doc:"The first day it was somebody else's."`
}

// CustomerRecord is a customer with their cars and visits.
type CustomerRecord struct {
	Customer
	Cars   []KeptCar `json:"cars" doc:"Those they keep now first."`
	Visits []Visit   `json:"visits" doc:"The latest first."`
}

// CustomerChanged is the result of a change to a customer.
type CustomerChanged struct {
	ID      customer.ID `json:"customer_id"`
	Version int         `json:"version"`
}

func (a *API) customerOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/customers", id: "find-customers", need: actor.ReadPeople, tag: "Customers",
		short: "Find customers by name or telephone number",
		long:  "Give text to look for as you type, or phone for those who have that very number, in any spelling.",
	}, a.findCustomers)
	register(a, operation{
		method: http.MethodPost, path: "/customers", id: "add-customer", need: actor.BookIn, tag: "Customers", status: http.StatusCreated,
		short: "Add a customer", long: "Booking in can do so by itself.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body CustomerBody }) (CustomerChanged, error) {
		id, err := a.Customers.Create(ctx, who, customer.Input(in.Body))
		return CustomerChanged{id, 1}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/customers/{customer}", id: "get-customer", need: actor.ReadPeople, tag: "Customers",
		short: "One customer with their cars and visits",
	}, func(ctx context.Context, who actor.Actor, in *CustomerAt) (CustomerRecord, error) {
		c, err := a.Customers.Get(ctx, who, in.Customer)
		if err != nil {
			return CustomerRecord{}, err
		}
		d, err := a.Vehicles.Dealings(ctx, who, in.Customer)
		return CustomerRecord{
			Customer: customerOf(c), Visits: list(d.Visits, visitOf),
			Cars: list(d.Cars, func(k vehicle.Kept) KeptCar { return KeptCar{vehicleOf(k.Vehicle), on(k.From), on(k.Until)} }),
		}, err
	})
	register(a, operation{
		method: http.MethodPut, path: "/customers/{customer}", id: "edit-customer", need: actor.BookIn, tag: "Customers",
		short: "Change a customer",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CustomerAt
		Body CustomerEdit
	}) (CustomerChanged, error) {
		version, err := a.Customers.Edit(ctx, who, customer.EditInput{
			ID: in.Customer, Version: in.Body.Version, Input: customer.Input(in.Body.CustomerBody),
		})
		return CustomerChanged{in.Customer, version}, err
	})
}

func (a *API) findCustomers(ctx context.Context, who actor.Actor, in *struct {
	Text  string `query:"text" maxLength:"200"`
	Phone string `query:"phone" maxLength:"80"`
	Limit int    `query:"limit" minimum:"1" maximum:"50" default:"20"`
}) (Customers, error) {
	if in.Text != "" && in.Phone != "" {
		return Customers{}, parameterError("phone", "give text or phone, not both")
	}
	var found []customer.Customer
	var err error
	switch {
	case in.Phone != "":
		found, err = a.Customers.WithPhone(ctx, who, in.Phone, in.Limit)
	case in.Text != "":
		found, err = a.Customers.Find(ctx, who, in.Text, in.Limit)
	default:
		err = parameterError("text", "please give text or phone")
	}
	return Customers{list(found, customerOf)}, err
}
