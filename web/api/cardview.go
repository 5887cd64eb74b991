package api

import (
	"maps"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/photo"
	"rampside/internal/vehicle"
)

// Card is one visit, without its lines.
type Card struct {
	ID            jobcard.CardID  `json:"id" doc:"Also the number written on the card."`
	VehicleID     vehicle.ID      `json:"vehicle_id"`
	CustomerID    customer.ID     `json:"customer_id"`
	Stage         jobcard.Stage   `json:"stage"`
	BookedFor     Day             `json:"booked_for"`
	ArrivesAt     Time            `json:"arrives_at,omitzero"`
	PromisedAt    Time            `json:"promised_at,omitzero"`
	Mileage       *int            `json:"mileage,omitempty"`
	MileageUnit   MileageUnit     `json:"mileage_unit"`
	CustomerWords string          `json:"customer_words,omitempty"`
	KeysNote      string          `json:"keys_note,omitempty"`
	ContactName   string          `json:"contact_name,omitempty"`
	ContactPhone  string          `json:"contact_phone,omitempty"`
	CreatedAt     Time            `json:"created_at"`
	CreatedBy     actor.StaffID   `json:"created_by_id,omitempty"`
	OnSiteAt      Time            `json:"on_site_at,omitzero"`
	ReadyAt       Time            `json:"ready_at,omitzero"`
	CollectedAt   Time            `json:"collected_at,omitzero"`
	CancelReason  string          `json:"cancel_reason,omitempty"`
	UpTo          *money.Minor    `json:"up_to_minor,omitempty" doc:"The customer's limit for the whole card, with VAT."`
	Version       int             `json:"version"`
	Next          []jobcard.Stage `json:"next_stages" doc:"The stages that may follow by hand."`
}

// cardOf shows a card; people says whether its contact may be seen.
func cardOf(c jobcard.Card, people bool) Card {
	out := Card{
		ID: c.ID, VehicleID: c.VehicleID, CustomerID: c.CustomerID, Stage: c.Stage, BookedFor: on(c.BookedFor), ArrivesAt: at(c.ArrivesAt),
		PromisedAt: at(c.PromisedAt), Mileage: c.Mileage, MileageUnit: MileageUnit(c.MileageUnit), CustomerWords: c.CustomerWords,
		KeysNote: c.KeysNote, CreatedAt: at(c.CreatedAt), CreatedBy: c.CreatedBy, OnSiteAt: at(c.OnSiteAt), ReadyAt: at(c.ReadyAt),
		CollectedAt: at(c.CollectedAt), CancelReason: c.CancelReason, Version: c.Version, Next: list(c.Stage.Next(), same),
	}
	if people {
		out.ContactName, out.ContactPhone, out.UpTo = c.ContactName, c.ContactPhone, c.UpTo
	}
	return out
}

// CardSheet is a whole card.
type CardSheet struct {
	Card
	Vehicle  CardVehicle  `json:"vehicle"`
	Customer CardCustomer `json:"customer"`
	Lines    []SheetLine  `json:"lines" doc:"In their order on the card."`
	Parts    []Part       `json:"parts"`
	Answers  []Answer     `json:"answers"`
	Snags    []Snag       `json:"snags"`
	Findings []Finding    `json:"findings"`
	Photos   []CardPhoto  `json:"photos"`
	Staff    []Person     `json:"staff" doc:"The names behind the numbers of people."`
	NotReady []string     `json:"not_ready" doc:"What stands between the card and being ready, in words."`
	Quote    *Quote       `json:"quote,omitempty"`
	Prices   *Prices      `json:"prices,omitempty" doc:"Discounts, surcharges, menus and fees."`
	Currency string       `json:"currency,omitempty" doc:"Of the money in this answer; absent when there is none."`
}

// CardVehicle is the car as its card shows it.
type CardVehicle struct {
	ID       vehicle.ID    `json:"id"`
	Mark     string        `json:"mark,omitempty"`
	VIN      string        `json:"vin,omitempty"`
	Make     string        `json:"make"`
	Model    string        `json:"model,omitempty"`
	Colour   string        `json:"colour,omitempty"`
	Facts    []Known       `json:"facts"`
	Cautions []caution.Key `json:"cautions" doc:"Those that its facts call for."`
}

// CardCustomer is the customer as the card shows them.
type CardCustomer struct {
	ID      customer.ID `json:"id"`
	Name    string      `json:"name"`
	Phone   string      `json:"phone,omitempty"`
	Email   string      `json:"email,omitempty"`
	Address string      `json:"address,omitempty"`
}

// Person is somebody on the staff.
type Person struct {
	ID   actor.StaffID `json:"id"`
	Name string        `json:"name"`
}

// Answer is one yes or no, as it was given.
type Answer struct {
	LineID  jobcard.LineID  `json:"line_id"`
	Answer  jobcard.Consent `json:"answer"`
	SaidBy  string          `json:"said_by"`
	How     Way             `json:"how"`
	Minutes int64           `json:"minutes" doc:"The time that was answered to."`
	Net     *money.Minor    `json:"net_minor,omitempty" doc:"The price that was answered to."`
	UpTo    *money.Minor    `json:"up_to_minor,omitempty" doc:"The limit that was given with it, with VAT."`
	TakenBy actor.StaffID   `json:"taken_by_id,omitempty"`
	At      Time            `json:"at"`
}

// Snag is one thing that got in the way of a line.
type Snag struct {
	ID     int64            `json:"id"`
	LineID jobcard.LineID   `json:"line_id"`
	PartID jobcard.PartID   `json:"part_id,omitempty"`
	Kind   jobcard.SnagKind `json:"kind"`
	Note   string           `json:"note,omitempty"`
	By     actor.StaffID    `json:"by_id,omitempty"`
	At     Time             `json:"at"`
	LedTo  jobcard.LineID   `json:"led_to_line_id,omitempty" doc:"The line of the work that was found."`
}

// Finding is something seen or measured on the car.
type Finding struct {
	ID       int64            `json:"id"`
	LineID   jobcard.LineID   `json:"line_id,omitempty" doc:"Where it was found."`
	Severity jobcard.Severity `json:"severity"`
	What     string           `json:"what"`
	Measured string           `json:"measured,omitempty"`
	Limit    string           `json:"limit,omitempty"`
	Proposed jobcard.LineID   `json:"proposed_line_id,omitempty"`
	By       actor.StaffID    `json:"by_id,omitempty"`
	At       Time             `json:"at"`
}

// CardPhoto is a photo on a line.
type CardPhoto struct {
	ID      photo.ID       `json:"id"`
	LineID  jobcard.LineID `json:"line_id"`
	Width   int            `json:"width"`
	Height  int            `json:"height"`
	Caption string         `json:"caption,omitempty"`
	At      Time           `json:"at"`
	By      actor.StaffID  `json:"by_id,omitempty"`
}

func sheetOf(s *jobcard.Sheet) CardSheet {
	out := CardSheet{
		// What may not be seen of people the service has taken out.
		Card: cardOf(s.Card, true),
		Vehicle: CardVehicle{
			ID: s.Vehicle.ID, Mark: s.Vehicle.Mark, VIN: s.Vehicle.VIN, Make: s.Vehicle.Make, Model: s.Vehicle.Model, Colour: s.Vehicle.Colour,
			Facts: list(s.Vehicle.Facts, knownOf), Cautions: list(s.Vehicle.Caution, same),
		},
		Customer: CardCustomer(s.Customer),
		Lines:    list(s.Lines, func(l jobcard.Line) SheetLine { return sheetLineOf(s, l) }),
		Parts:    list(s.Parts, func(p jobcard.Part) Part { return partOf(p, s.Costs) }),
		Answers: list(s.Consents, func(c jobcard.ConsentGiven) Answer {
			return Answer{c.LineID, c.Answer, c.SaidBy, Way(c.How), minutes(c.Time), onlyIf(s.Costs, c.Net), c.UpTo, c.TakenBy, at(c.At)}
		}),
		Snags: list(s.Snags, func(g jobcard.Snag) Snag {
			return Snag{g.ID, g.LineID, g.PartID, g.Kind, g.Note, g.By, at(g.At), g.LedTo}
		}),
		Findings: list(s.Findings, func(f jobcard.Finding) Finding {
			return Finding{f.ID, f.LineID, f.Severity, f.What, f.Measured, f.Limit, f.Proposed, f.By, at(f.At)}
		}),
		Photos: list(s.Photos, func(p jobcard.SheetPhoto) CardPhoto {
			return CardPhoto{photo.ID(p.ID), p.LineID, p.Width, p.Height, p.Caption, at(p.At), p.By}
		}),
		NotReady: list(s.NotReady(), same),
	}
	out.Staff = peopleOf(s.Staff)
	if s.Costs {
		out.Quote, out.Prices = quoteOf(s.Quote), pricesOf(s)
	}
	return out
}

func peopleOf(staff map[actor.StaffID]string) []Person {
	return list(slices.Sorted(maps.Keys(staff)), func(id actor.StaffID) Person { return Person{id, staff[id]} })
}
