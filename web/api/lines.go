package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// LineAt is one line in the address.
type LineAt struct {
	Line jobcard.LineID `path:"line" minimum:"1"`
}

// Estimate is how long a line should take.
type Estimate struct {
	Low    *int64 `json:"low_minutes,omitempty" minimum:"0" maximum:"12000" doc:"If all goes well; the likely time when left out."`
	Likely *int64 `json:"likely_minutes,omitempty" minimum:"0" maximum:"12000" doc:"As a rule."`
	High   *int64 `json:"high_minutes,omitempty" minimum:"0" maximum:"12000" doc:"If it goes badly; the likely time when left out."`
}

func (e Estimate) estimate() hours.Estimate {
	if e.Low == nil && e.Likely == nil && e.High == nil {
		return hours.Estimate{}
	}
	or := func(n *int64, other int64) int64 {
		if n == nil {
			return other
		}
		return *n
	}
	likely := or(e.Likely, 0)
	return hours.Estimate{Low: ofMinutes(or(e.Low, likely)), Likely: ofMinutes(likely), High: ofMinutes(or(e.High, likely))}
}

// LineTerms is what is written on a line besides its title and hours.
type LineTerms struct {
	LabourTypeID garage.LabourTypeID `json:"labour_type_id,omitempty" minimum:"1"`
	Rate         *money.Minor        `json:"rate_minor,omitempty" nullable:"true" doc:"Net, an hour; that of the labour type when left out."`
	FixedPrice   *money.Minor        `json:"fixed_price_minor,omitempty" nullable:"true" doc:"Net, instead of hours times rate."`
	VATCode      money.VATCode       `json:"vat_code,omitempty" doc:"The standard rate when left out."`
	Cautions     []caution.Key       `json:"cautions,omitempty" maxItems:"50"`
	Safety       bool                `json:"safety,omitempty" doc:"Needs a second person's check."`
	WheelsOff    bool                `json:"wheels_off,omitempty"`
	Inspects     bool                `json:"inspects,omitempty"`
	AssignedTo   actor.StaffID       `json:"assigned_to_id,omitempty" minimum:"1"`
	Note         string              `json:"note,omitempty" maxLength:"8000"`
}

func (t LineTerms) terms(title string, mustDo bool, e Estimate) jobcard.LineTerms {
	return jobcard.LineTerms{
		Title: title, MustDo: mustDo, LabourType: t.LabourTypeID, Rate: t.Rate, Estimate: e.estimate(), FixedPrice: t.FixedPrice,
		VATCode: t.VATCode, Cautions: t.Cautions, Safety: t.Safety, WheelsOff: t.WheelsOff, Inspects: t.Inspects,
		AssignedTo: t.AssignedTo, Note: t.Note,
	}
}

// NewLine is a line to be added.
type NewLine struct {
	OperationID garage.OperationID `json:"operation_id,omitempty" minimum:"1" doc:"What is not said of the line is the operation's."`
	Title       string             `json:"title,omitempty" maxLength:"400" doc:"Needed without an operation."`
	MustDo      *bool              `json:"must_do,omitempty" doc:"Else it is done if there is time. True when left out."`
	Estimate
	LineTerms
}

func (n NewLine) line() jobcard.NewLine {
	return jobcard.NewLine{OperationID: n.OperationID, LineTerms: n.terms(n.Title, orTrue(n.MustDo), n.Estimate)}
}

// AddLine is a line to be added to a card that stands.
type AddLine struct {
	NewLine
	After []jobcard.LineID `json:"after_ids,omitempty" maxItems:"100" doc:"Lines that must be done before it."`
}

// LineEdit is the whole of what is written on a line.
type LineEdit struct {
	Title  string `json:"title" maxLength:"400"`
	MustDo bool   `json:"must_do"`
	Estimate
	LineTerms
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// StrikeBody strikes something out, with the reason.
type StrikeBody struct {
	Version int    `json:"version" minimum:"1" maximum:"2147483647"`
	Reason  string `json:"reason" maxLength:"400"`
}

// PlaceBody is a place in the list of lines.
type PlaceBody struct {
	Position int `json:"position" doc:"1 is the top."`
}

// LineOrder is a line that must be done before another, in the address.
type LineOrder struct {
	LineAt
	After jobcard.LineID `path:"after" minimum:"1" doc:"The line that must be done first."`
}

// CheckBody is a second person's check of a line that is done.
type CheckBody struct {
	TorqueNm float64 `json:"torque_nm,omitempty" doc:"What the wheel fastenings were checked at; needed where a wheel was off."`
	Note     string  `json:"note,omitempty" maxLength:"8000"`
}

func (a *API) lineOperations() {
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/lines", id: "add-line", need: actor.EditCard, tag: "Lines", status: http.StatusCreated,
		short: "Add a line to be asked", long: "A card that was ready is in work again.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body AddLine
	}) (Changed, error) {
		return changedOf(a.Cards.AddLine(ctx, who, jobcard.AddLineInput{CardID: in.Card, NewLine: in.Body.line(), After: in.Body.After}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/lines/{line}", id: "edit-line", need: actor.EditCard, tag: "Lines",
		short: "Change what is written on a line", long: "A price beyond what was agreed asks the customer again.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LineAt
		Body LineEdit
	}) (Changed, error) {
		b := in.Body
		return changedOf(a.Cards.EditLine(ctx, who, jobcard.EditLineInput{
			LineID: in.Line, Version: b.Version, LineTerms: b.terms(b.Title, b.MustDo, b.Estimate),
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/lines/{line}/strike", id: "strike-line", need: actor.EditCard, tag: "Lines",
		short: "Strike a line out", long: "It stays on the card, crossed through with the reason.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LineAt
		Body StrikeBody
	}) (Changed, error) {
		return changedOf(a.Cards.StrikeLine(ctx, who, jobcard.StrikeInput{LineID: in.Line, Version: in.Body.Version, Reason: in.Body.Reason}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/lines/{line}/move", id: "move-line", need: actor.EditCard, tag: "Lines",
		short: "Move a line up or down the list",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LineAt
		Body PlaceBody
	}) (Changed, error) {
		return changedOf(a.Cards.MoveLine(ctx, who, jobcard.MoveInput{LineID: in.Line, Position: in.Body.Position}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/lines/{line}/after/{after}", id: "order-lines", need: actor.EditCard, tag: "Lines",
		short: "Say that a line comes after another", long: "A circle is refused. Until the other is finished nobody can clock on to this one.",
	}, func(ctx context.Context, who actor.Actor, in *LineOrder) (Changed, error) {
		return changedOf(a.Cards.SetOrder(ctx, who, jobcard.OrderInput{LineID: in.Line, After: in.After}))
	})
	register(a, operation{
		method: http.MethodDelete, path: "/lines/{line}/after/{after}", id: "free-lines", need: actor.EditCard, tag: "Lines",
		short: "Take back that a line comes after another",
	}, func(ctx context.Context, who actor.Actor, in *LineOrder) (Changed, error) {
		return changedOf(a.Cards.SetOrder(ctx, who, jobcard.OrderInput{LineID: in.Line, After: in.After, Remove: true}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/lines/{line}/check", id: "check-line", need: actor.Work, tag: "Lines",
		short: "Record a second person's check of a line that is done",
		long:  "Whoever worked on the line cannot check it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LineAt
		Body CheckBody
	}) (Changed, error) {
		return changedOf(a.Cards.SecondCheck(ctx, who, jobcard.CheckInput{LineID: in.Line, TorqueNm: in.Body.TorqueNm, Note: in.Body.Note}))
	})
}
