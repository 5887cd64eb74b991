package api

import (
	"context"
	"fmt"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/vehicle"
)

// FactBody is a fact as somebody gives it.
type FactBody struct {
	Key    FactName       `json:"key"`
	Value  string         `json:"value" maxLength:"400"`
	Source vehicle.Source `json:"source"`
}

func (b FactBody) input() vehicle.FactInput {
	return vehicle.FactInput{Key: string(b.Key), Value: b.Value, Source: b.Source}
}

// cleanFacts checks facts, with messages at facts.N: the service does not say
// which of them it means.
func cleanFacts(facts []FactBody) error {
	f := apperr.Fields{}
	for i, b := range facts {
		if _, err := b.input().Clean(); err != nil {
			f.Merge(fmt.Sprintf("facts.%d.", i), err)
		}
	}
	return f.Err()
}

// FactValue is what one source says of one thing.
type FactValue struct {
	Value string `json:"value" maxLength:"400"`
	Was   string `json:"was,omitempty" maxLength:"400" doc:"What this source said when the edit was begun; left out for nothing. Another value by now is a 409."`
}

// FactAt is what one source says of one thing about one car, in the address.
type FactAt struct {
	VehicleAt
	Key    FactName       `path:"key"`
	Source vehicle.Source `path:"source"`
}

func (f FactAt) edit(value, was string) vehicle.FactEdit {
	return vehicle.FactEdit{VehicleID: f.Vehicle, FactInput: vehicle.FactInput{Key: string(f.Key), Value: value, Source: f.Source}, Was: was}
}

func (a *API) factOperations() {
	register(a, operation{
		method: http.MethodPut, path: "/vehicles/{vehicle}/facts/{key}/{source}", id: "set-fact", need: actor.Work, tag: "Vehicles",
		short: "Note a fact about a car, or change what a source said",
		long:  "Several sources may say different things of the same: nothing is averaged, and contradictions are shown.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		FactAt
		Body FactValue
	}) (Fact, error) {
		f, err := a.Vehicles.SetFact(ctx, who, in.edit(in.Body.Value, in.Body.Was))
		return factOf(f), err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/vehicles/{vehicle}/facts/{key}/{source}", id: "remove-fact", need: actor.Work, tag: "Vehicles",
		short: "Take back what a source said", long: "The record keeps it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		FactAt
		Was string `query:"was" required:"true" maxLength:"400" doc:"What the source says; another value by now is a 409."`
	}) (VehicleChanged, error) {
		c, err := a.Vehicles.RemoveFact(ctx, who, in.edit("", in.Was))
		return vehicleChanged(c), err
	})
}
