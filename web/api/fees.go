package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// TestMaximum is the most that may be charged for a test of a class.
type TestMaximum struct {
	Class string      `json:"class" maxLength:"200"`
	From  Day         `json:"from"`
	Fee   money.Minor `json:"fee_minor"`
}

// FeeCondition is one that must hold before a payment made for a customer is
// outside the scope of VAT.
type FeeCondition struct {
	Number int    `json:"number"`
	Text   string `json:"text"`
	// Asked tells that somebody has to vouch for it.
	Asked bool `json:"asked" doc:"Somebody has to vouch for it; the others follow from how the fee is put on the bill."`
}

// TestFees is what a test fee is judged by.
type TestFees struct {
	Maxima     []TestMaximum  `json:"maxima"`
	Conditions []FeeCondition `json:"conditions"`
	Currency   string         `json:"currency,omitempty" doc:"Of the money in this answer; absent when there is none."`
}

func (a *API) feeOperations() {
	tag, edit := "Prices", actor.EditCard
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/lines/{line}/fees", id: "add-fee", need: edit, tag: tag, status: http.StatusCreated,
		short: "Put a test fee on a line", long: "An own test within the legal maximum, and what is exactly paid on for the customer, are outside the scope of VAT.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		LineAt
		Body FeeTerms
	}) (Changed, error) {
		return changedOf(a.Cards.AddFee(ctx, who, jobcard.FeeInput{CardID: in.Card, LineID: in.Line, FeeTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/fees/{fee}", id: "edit-fee", need: edit, tag: tag, short: "Change a test fee",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		FeeAt
		Body FeeEdit
	}) (Changed, error) {
		return changedOf(a.Cards.EditFee(ctx, who, jobcard.EditFeeInput{ID: in.Fee, Version: in.Body.Version, FeeTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/fees/{fee}/strike", id: "strike-fee", need: edit, tag: tag, short: "Strike a test fee out",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		FeeAt
		Body StrikeBody
	}) (Changed, error) {
		return changedOf(a.Cards.StrikeFee(ctx, who, strikeExtra(in.Fee, in.Body)))
	})
	register(a, operation{
		method: http.MethodGet, path: "/garage/test-fees", id: "get-test-fees", need: edit, tag: tag,
		short: "The most that tests may cost, and when a fee paid on is outside the scope of VAT",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (TestFees, error) {
		table, err := a.Garage.TestMaxima(ctx, who)
		if err != nil {
			return TestFees{}, err
		}
		out := TestFees{Maxima: list(table, maximumOf), Conditions: list(pricing.Conditions(), func(c pricing.Condition) FeeCondition {
			return FeeCondition{int(c), c.String(), c != pricing.Itemised && c != pricing.ExactAmount}
		})}
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodPut, path: "/garage/test-fees", id: "set-test-fee", need: actor.ManageGarage, tag: tag,
		short: "Note the most that a test of a class may cost from a day on",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body TestMaximum }) (TestMaximum, error) {
		m, err := a.Garage.SetTestMaximum(ctx, who, pricing.Maximum{Class: in.Body.Class, From: in.Body.From.Day, Fee: in.Body.Fee})
		return maximumOf(m), err
	})
	registerEmpty(a, operation{
		method: http.MethodDelete, path: "/garage/test-fees/{class}/{from}", id: "remove-test-fee", need: actor.ManageGarage, tag: tag,
		short: "Take back a maximum that was noted by mistake",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Class string `path:"class" maxLength:"200"`
		From  Day    `path:"from"`
	}) error {
		return a.Garage.RemoveTestMaximum(ctx, who, in.Class, in.From.Day)
	})
}

func maximumOf(m pricing.Maximum) TestMaximum { return TestMaximum{m.Class, on(m.From), m.Fee} }
