package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/roster"
)

// DayEnd is what a day came to.
type DayEnd struct {
	Day         Day           `json:"day"`
	Now         Time          `json:"now"`
	Over        bool          `json:"over" doc:"The day has passed; else the figures are those so far."`
	Currency    string        `json:"currency"`
	Totals      Results       `json:"totals"`
	Cards       []CardResult  `json:"cards"`
	Hours       DayHours      `json:"hours"`
	Unrecovered []Unrecovered `json:"unrecovered" doc:"Work that brings nothing."`
	Lost        Forgone       `json:"lost" doc:"What of it has ended so."`
	AtRisk      Forgone       `json:"at_risk" doc:"What of it may still be agreed."`
	Asked       []StillAsked  `json:"asked" doc:"Lines that the customer has still to be asked about."`
	Checks      []DayCheck    `json:"checks" doc:"To be put right before the figures hold."`
}

// CardCost is the whole of one card's life, so far.
type CardCost struct {
	CardResult
	Now      Time   `json:"now"`
	Currency string `json:"currency"`
}

// Forgone is work that brought nothing.
type Forgone struct {
	Time  int64       `json:"time_seconds"`
	Cost  money.Minor `json:"cost_minor" doc:"Labour and parts."`
	Price money.Minor `json:"price_minor" doc:"What it would have brought."`
}

func forgoneOf(f dayend.Forgone) Forgone { return Forgone{seconds(f.Time), f.Cost, f.Price} }

// Unrecovered is one line of such work.
type Unrecovered struct {
	CardID jobcard.CardID `json:"card_id"`
	Mark   string         `json:"mark"`
	LineID jobcard.LineID `json:"line_id"`
	Title  string         `json:"title"`
	Why    string         `json:"why"`
	Forgone
	Open bool `json:"open" doc:"The customer may still agree to it."`
}

// StillAsked is a line that the customer has still to be asked about.
type StillAsked struct {
	CardID jobcard.CardID `json:"card_id"`
	Mark   string         `json:"mark"`
	LineID jobcard.LineID `json:"line_id"`
	Title  string         `json:"title"`
	Found  string         `json:"found_during,omitempty" doc:"The line during which it was found."`
	Again  bool           `json:"again" doc:"It was agreed to at a lower price."`
	Price  money.Minor    `json:"price_minor"`
}

// DayCheck is something to be put right. What it is not about is absent.
type DayCheck struct {
	Words        string              `json:"words"`
	CardID       jobcard.CardID      `json:"card_id,omitempty"`
	LineID       jobcard.LineID      `json:"line_id,omitempty"`
	ClockingID   clocking.ID         `json:"clocking_id,omitempty"`
	AttendanceID roster.AttendanceID `json:"attendance_id,omitempty"`
}

func (a *API) dayEndOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/days-end", id: "get-days-end", need: actor.SeeMargins, tag: "Day's end",
		short: "What a day came to: cost against quote, what was not done and why, and how hours were used",
		long:  "Variances are actual less standard: one above zero is adverse.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Day Day `query:"day" doc:"Today so far when left out."`
	}) (DayEnd, error) {
		d, err := a.DayEnd.Day(ctx, who, in.Day.Day)
		if err != nil {
			return DayEnd{}, err
		}
		return DayEnd{
			Day: on(d.Day), Now: at(d.Now), Over: d.Over, Currency: d.Garage.Currency, Totals: resultsOf(d.Totals), Cards: list(d.Cards, cardResultOf),
			Hours: dayHoursOf(d.Hours), Lost: forgoneOf(d.Lost), AtRisk: forgoneOf(d.AtRisk),
			Unrecovered: list(d.Unrecovered, func(u dayend.Unrecovered) Unrecovered {
				return Unrecovered{u.Card, u.Mark, u.Line, u.Title, u.Why, forgoneOf(u.Forgone), u.Open}
			}),
			Asked: list(d.Asked, func(s dayend.Asked) StillAsked {
				return StillAsked{s.Card, s.Mark, s.Line, s.Title, s.Found, s.Again, s.Price}
			}),
			Checks: list(d.Checks, func(c dayend.Check) DayCheck { return DayCheck{c.Words, c.Card, c.Line, c.Clocking, c.Attendance} }),
		}, nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/cost", id: "get-card-cost", need: actor.SeeMargins, tag: "Day's end",
		short: "Cost against quote of one card, over the whole of its life so far",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (CardCost, error) {
		w, err := a.DayEnd.Card(ctx, who, in.Card)
		if err != nil {
			return CardCost{}, err
		}
		return CardCost{cardResultOf(w.CardResult), at(w.Now), w.Garage.Currency}, nil
	})
}
