package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/forecast"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/outlook"
)

// DayOutlook is whether today's promises will be kept, as it was worked out
// last.
type DayOutlook struct {
	Day        Day              `json:"day,omitzero"`
	At         Time             `json:"worked_out_at,omitzero" doc:"Absent while nothing has been worked out today: ask again in a moment."`
	Newer      int              `json:"newer_events" doc:"Events since, up to 100; it is being worked out anew when there are any."`
	Off        string           `json:"off,omitempty" doc:"Why there is no forecast."`
	Words      string           `json:"words"`
	AllDone    float64          `json:"all_done_chance" doc:"That every car is finished by closing."`
	OnTime     float64          `json:"expected_on_time" doc:"How many promises are kept on average."`
	Promised   int              `json:"promised"`
	Cars       []CarOutlook     `json:"cars" doc:"In the order in which they are taken."`
	Leave      []CouldLeave     `json:"could_be_left" doc:"What put off to another day surely keeps more promises."`
	Order      []jobcard.CardID `json:"better_order" doc:"Empty when none is surely better."`
	OrderGain  float64          `json:"better_order_gain"`
	Costs      []WouldCost      `json:"would_cost"`
	Lines      int              `json:"learned_from_lines"`
	Young      bool             `json:"goes_by_estimates" doc:"Too little has been learned yet."`
	Corrected  int              `json:"corrected_by"`
	Played     int              `json:"days_played"`
	Notes      []string         `json:"assumed"`
	OwnOrdered bool             `json:"order_was_set"`
}

// CarOutlook is what is said of one car.
type CarOutlook struct {
	CardID   jobcard.CardID `json:"card_id"`
	Mark     string         `json:"mark"`
	Car      string         `json:"car"`
	Promise  Time           `json:"promised_at,omitzero"`
	Chance   float64        `json:"on_time_chance" doc:"Corrected by what became of earlier forecasts; 1 without a promise."`
	Error    float64        `json:"standard_error" doc:"Of playing so many days and no more."`
	Half     Time           `json:"half_by,omitzero" doc:"Absent when it is later than the days that were looked at."`
	Eighty   Time           `json:"eighty_by,omitzero"`
	Ninety   Time           `json:"ninety_by,omitzero"`
	InTwenty int            `json:"days_in_twenty" doc:"On which the promise is kept, or without one the car is done by closing."`
	Words    string         `json:"words"`
	Causes   []LateCause    `json:"late_because" doc:"The shares of the days on which it is late; they come to 1."`
	Lines    int            `json:"lines"`
	Done     int            `json:"lines_done"`
	Over     bool           `json:"over" doc:"Carried over from an earlier day."`
	Here     bool           `json:"here"`
	Pinned   bool           `json:"keeps_its_place"`
}

// LateCause is a share of why a car is late when it is.
type LateCause struct {
	Kind   forecast.Kind  `json:"kind"`
	LineID jobcard.LineID `json:"line_id,omitempty"`
	Words  string         `json:"words"`
	Share  float64        `json:"share"`
}

// CouldLeave is something that could be put off.
type CouldLeave struct {
	CardID jobcard.CardID   `json:"card_id"`
	Lines  []jobcard.LineID `json:"line_ids"`
	Move   bool             `json:"whole_car"`
	Sales  money.Minor      `json:"sales_minor,omitempty" doc:"Net, put off with it."`
	Gain   float64          `json:"gain" doc:"In promises kept."`
	Error  float64          `json:"gain_error"`
	Before float64          `json:"chance_before"`
	After  float64          `json:"chance_after"`
}

// WouldCost is what a late part or somebody's going would cost.
type WouldCost struct {
	LineID  jobcard.LineID `json:"line_id,omitempty"`
	Until   Time           `json:"until,omitzero"`
	StaffID actor.StaffID  `json:"staff_id,omitempty"`
	Name    string         `json:"name"`
	Lost    float64        `json:"lost" doc:"In promises kept."`
	Error   float64        `json:"lost_error"`
}

// DayOrder is the order that the cars are taken in.
type DayOrder struct {
	Day    Day              `json:"day"`
	Cards  []jobcard.CardID `json:"card_ids" maxItems:"200" doc:"None: by promise again."`
	Pinned []jobcard.CardID `json:"keep_their_places,omitempty" maxItems:"200"`
}

// SafePromises are what the coming days could promise to another car.
type SafePromises struct {
	Level float64       `json:"level" doc:"With which a promise is kept."`
	Off   string        `json:"off,omitempty"`
	Days  []SafePromise `json:"days"`
}

// SafePromise is one day's.
type SafePromise struct {
	Day     Day     `json:"day"`
	Promise Time    `json:"promise_at,omitzero" doc:"The earliest that is kept with the level; absent when it is later than the days that were looked at."`
	Fits    float64 `json:"done_by_closing_chance"`
	Lost    float64 `json:"others_lose" doc:"Promises of those booked already; 0 when none surely."`
	Safe    bool    `json:"safe"`
	Booked  int     `json:"cars_booked"`
}

// LearnedHours is what was learned of each operation.
type LearnedHours struct {
	At         Time               `json:"learned_at,omitzero"`
	Lines      int                `json:"lines"`
	Young      bool               `json:"too_few"`
	Operations []LearnedOperation `json:"operations"`
}

// LearnedOperation is what was learned of one operation on one engine layout.
type LearnedOperation struct {
	OperationID garage.OperationID `json:"operation_id"`
	Version     int                `json:"operation_version"`
	Name        string             `json:"name"`
	Layout      string             `json:"engine_layout,omitempty"`
	Estimate    int64              `json:"estimate_minutes"`
	Times       float64            `json:"times_estimate" doc:"In the middle."`
	Low         float64            `json:"times_low" doc:"9 times in 10 it is between these."`
	High        float64            `json:"times_high"`
	Lines       int                `json:"lines"`
	Suggested   int64              `json:"suggested_minutes,omitempty"`
	From        []LearnedLine      `json:"from"`
}

// LearnedLine is one line behind it.
type LearnedLine struct {
	CardID   jobcard.CardID `json:"card_id"`
	LineID   jobcard.LineID `json:"line_id"`
	Estimate int64          `json:"estimate_minutes"`
	Worked   int64          `json:"worked_seconds"`
	Open     bool           `json:"not_finished"`
	Doubtful bool           `json:"clocking_doubtful"`
}

// LearnedHoursBody accepts a suggestion.
type LearnedHoursBody struct {
	Version int   `json:"operation_version" minimum:"1" maximum:"2147483647"`
	Minutes int64 `json:"minutes" minimum:"3" maximum:"12000"`
}

// Ramps is how many cars can be up at once.
type Ramps struct {
	Ramps   int `json:"ramps" minimum:"0" maximum:"50" doc:"0: not said, and then none is ever waited for."`
	Version int `json:"version,omitempty" minimum:"0" maximum:"2147483647"`
}

// KeptForecasts is how good forecasts were.
type KeptForecasts struct {
	Cars   int     `json:"cars"`
	Early  bool    `json:"too_early"`
	Rate   float64 `json:"kept_share"`
	Brier  float64 `json:"brier"`
	Raw    float64 `json:"brier_uncorrected"`
	Added  float64 `json:"brier_hours_added_up"`
	Normal float64 `json:"brier_normal"`
	Level  float64 `json:"level"`
	Bins   []Said  `json:"said" doc:"Groups of cars of which about the same was said."`
	Cover  []Said  `json:"held" doc:"Of the times that were said to hold with a chance."`
}

// Said is what was said, and how often it came about.
type Said struct {
	Said float64 `json:"said"`
	Was  float64 `json:"was"`
	N    int     `json:"cars"`
}

func (a *API) outlookOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/outlook", id: "get-outlook", need: actor.ReadCards, tag: "Outlook", short: "Whether today's promises will be kept",
		long: "As it was worked out last; it is worked out anew within a second of anything that touches the day.",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (DayOutlook, error) {
		r, err := a.Outlook.Today(ctx, who)
		return dayOutlookOf(r), err
	})
	registerEmpty(a, operation{
		method: http.MethodPut, path: "/outlook/order", id: "set-day-order", need: actor.EditCard, tag: "Outlook", short: "Set the order that today's cars are taken in",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body DayOrder }) error {
		return a.Outlook.SetOrder(ctx, who, outlook.OrderInput{Day: in.Body.Day.Day, Cards: in.Body.Cards, Pinned: in.Body.Pinned})
	})
	register(a, operation{
		method: http.MethodGet, path: "/outlook/promises", id: "get-safe-promises", need: actor.BookIn, tag: "Outlook",
		short: "What the coming days could promise to a car that is not booked", long: "For one that is taken last on its day.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Operations []int64 `query:"operations" required:"true" minItems:"1" maxItems:"30" doc:"Numbers of operations, with commas."`
		Day        Day     `query:"day" doc:"The first to look at; today when left out."`
	}) (SafePromises, error) {
		o, err := a.Outlook.Offers(ctx, who, outlook.OfferInput{Operations: list(in.Operations, func(id int64) garage.OperationID { return garage.OperationID(id) }), From: in.Day.Day})
		return SafePromises{o.Level, o.Off, list(o.Days, func(d outlook.Offer) SafePromise {
			return SafePromise{on(d.Day), momentOf(d.Promise), d.Fits, d.Lost, d.Safe, d.Booked}
		})}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/outlook/learned", id: "get-learned-hours", need: actor.SeeMargins, tag: "Outlook",
		short: "What was learned of each operation's hours, with the lines behind it",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (LearnedHours, error) {
		l, err := a.Outlook.Learned(ctx, who)
		return LearnedHours{at(l.At), l.Lines, l.Young, list(l.Operations, learnedOperationOf)}, err
	})
	register(a, operation{
		method: http.MethodPut, path: "/operations/{operation}/learned-hours", id: "accept-learned-hours", need: actor.ManageGarage, tag: "Outlook",
		short: "Set an operation's hours to what was learned", long: "Its least and most go along in proportion. Cards keep what was written on them.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Operation garage.OperationID `path:"operation"`
		Body      LearnedHoursBody
	}) (Operation, error) {
		o, err := a.Outlook.Accept(ctx, who, outlook.AcceptInput{OperationID: in.Operation, Version: in.Body.Version, Likely: ofMinutes(in.Body.Minutes)})
		return operationOf(o, true), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/outlook/ramps", id: "get-ramps", need: actor.ReadCards, tag: "Outlook", short: "How many cars can be up at once",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Ramps, error) {
		s, err := a.Outlook.Setting(ctx, who)
		return Ramps{s.Ramps, s.Version}, err
	})
	register(a, operation{
		method: http.MethodPut, path: "/outlook/ramps", id: "set-ramps", need: actor.ManageGarage, tag: "Outlook", short: "Say how many cars can be up at once",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body Ramps }) (Ramps, error) {
		s, err := a.Outlook.SetRamps(ctx, who, outlook.Setting{Ramps: in.Body.Ramps, Version: in.Body.Version})
		return Ramps{s.Ramps, s.Version}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/outlook/kept", id: "get-kept-forecasts", need: actor.SeeMargins, tag: "Outlook", short: "How good earlier forecasts were",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (KeptForecasts, error) {
		k, err := a.Outlook.Kept(ctx, who)
		out := KeptForecasts{Cars: k.N, Early: k.Early, Rate: k.Rate, Brier: k.Brier, Raw: k.Raw, Added: k.Added, Normal: k.Normal, Level: k.Level, Bins: []Said{}, Cover: []Said{}}
		for _, b := range k.Bins {
			if b.N > 0 {
				out.Bins = append(out.Bins, Said{b.Said, b.Share(), b.N})
			}
		}
		for _, c := range k.Cover {
			out.Cover = append(out.Cover, Said{c.Level, c.Share(), c.N})
		}
		return out, err
	})
}

func momentOf(m outlook.Moment) Time {
	if m.Beyond {
		return Time{}
	}
	return at(m.At)
}

func dayOutlookOf(r outlook.Read) DayOutlook {
	out := DayOutlook{
		Newer: r.Newer, Off: r.Off, Cars: []CarOutlook{}, Leave: []CouldLeave{}, Order: []jobcard.CardID{}, Costs: []WouldCost{}, Notes: []string{},
	}
	if r.None {
		return out
	}
	out.Day, out.At, out.AllDone, out.OnTime, out.Promised = on(r.Day), at(r.At), r.AllDone, r.OnTime, r.Promised
	out.Lines, out.Young, out.Corrected, out.Played, out.OwnOrdered = r.Lines, r.Young, r.Corrected, r.Draws, r.Ordered
	if r.Off != "" {
		return out
	}
	out.Words = r.Headline()
	out.Notes = append(out.Notes, r.Notes...)
	for _, c := range r.Cars {
		s := r.Strip(c)
		out.Cars = append(out.Cars, CarOutlook{
			CardID: c.Card, Mark: c.Mark, Car: c.Name, Promise: at(c.Promise), Chance: c.Chance, Error: c.Error, Half: momentOf(c.Half), Eighty: momentOf(c.Eighty),
			Ninety: momentOf(c.Ninety), InTwenty: s.Kept, Words: s.Sentence(), Lines: c.Lines, Done: c.Done, Over: c.Over, Here: c.Here, Pinned: c.Pinned,
			Causes: list(c.Causes, func(x outlook.Cause) LateCause { return LateCause{x.Kind, x.Line, x.Words(), x.Share} }),
		})
	}
	for _, l := range r.Leave {
		out.Leave = append(out.Leave, CouldLeave{l.Card, append([]jobcard.LineID{}, l.Lines...), l.Move, l.Sales, l.Gain, l.Error, l.Before, l.After})
	}
	if r.Order != nil {
		out.Order, out.OrderGain = append(out.Order, r.Order.Cards...), r.Order.Gain
	}
	for _, c := range r.Costs {
		out.Costs = append(out.Costs, WouldCost{c.Line, at(c.Until), c.Staff, c.Name, c.Lost, c.Error})
	}
	return out
}

func learnedOperationOf(o outlook.OperationLearned) LearnedOperation {
	return LearnedOperation{
		OperationID: o.Operation.ID, Version: o.Operation.Version, Name: o.Operation.Name, Layout: o.Layout, Estimate: minutes(o.Operation.Likely),
		Times: o.Times, Low: o.Low, High: o.High, Lines: o.Lines, Suggested: minutes(o.Suggested),
		From: list(o.From, func(f outlook.LineLearned) LearnedLine {
			return LearnedLine{f.Card, f.Line, minutes(f.Estimate), seconds(f.Worked), f.Open, f.Doubtful}
		}),
	}
}
