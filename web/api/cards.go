package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/vehicle"
)

// CardAt is one card in the address.
type CardAt struct {
	Card jobcard.CardID `path:"card" minimum:"1" doc:"The number written on the card."`
}

// VisitBody is what is said about a visit itself.
type VisitBody struct {
	BookedFor     Day         `json:"booked_for" doc:"The day the car comes in."`
	ArrivesAt     Time        `json:"arrives_at,omitzero"`
	PromisedAt    Time        `json:"promised_at,omitzero" doc:"The collection time given to the customer."`
	Mileage       *int        `json:"mileage,omitempty" nullable:"true"`
	MileageUnit   MileageUnit `json:"mileage_unit,omitempty" doc:"Miles when left out."`
	CustomerWords string      `json:"customer_words,omitempty" maxLength:"8000" doc:"What the customer said, in their words."`
	KeysNote      string      `json:"keys_note,omitempty" maxLength:"400"`
	ContactName   string      `json:"contact_name,omitempty" maxLength:"400"`
	ContactPhone  string      `json:"contact_phone,omitempty" maxLength:"400"`
}

func (b VisitBody) visit() jobcard.Visit {
	return jobcard.Visit{
		BookedFor: b.BookedFor.Day, ArrivesAt: b.ArrivesAt.Time, PromisedAt: b.PromisedAt.Time, Mileage: b.Mileage,
		MileageUnit: string(b.MileageUnit), CustomerWords: b.CustomerWords, KeysNote: b.KeysNote, ContactName: b.ContactName,
		ContactPhone: b.ContactPhone,
	}
}

// VisitEdit is what is said about a visit, with the card's version.
type VisitEdit struct {
	VisitBody
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// BookingBody is a car being taken in: who, which car, when, and the list.
type BookingBody struct {
	VehicleID  vehicle.ID       `json:"vehicle_id,omitempty" minimum:"1" doc:"A car on file; or else a new one."`
	Vehicle    *VehicleBody     `json:"vehicle,omitempty"`
	Facts      []FactBody       `json:"facts,omitempty" maxItems:"60"`
	CustomerID customer.ID      `json:"customer_id,omitempty" minimum:"1" doc:"A customer on file, or else a new one. Left out both, a known car keeps its keeper."`
	Customer   *CustomerBody    `json:"customer,omitempty"`
	Here       bool             `json:"here,omitempty" doc:"The car is on site as it is booked."`
	Lines      []NewLine        `json:"lines,omitempty" maxItems:"100"`
	Yes        Way              `json:"agreed_how,omitempty" doc:"How the customer said yes to the whole list and its prices; left out when they have not been asked."`
	TakeBack   []jobcard.LineID `json:"take_back,omitempty" maxItems:"100" doc:"Left-over lines of earlier visits of this car."`
	VisitBody
}

func (b BookingBody) booking() jobcard.Booking {
	out := jobcard.Booking{
		VehicleID: b.VehicleID, Facts: list(b.Facts, FactBody.input), CustomerID: b.CustomerID, NewCustomer: b.Customer.input(),
		Visit: b.visit(), Here: b.Here, Lines: list(b.Lines, NewLine.line), TakeBack: b.TakeBack, Yes: string(b.Yes),
	}
	if b.Vehicle != nil {
		in := b.Vehicle.input()
		out.NewVehicle = &in
	}
	return out
}

// StageBody moves a card on.
type StageBody struct {
	Stage  jobcard.Stage `json:"stage"`
	Reason string        `json:"reason,omitempty" maxLength:"400" doc:"Needed to cancel."`
}

// AnswerBody is the customer's answer to lines.
type AnswerBody struct {
	Lines  []jobcard.LineID `json:"line_ids,omitempty" maxItems:"100" doc:"The lines answered; none means every line that is still asked."`
	Answer jobcard.Consent  `json:"answer" doc:"Agreed or declined."`
	SaidBy string           `json:"said_by" maxLength:"400"`
	How    Way              `json:"how"`
	UpTo   *money.Minor     `json:"up_to_minor,omitempty" nullable:"true" doc:"A limit that goes with a yes, with VAT: a dearer price within it needs no new yes."`
	ForAll bool             `json:"up_to_for_card,omitempty" doc:"The limit is for the card as a whole, not for each line."`
}

// Changed is the result of a change to a card or to something on it.
type Changed struct {
	CardID  jobcard.CardID `json:"card_id"`
	LineID  jobcard.LineID `json:"line_id,omitempty"`
	PartID  jobcard.PartID `json:"part_id,omitempty"`
	ExtraID int64          `json:"extra_id,omitempty" doc:"The discount or surcharge, the menu or the fee."`
	Version int            `json:"version,omitempty" doc:"The new version of what was changed."`
}

func changedOf(c jobcard.Changed, err error) (Changed, error) { return Changed(c), err }

func (a *API) cardOperations() {
	register(a, operation{
		method: http.MethodPost, path: "/cards", id: "book-in", need: actor.BookIn, tag: "Cards", status: http.StatusCreated,
		short: "Book a car in",
		long:  "The car, the customer and the card with its lines, all or nothing. A line with operation_id takes from the operation what it does not say.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body BookingBody }) (Changed, error) {
		return changedOf(a.Cards.Book(ctx, who, in.Body.booking()))
	})
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}", id: "get-card", need: actor.ReadCards, tag: "Cards",
		short: "A whole card: its lines, parts, answers, snags, photos and quote",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (CardSheet, error) {
		s, err := a.Cards.Sheet(ctx, who, in.Card)
		if err != nil {
			return CardSheet{}, err
		}
		out := sheetOf(s)
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodPut, path: "/cards/{card}/visit", id: "edit-visit", need: actor.EditCard, tag: "Cards",
		short: "Change what is said about a visit: its day, promise, mileage, words, keys and contact",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body VisitEdit
	}) (Changed, error) {
		return changedOf(a.Cards.EditVisit(ctx, who, jobcard.EditVisitInput{CardID: in.Card, Version: in.Body.Version, Visit: in.Body.visit()}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/stage", id: "set-stage", need: actor.EditCard, tag: "Cards",
		short: "Move a card to another stage",
		long:  "A card can be ready only when nothing on it is left open and every safety line has its second check; see not_ready of the card.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body StageBody
	}) (Changed, error) {
		return changedOf(a.Cards.SetStage(ctx, who, jobcard.StageInput{CardID: in.Card, Stage: in.Body.Stage, Reason: in.Body.Reason}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/answers", id: "record-answer", need: actor.RecordConsent, tag: "Cards",
		short: "Record what the customer said to lines",
		long:  "The price and the hours agreed to are those of this moment. Nobody can start or tick a line that is not agreed.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body AnswerBody
	}) (Changed, error) {
		return changedOf(a.Cards.Answer(ctx, who, jobcard.ConsentInput{
			CardID: in.Card, Lines: in.Body.Lines, Answer: in.Body.Answer, SaidBy: in.Body.SaidBy, How: string(in.Body.How),
			UpTo: in.Body.UpTo, UpToForCard: in.Body.ForAll,
		}))
	})
}
