package api

import (
	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/customer"
	"rampside/internal/fact"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// VehicleHit is one car that a search found.
type VehicleHit struct {
	ID        vehicle.ID  `json:"id"`
	Mark      string      `json:"mark,omitempty"`
	VIN       string      `json:"vin,omitempty"`
	Make      string      `json:"make"`
	Model     string      `json:"model,omitempty"`
	KeeperID  customer.ID `json:"keeper_id,omitempty"`
	Keeper    string      `json:"keeper,omitempty"`
	Phone     string      `json:"phone,omitempty"`
	LastVisit Day         `json:"last_visit,omitzero"`
}

// VehicleHits are what a search found.
type VehicleHits struct {
	Vehicles []VehicleHit `json:"vehicles"`
}

func hitOf(h vehicle.Hit) VehicleHit {
	return VehicleHit{
		ID: h.ID, Mark: h.Mark, VIN: h.VIN, Make: h.Make, Model: h.Model, KeeperID: h.KeeperID, Keeper: h.Keeper, Phone: h.Phone,
		LastVisit: on(h.LastVisit),
	}
}

// Vehicle is one car.
type Vehicle struct {
	ID        vehicle.ID `json:"id"`
	Mark      string     `json:"mark,omitempty" doc:"As it is written."`
	VIN       string     `json:"vin,omitempty"`
	Make      string     `json:"make"`
	Model     string     `json:"model,omitempty"`
	Colour    string     `json:"colour,omitempty"`
	CreatedAt Time       `json:"created_at"`
	Version   int        `json:"version"`
}

func vehicleOf(v vehicle.Vehicle) Vehicle {
	return Vehicle{
		ID: v.ID, Mark: v.MarkShown, VIN: v.VIN, Make: v.Make, Model: v.Model, Colour: v.Colour, CreatedAt: at(v.CreatedAt), Version: v.Version,
	}
}

// Fact is one value of one thing from one source.
type Fact struct {
	Key     FactName       `json:"key"`
	Value   string         `json:"value"`
	Source  vehicle.Source `json:"source"`
	NotedAt Time           `json:"noted_at,omitzero"`
	NotedBy string         `json:"noted_by,omitempty"`
	// Standing is left out where one fact is given by itself.
	Standing vehicle.Standing `json:"standing,omitempty"`
}

func factOf(f vehicle.Fact) Fact {
	return Fact{Key: FactName(f.Key), Value: f.Value, Source: f.Source, NotedAt: at(f.NotedAt), NotedBy: f.NotedBy}
}

// Known is what is known of one thing.
type Known struct {
	Key          FactName       `json:"key"`
	Label        string         `json:"label"`
	Unit         string         `json:"unit,omitempty"`
	Value        string         `json:"value" doc:"The one to go by: from the most trusted source."`
	Source       vehicle.Source `json:"source"`
	Contradicted bool           `json:"contradicted" doc:"Two sources cannot both be right: somebody has to go and look."`
	All          []Fact         `json:"all" doc:"What each source says, the most trusted first."`
}

func knownOf(k vehicle.Known) Known {
	return Known{
		Key: FactName(k.Key.Key), Label: k.Key.Label, Unit: k.Key.Unit, Value: k.Best.Value, Source: k.Best.Source,
		Contradicted: k.Contradicted,
		All: list(k.All, func(f vehicle.Fact) Fact {
			out := factOf(f)
			out.Standing = k.Standing(f)
			return out
		}),
	}
}

// Keeper is one person's time with a car.
type Keeper struct {
	CustomerID customer.ID `json:"customer_id"`
	Name       string      `json:"name"`
	From       Day         `json:"from"`
	Until      Day         `json:"until,omitzero" doc:"The first day it was somebody else's."`
}

func keeperOf(k vehicle.Keeper) Keeper {
	return Keeper{CustomerID: k.CustomerID, Name: k.Name, From: on(k.From), Until: on(k.Until)}
}

// Visit is one card, as a history lists it.
type Visit struct {
	CardID      jobcard.CardID `json:"card_id"`
	VehicleID   vehicle.ID     `json:"vehicle_id"`
	Mark        string         `json:"mark,omitempty"`
	Car         string         `json:"car" doc:"Make and model."`
	Day         Day            `json:"day"`
	Stage       jobcard.Stage  `json:"stage"`
	Mileage     *int           `json:"mileage,omitempty"`
	MileageUnit MileageUnit    `json:"mileage_unit"`
	Words       string         `json:"customer_words,omitempty"`
	Lines       int            `json:"lines"`
	Done        int            `json:"lines_done"`
}

func visitOf(v vehicle.Visit) Visit {
	return Visit{
		CardID: jobcard.CardID(v.Card), VehicleID: v.VehicleID, Mark: v.Mark, Car: v.Name, Day: on(v.Day), Stage: jobcard.Stage(v.Stage),
		Mileage: v.Mileage, MileageUnit: MileageUnit(v.Unit), Words: v.Words, Lines: v.Lines, Done: v.Done,
	}
}

// VehicleRecord is everything about one car.
type VehicleRecord struct {
	Vehicle
	Notes    []string      `json:"notes" doc:"What is unusual about mark and VIN; it refuses nothing."`
	Hints    []VehicleHint `json:"hints" doc:"What mark and VIN suggest; never facts."`
	Facts    []Known       `json:"facts"`
	Unknown  []FactName    `json:"unknown" doc:"The facts that nobody has noted, the easiest to read first; see choices for how."`
	Cautions []caution.Key `json:"cautions" doc:"Those that its facts call for."`
	Keeper   *KeptNow      `json:"keeper,omitempty"`
	Keepers  []Keeper      `json:"keepers" doc:"The latest first."`
	Visits   []Visit       `json:"visits" doc:"The latest first."`
}

// KeptNow is who keeps a car now. How to reach them is there for those who
// may read customers.
type KeptNow struct {
	ID      customer.ID `json:"id"`
	Name    string      `json:"name"`
	Phone   string      `json:"phone,omitempty"`
	Email   string      `json:"email,omitempty"`
	Address string      `json:"address,omitempty"`
	Note    string      `json:"note,omitempty"`
}

func recordOf(r *vehicle.Record, who actor.Actor) VehicleRecord {
	out := VehicleRecord{
		Vehicle: vehicleOf(r.Vehicle), Notes: list(r.Notes, same), Facts: list(r.Facts, knownOf),
		Hints: list(r.Hints, hintOf), Unknown: list(r.Unknown, func(k fact.Key) FactName { return FactName(k.Key) }), Cautions: list(r.Cautions, same),
		Keepers: list(r.Keepers, keeperOf), Visits: list(r.Visits, visitOf),
	}
	if k := r.Keeper; k != nil {
		out.Keeper = &KeptNow{ID: k.ID, Name: k.Name}
		if who.May(actor.ReadPeople) {
			out.Keeper = &KeptNow{ID: k.ID, Name: k.Name, Phone: k.Phone, Email: k.Email, Address: k.Address, Note: k.Note}
		}
	}
	return out
}
