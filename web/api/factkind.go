package api

import (
	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/vehicle"
)

// FactKind is one thing that may be known of a car.
type FactKind struct {
	Key      FactName      `json:"key"`
	Label    string        `json:"label"`
	Name     string        `json:"name" doc:"What conditions call it."`
	Also     []string      `json:"also,omitempty" doc:"What else conditions may call it."`
	Kind     Kind          `json:"kind"`
	Unit     string        `json:"unit,omitempty"`
	Units    []string      `json:"other_units,omitempty" doc:"Units that conditions may be written in besides."`
	Low      *float64      `json:"low,omitempty" doc:"The least a number may be."`
	High     *float64      `json:"high,omitempty" doc:"The most a number may be."`
	Decimals int           `json:"decimals,omitempty" doc:"How many decimal places a number may have."`
	Options  []string      `json:"options,omitempty" doc:"The words it may have, where it is a choice."`
	How      string        `json:"how" doc:"How to read it."`
	Where    fact.Place    `json:"where" doc:"Where on the car it is found."`
	Ease     int           `json:"ease" doc:"How easy it is to get at: 0 for the logbook, the most for what is under the car."`
	Cautions []caution.Key `json:"cautions,omitempty" doc:"What to mind while reading it."`
}

// Kind is how the value of a fact is written and compared.
type Kind string

func factKind(k fact.Key) FactKind {
	out := FactKind{
		Key: FactName(k.Key), Label: k.Label, Name: k.Name(), Also: k.Also, Kind: Kind(k.Kind.String()), Unit: k.Unit,
		Units: list(k.Units(), func(u fact.Unit) string { return u.Name }), Decimals: k.Decimals, Options: k.Options,
		How: k.How, Where: k.Where, Ease: k.Where.Ease(), Cautions: k.Cautions(),
	}
	if k.Kind == fact.Number {
		out.Low, out.High = &k.Low, &k.High
	}
	return out
}

// VehicleHint is what mark or VIN suggests of a car. It is no fact.
type VehicleHint struct {
	About string `json:"about"`
	Says  string `json:"says"`
	Why   string `json:"why" doc:"How that follows, and how far it is to be trusted."`
}

func hintOf(h vehicle.Hint) VehicleHint { return VehicleHint{About: h.Label, Says: h.Says, Why: h.Why} }

func init() {
	words("FactPlace", "Where on a car a fact is read, the easiest to get at first.", fact.Places()...)
	words("FactKindWord", "How the value of a fact is written: dates may lack their day and month, chassis numbers compare by their end.",
		list([]fact.Kind{fact.Text, fact.Number, fact.Choice, fact.Date, fact.Tyre, fact.Pattern, fact.Chassis}, func(k fact.Kind) Kind { return Kind(k.String()) })...)
	words("FactStanding", "How what one source says stands to the value to go by.",
		vehicle.GoneBy, vehicle.Agrees, vehicle.Finer, vehicle.Coarser, vehicle.Contradicts)
}
