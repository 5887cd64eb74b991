package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/money"
)

// VATRate is a rate of one category, good from a day on.
type VATRate struct {
	Code money.VATCode `json:"code"`
	From Day           `json:"from" doc:"The first day of the rate."`
	Rate money.Rate    `json:"rate_bp" minimum:"0" maximum:"10000"`
}

func vatRateOf(r garage.VATRate) VATRate {
	return VATRate{Code: r.Code, From: on(r.From), Rate: r.Rate}
}

// VATRates is every rate there was, is and is known to come.
type VATRates struct {
	Rates []VATRate `json:"vat_rates"`
}

func (a *API) vatOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/vat-rates", id: "list-vat-rates", need: actor.ManageGarage, tag: "Catalogue",
		short: "Every VAT rate there was, is and is known to come",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (VATRates, error) {
		all, err := a.Garage.VATRates(ctx, who)
		return VATRates{list(all, vatRateOf)}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/vat-rates", id: "set-vat-rate", need: actor.ManageGarage, tag: "Catalogue", status: http.StatusCreated,
		short: "Set a rate that begins today or later", long: "One that has not begun is replaced. What has been in force stays.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body VATRate }) (VATRate, error) {
		r, err := a.Garage.SetVATRate(ctx, who, garage.VATRateInput{Code: in.Body.Code, From: in.Body.From.Day, Rate: in.Body.Rate})
		return vatRateOf(r), err
	})
	registerEmpty(a, operation{
		method: http.MethodDelete, path: "/vat-rates/{code}/{from}", id: "remove-vat-rate", need: actor.ManageGarage, tag: "Catalogue",
		short: "Take back a rate that has not begun",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Code money.VATCode `path:"code"`
		From Day           `path:"from"`
	}) error {
		return a.Garage.RemoveVATRate(ctx, who, in.Code, in.From.Day)
	})
}
