package api

import (
	"context"
	"net/http"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// House is what everybody may know of the garage.
type House struct {
	Name     string    `json:"name"`
	Zone     string    `json:"zone" doc:"A zone of the IANA database; the garage's day is a day there."`
	Currency string    `json:"currency" doc:"ISO 4217. All money here is in hundredths of it."`
	Opens    Clock     `json:"opens"`
	Closes   Clock     `json:"closes"`
	WorkDays []Weekday `json:"work_days"`
	Today    Day       `json:"today" doc:"The garage's day as of this answer."`
}

// SettingsBody is how the garage is set up.
type SettingsBody struct {
	Name             string         `json:"name" maxLength:"400"`
	Address          string         `json:"address,omitempty" maxLength:"2000" doc:"Several lines."`
	Phone            string         `json:"phone,omitempty" maxLength:"400" example:"01632 960123"`
	Email            string         `json:"email,omitempty" maxLength:"400" example:"ada@example.com"`
	VATNumber        string         `json:"vat_number,omitempty" maxLength:"100" doc:"Empty while the garage is not registered."`
	Zone             string         `json:"zone" maxLength:"100" example:"Europe/London"`
	Currency         string         `json:"currency" maxLength:"10" example:"GBP" doc:"ISO 4217, with two decimals."`
	Opens            Clock          `json:"opens"`
	Closes           Clock          `json:"closes"`
	WorkDays         []Weekday      `json:"work_days" maxItems:"7"`
	StandardCostRate money.Minor    `json:"cost_rate_minor" doc:"What an hour of labour is planned to cost."`
	DefaultMarkUp    money.Rate     `json:"default_mark_up_bp" doc:"Put on the cost of parts that carry no price of their own."`
	VATRounding      money.Rounding `json:"vat_rounding"`
	TaxName          string         `json:"tax_name,omitempty" maxLength:"80" doc:"What people call the tax; VAT when left out."`
	Sundries         *SundriesBody  `json:"sundries,omitempty" doc:"Small material, charged on every card; none when left out."`
	Version          int            `json:"version" minimum:"0" doc:"0 sets the garage up."`
}

// SundriesBody is the charge for small material.
type SundriesBody struct {
	Name    string            `json:"name,omitempty" maxLength:"400"`
	Percent money.Rate        `json:"percent_bp" doc:"0 charges none."`
	On      garage.SundriesOn `json:"on,omitempty" doc:"Labour when left out."`
	Cap     *money.Minor      `json:"cap_minor,omitempty" nullable:"true" doc:"The most on one card, net."`
}

func sundriesBody(s garage.Sundries) *SundriesBody {
	return &SundriesBody{Name: s.Name, Percent: s.Percent, On: s.On, Cap: s.Cap}
}

func (b *SundriesBody) sundries() garage.Sundries {
	if b == nil {
		return garage.Sundries{}
	}
	return garage.Sundries{Name: b.Name, Percent: b.Percent, On: b.On, Cap: b.Cap}
}

func settingsBody(s garage.Settings) SettingsBody {
	return SettingsBody{
		Name: s.Name, Address: s.Address, Phone: s.Phone, Email: s.Email, VATNumber: s.VATNumber, Zone: s.ZoneName, Currency: s.Currency,
		Opens: clock(s.Opens), Closes: clock(s.Closes), WorkDays: list(s.WorkDays, weekday), StandardCostRate: s.StandardCostRate,
		DefaultMarkUp: s.DefaultMarkupBP, VATRounding: s.VATRounding,
		TaxName: s.TaxName, Sundries: sundriesBody(s.Sundries), Version: s.Version,
	}
}

func (b SettingsBody) settings() garage.Settings {
	return garage.Settings{
		Name: b.Name, Address: b.Address, Phone: b.Phone, Email: b.Email, VATNumber: b.VATNumber, ZoneName: b.Zone, Currency: b.Currency,
		Opens: b.Opens.Clock, Closes: b.Closes.Clock, WorkDays: list(b.WorkDays, Weekday.day), StandardCostRate: b.StandardCostRate,
		DefaultMarkupBP: b.DefaultMarkUp, VATRounding: b.VATRounding,
		TaxName: b.TaxName, Sundries: b.Sundries.sundries(), Version: b.Version,
	}
}

// Caution is what can hurt, what to do about it, and who says so.
type Caution struct {
	Key    caution.Key `json:"key"`
	Title  string      `json:"title"`
	Text   string      `json:"text"`
	Source string      `json:"source" doc:"Where its facts are published."`
}

func cautionsOf(cs []caution.Caution) []Caution {
	return list(cs, func(c caution.Caution) Caution { return Caution(c) })
}

// Choices are what the fields of a card choose from: only what is in use.
type Choices struct {
	Operations  []Operation  `json:"operations"`
	LabourTypes []LabourType `json:"labour_types"`
	Suppliers   []Supplier   `json:"suppliers"`
	Cautions    []Caution    `json:"cautions"`
	CautionNote string       `json:"caution_note" doc:"Stands below every list of cautions."`
	Facts       []FactKind   `json:"facts"`
	Stages      []StageMoves `json:"stages"`
	Currency    string       `json:"currency,omitempty" doc:"Of the money in this answer; absent when there is none."`
}

// StageMoves says which stages may follow one by hand.
type StageMoves struct {
	Stage jobcard.Stage   `json:"stage"`
	Next  []jobcard.Stage `json:"next"`
}

func (a *API) garageOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/garage", id: "get-garage", need: actor.ReadCards, tag: "Garage",
		short: "The garage's name, hours, zone and currency",
	}, func(ctx context.Context, _ actor.Actor, _ *Nothing) (House, error) {
		s, err := garage.Load(ctx, a.DB.Pool)
		if err != nil {
			return House{}, err
		}
		return House{
			Name: s.Name, Zone: s.ZoneName, Currency: s.Currency, Opens: clock(s.Opens), Closes: clock(s.Closes),
			WorkDays: list(s.WorkDays, weekday), Today: on(s.Today(a.DB.Now())),
		}, nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/choices", id: "get-choices", need: actor.ReadCards, tag: "Garage",
		short: "What the fields of a card choose from",
		long:  "Operations, labour, suppliers, cautions, and what may be known of a car; only what is in use.",
	}, a.choices)
	register(a, operation{
		method: http.MethodGet, path: "/garage/settings", id: "get-settings", need: actor.ManageGarage, tag: "Garage",
		short: "How the garage is set up",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (SettingsBody, error) {
		s, err := a.Garage.Settings(ctx, who)
		return settingsBody(s), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/garage/settings", id: "save-settings", need: actor.ManageGarage, tag: "Garage",
		short: "Set the garage up, or change how it is set up",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body SettingsBody }) (SettingsBody, error) {
		s, err := a.Garage.SaveSettings(ctx, who, in.Body.settings())
		return settingsBody(s), moved(err, func(name string) string {
			if field, ok := strings.CutPrefix(name, "sundries_"); ok {
				return "sundries." + field
			}
			return name
		})
	})
}

func (a *API) choices(ctx context.Context, who actor.Actor, _ *Nothing) (Choices, error) {
	l, err := a.Garage.Lists(ctx, who)
	if err != nil {
		return Choices{}, err
	}
	money := who.May(actor.SeeMargins)
	out := Choices{
		Operations:  list(l.Operations, func(o garage.Operation) Operation { return operationOf(o, money) }),
		LabourTypes: list(l.LabourTypes, func(t garage.LabourType) LabourType { return labourTypeOf(t, money) }),
		Suppliers:   list(l.Suppliers, supplierOf),
		Cautions:    cautionsOf(caution.All()), CautionNote: caution.Sentence,
		Facts:  list(fact.Vocabulary(), factKind),
		Stages: list(stages, func(s jobcard.Stage) StageMoves { return StageMoves{s, list(s.Next(), same)} }),
	}
	out.Currency, err = a.currency(ctx, who)
	return out, err
}

var stages = []jobcard.Stage{jobcard.Booked, jobcard.OnSite, jobcard.InWork, jobcard.Ready, jobcard.Collected, jobcard.Cancelled}

// currency names the garage's currency to those who see money at all.
func (a *API) currency(ctx context.Context, who actor.Actor) (string, error) {
	if !who.May(actor.SeeMargins) {
		return "", nil
	}
	s, err := garage.Load(ctx, a.DB.Pool)
	return s.Currency, err
}
