package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// AdjustTerms is what is written of a discount or surcharge.
type AdjustTerms struct {
	What    string            `json:"what" maxLength:"400" doc:"A word for it, which the customer reads."`
	Up      bool              `json:"surcharge,omitempty" doc:"Else a discount."`
	Percent *money.Rate       `json:"percent_bp,omitempty" nullable:"true" doc:"Give a percentage or an amount."`
	Amount  *money.Minor      `json:"amount_minor,omitempty" nullable:"true" doc:"Net, without a sign."`
	Applies jobcard.AppliesTo `json:"applies_to,omitempty" doc:"Everything when left out."`
}

func (t AdjustTerms) terms() jobcard.AdjustTerms {
	return jobcard.AdjustTerms{What: t.What, Up: t.Up, Percent: t.Percent, Amount: t.Amount, Applies: t.Applies}
}

// AdjustBody is a discount or surcharge to be added.
type AdjustBody struct {
	LineID jobcard.LineID `json:"line_id,omitempty" minimum:"1" doc:"Left out, the card as a whole."`
	AdjustTerms
}

// AdjustEdit is the whole of what is written of one.
type AdjustEdit struct {
	AdjustTerms
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// MenuTerms is one price for several lines.
type MenuTerms struct {
	What  string           `json:"what" maxLength:"400"`
	Net   money.Minor      `json:"net_minor"`
	Lines []jobcard.LineID `json:"line_ids" maxItems:"100"`
}

func (t MenuTerms) terms() jobcard.MenuTerms {
	return jobcard.MenuTerms{What: t.What, Net: t.Net, Lines: t.Lines}
}

// MenuEdit is the whole of what is written of a menu.
type MenuEdit struct {
	MenuTerms
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// FeeTerms is what is written of a test fee.
type FeeTerms struct {
	What    string      `json:"what" maxLength:"400"`
	Class   string      `json:"class,omitempty" maxLength:"200" doc:"One of get-test-fees, whose maximum is then kept."`
	Charged money.Minor `json:"charged_minor" doc:"What the customer pays, VAT in it where there is any."`
	Own     bool        `json:"own,omitempty" doc:"This garage is the approved centre that tests."`
	Paid    money.Minor `json:"paid_minor,omitempty" doc:"What another centre was paid, after any trade discount."`
	Met     []int       `json:"conditions_met,omitempty" maxItems:"8" doc:"The conditions that somebody vouches for, by number."`
}

func (t FeeTerms) terms() jobcard.FeeTerms {
	return jobcard.FeeTerms{
		What: t.What, Class: t.Class, Charged: t.Charged, Own: t.Own, Paid: t.Paid,
		Met: list(t.Met, func(n int) pricing.Condition { return pricing.Condition(n) }),
	}
}

// FeeEdit is the whole of what is written of a fee.
type FeeEdit struct {
	FeeTerms
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// ExchangeBody is the surcharge on an exchange unit and what is given back.
type ExchangeBody struct {
	Version   int          `json:"version" minimum:"1" maximum:"2147483647"`
	Surcharge *money.Minor `json:"surcharge_minor,omitempty" nullable:"true" doc:"Net, each; none when left out."`
	Back      int64        `json:"back_milli,omitempty" doc:"How many old units came, in thousandths."`
}

// CardSundriesBody sets the small material of one card.
type CardSundriesBody struct {
	Version  int           `json:"version" minimum:"1" maximum:"2147483647" doc:"Of the card."`
	Sundries *CardSundries `json:"sundries,omitempty" doc:"The garage's when left out."`
}

// AheadBody says why a line goes ahead that the customer has not agreed to.
type AheadBody struct {
	Reason string `json:"reason" maxLength:"400"`
}

// ExtraAt is one discount or surcharge, menu or fee in the address.
type (
	AdjustmentAt struct {
		Adjustment jobcard.AdjustmentID `path:"adjustment" minimum:"1"`
	}
	MenuAt struct {
		Menu jobcard.MenuID `path:"menu" minimum:"1"`
	}
	FeeAt struct {
		Fee jobcard.FeeID `path:"fee" minimum:"1"`
	}
)

func strikeExtra[T ~int64](id T, b StrikeBody) jobcard.StrikeExtraInput {
	return jobcard.StrikeExtraInput{ID: int64(id), Version: b.Version, Reason: b.Reason}
}

func (a *API) priceOperations() {
	tag, edit := "Prices", actor.EditCard
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/adjustments", id: "add-adjustment", need: edit, tag: tag, status: http.StatusCreated,
		short: "Put a discount or surcharge on a line or a card", long: "Whatever costs more by it than was agreed is asked again.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body AdjustBody
	}) (Changed, error) {
		return changedOf(a.Cards.Adjust(ctx, who, jobcard.AdjustInput{CardID: in.Card, LineID: in.Body.LineID, AdjustTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/adjustments/{adjustment}", id: "edit-adjustment", need: edit, tag: tag, short: "Change a discount or surcharge",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		AdjustmentAt
		Body AdjustEdit
	}) (Changed, error) {
		return changedOf(a.Cards.EditAdjustment(ctx, who, jobcard.EditAdjustInput{ID: in.Adjustment, Version: in.Body.Version, AdjustTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/adjustments/{adjustment}/strike", id: "strike-adjustment", need: edit, tag: tag, short: "Strike a discount or surcharge out",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		AdjustmentAt
		Body StrikeBody
	}) (Changed, error) {
		return changedOf(a.Cards.StrikeAdjustment(ctx, who, strikeExtra(in.Adjustment, in.Body)))
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/menus", id: "add-menu", need: edit, tag: tag, status: http.StatusCreated,
		short: "Put one price on several lines", long: "With their parts and fees. A line is in one menu only, and has no discount of its own.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body MenuTerms
	}) (Changed, error) {
		return changedOf(a.Cards.AddMenu(ctx, who, jobcard.MenuInput{CardID: in.Card, MenuTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/menus/{menu}", id: "edit-menu", need: edit, tag: tag, short: "Change a menu price",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		MenuAt
		Body MenuEdit
	}) (Changed, error) {
		return changedOf(a.Cards.EditMenu(ctx, who, jobcard.EditMenuInput{ID: in.Menu, Version: in.Body.Version, MenuTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/menus/{menu}/strike", id: "strike-menu", need: edit, tag: tag, short: "Strike a menu price out",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		MenuAt
		Body StrikeBody
	}) (Changed, error) {
		return changedOf(a.Cards.StrikeMenu(ctx, who, strikeExtra(in.Menu, in.Body)))
	})
	a.feeOperations()
	register(a, operation{
		method: http.MethodPut, path: "/parts/{part}/exchange", id: "set-exchange", need: edit, tag: tag,
		short: "Set the surcharge on an exchange unit, and what is given back of it",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body ExchangeBody
	}) (Changed, error) {
		b := in.Body
		return changedOf(a.Cards.SetExchange(ctx, who, jobcard.ExchangeInput{PartID: in.Part, Version: b.Version, Surcharge: b.Surcharge, Back: b.Back}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/cards/{card}/sundries", id: "set-card-sundries", need: edit, tag: tag, short: "Set what small material is charged on a card",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body CardSundriesBody
	}) (Changed, error) {
		out := jobcard.SundriesInput{CardID: in.Card, Version: in.Body.Version}
		if s := in.Body.Sundries; s != nil {
			out.Sundries = &jobcard.OwnSundries{Percent: s.Percent, Cap: s.Cap}
		}
		done, err := a.Cards.SetSundries(ctx, who, out)
		return changedOf(done, under("sundries.", err, "percent", "cap"))
	})
	register(a, operation{
		method: http.MethodPut, path: "/lines/{line}/go-ahead", id: "go-ahead", need: actor.RecordConsent, tag: tag,
		short: "Let a line be worked on that the customer has not agreed to", long: "It stands at day's end as work nobody agreed to.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		LineAt
		Body AheadBody
	}) (Changed, error) {
		return changedOf(a.Cards.GoAhead(ctx, who, jobcard.AheadInput{LineID: in.Line, Reason: in.Body.Reason}))
	})
	register(a, operation{
		method: http.MethodDelete, path: "/lines/{line}/go-ahead", id: "take-back-go-ahead", need: actor.RecordConsent, tag: tag,
		short: "Take back that a line may go ahead",
	}, func(ctx context.Context, who actor.Actor, in *LineAt) (Changed, error) {
		return changedOf(a.Cards.GoAhead(ctx, who, jobcard.AheadInput{LineID: in.Line, Back: true}))
	})
}
