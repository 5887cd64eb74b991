package api

import (
	"context"
	"net/http"
	"time"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// PartAt is one part in the address.
type PartAt struct {
	Part jobcard.PartID `path:"part" minimum:"1"`
}

// PartTerms is what is written of a part.
type PartTerms struct {
	LineID     jobcard.LineID    `json:"line_id,omitempty" minimum:"1" doc:"The line it is for; left out, the card as a whole."`
	Name       string            `json:"name" maxLength:"400"`
	Number     string            `json:"number,omitempty" maxLength:"400"`
	SupplierID garage.SupplierID `json:"supplier_id,omitempty" minimum:"1"`
	Qty        int64             `json:"qty_milli" doc:"In thousandths: 1000 is one."`
	Cost       money.Minor       `json:"cost_minor,omitempty" doc:"Net, each."`
	Price      *money.Minor      `json:"price_minor,omitempty" nullable:"true" doc:"Net, each; give a price or a mark-up, not both."`
	MarkUp     *money.Rate       `json:"mark_up_bp,omitempty" nullable:"true" doc:"On the cost; with neither, the garage's usual one."`
	VATCode    money.VATCode     `json:"vat_code,omitempty" doc:"The standard rate when left out."`
	Source     jobcard.Source    `json:"source,omitempty" doc:"The garage when left out."`
	Supply     jobcard.Supply    `json:"supply,omitempty" doc:"Needed when left out."`
	DueAt      Time              `json:"due_at,omitzero"`
}

func (t PartTerms) terms() jobcard.PartTerms {
	return jobcard.PartTerms{
		LineID: t.LineID, Name: t.Name, Number: t.Number, SupplierID: t.SupplierID, Qty: t.Qty, Cost: t.Cost, Price: t.Price, MarkUp: t.MarkUp,
		VATCode: t.VATCode, Source: t.Source, Supply: t.Supply, DueAt: t.DueAt.Time,
	}
}

// PartEdit is the whole of what is written of a part.
type PartEdit struct {
	PartTerms
	Version int `json:"version" minimum:"1" maximum:"2147483647"`
}

// SupplyBody moves a part on.
type SupplyBody struct {
	Version int            `json:"version" minimum:"1" maximum:"2147483647"`
	Supply  jobcard.Supply `json:"supply"`
	DueAt   *Time          `json:"due_at,omitempty" doc:"Kept when left out."`
}

// VerdictBody records by hand whether a part fits this car.
type VerdictBody struct {
	Version int             `json:"version" minimum:"1" maximum:"2147483647"`
	Verdict jobcard.Verdict `json:"verdict"`
	Note    string          `json:"note,omitempty" maxLength:"8000" doc:"By what it was found; needed where it fits or does not."`
}

// Part is one parts line of a card.
type Part struct {
	ID           jobcard.PartID    `json:"id"`
	CardID       jobcard.CardID    `json:"card_id"`
	LineID       jobcard.LineID    `json:"line_id,omitempty" doc:"The line it is for; absent for the card as a whole."`
	Name         string            `json:"name"`
	Number       string            `json:"number,omitempty"`
	SupplierID   garage.SupplierID `json:"supplier_id,omitempty"`
	SupplierName string            `json:"supplier_name,omitempty"`
	Qty          int64             `json:"qty_milli"`
	QuotedQty    *int64            `json:"quoted_qty_milli,omitempty" doc:"What the quote counted on when the line was agreed to."`
	Cost         *money.Minor      `json:"cost_minor,omitempty" doc:"Net, each."`
	QuotedCost   *money.Minor      `json:"quoted_cost_minor,omitempty"`
	Price        *money.Minor      `json:"price_minor,omitempty" doc:"Net, each, where it was set."`
	MarkUp       *money.Rate       `json:"mark_up_bp,omitempty" doc:"On the cost, where no price was set."`
	Unit         *money.Minor      `json:"unit_minor,omitempty" doc:"What one comes to, net."`
	Net          *money.Minor      `json:"net_minor,omitempty" doc:"What the quantity comes to, net."`
	Exchange     *money.Minor      `json:"exchange_minor,omitempty" doc:"Net, charged for each exchange unit until the old one is here."`
	ExchangeBack int64             `json:"exchange_back_milli,omitempty" doc:"How many old units came, in thousandths: so much is given back."`
	VATCode      money.VATCode     `json:"vat_code"`
	Source       jobcard.Source    `json:"source"`
	Supply       jobcard.Supply    `json:"supply"`
	DueAt        Time              `json:"due_at,omitzero"`
	Verdict      jobcard.Verdict   `json:"verdict"`
	VerdictBy    actor.StaffID     `json:"verdict_by_id,omitempty"`
	VerdictAt    Time              `json:"verdict_at,omitzero"`
	VerdictNote  string            `json:"verdict_note,omitempty"`
	VerdictHow   jobcard.How       `json:"verdict_how"`
	Held         bool              `json:"held" doc:"It keeps the gate of its line closed: the line is worked on up to strip-down and no further."`
	StruckAt     Time              `json:"struck_at,omitzero"`
	StruckWhy    string            `json:"struck_reason,omitempty"`
	Counts       bool              `json:"counts" doc:"Whether it belongs in prices and costs."`
	Version      int               `json:"version"`
}

// partOf shows a part; costs says whether its money may be seen.
func partOf(p jobcard.Part, costs bool) Part {
	out := Part{
		ID: p.ID, CardID: p.CardID, LineID: p.LineID, Name: p.Name, Number: p.Number, SupplierID: p.SupplierID, SupplierName: p.SupplierName,
		Qty: p.Qty, QuotedQty: p.QuotedQty, VATCode: p.VATCode, Source: p.Source, Supply: p.Supply, DueAt: at(p.DueAt), Verdict: p.Verdict,
		VerdictBy: p.VerdictBy, VerdictAt: at(p.VerdictAt), VerdictNote: p.VerdictNote, VerdictHow: p.VerdictHow, Held: p.Held, StruckAt: at(p.StruckAt), StruckWhy: p.StruckWhy,
		Counts: p.Counts(), ExchangeBack: p.ExchangeBack, Version: p.Version,
	}
	if costs {
		out.Cost, out.QuotedCost, out.Price, out.MarkUp = &p.Cost, p.QuotedCost, p.Price, p.MarkUp
		out.Unit, out.Net = ptr(p.Unit()), ptr(p.Net())
		out.Exchange = p.Exchange
	}
	return out
}

func (a *API) partOperations() {
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/parts", id: "add-part", need: actor.EditCard, tag: "Parts", status: http.StatusCreated,
		short: "Add a part to a line or to the card", long: "A line that costs more than was agreed is to be asked again.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body PartTerms
	}) (Changed, error) {
		return changedOf(a.Cards.AddPart(ctx, who, jobcard.AddPartInput{CardID: in.Card, PartTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPut, path: "/parts/{part}", id: "edit-part", need: actor.EditCard, tag: "Parts",
		short: "Change what is written of a part",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body PartEdit
	}) (Changed, error) {
		return changedOf(a.Cards.EditPart(ctx, who, jobcard.EditPartInput{PartID: in.Part, Version: in.Body.Version, PartTerms: in.Body.terms()}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/supply", id: "set-supply", need: actor.Work, tag: "Parts",
		short: "Say where a part is", long: "A line that waited is open again when its last part has arrived.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body SupplyBody
	}) (Changed, error) {
		var due *time.Time
		if in.Body.DueAt != nil {
			due = &in.Body.DueAt.Time
		}
		return changedOf(a.Cards.SetSupply(ctx, who, jobcard.SupplyInput{PartID: in.Part, Version: in.Body.Version, Supply: in.Body.Supply, DueAt: due}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/verdict", id: "set-verdict", need: actor.Work, tag: "Parts",
		short: "Say whether a part fits this car",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body VerdictBody
	}) (Changed, error) {
		return changedOf(a.Cards.SetVerdict(ctx, who, jobcard.VerdictInput{
			PartID: in.Part, Version: in.Body.Version, Verdict: in.Body.Verdict, Note: in.Body.Note,
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/strike", id: "strike-part", need: actor.EditCard, tag: "Parts",
		short: "Strike a part out", long: "It stays on the card, crossed through with the reason.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body StrikeBody
	}) (Changed, error) {
		return changedOf(a.Cards.StrikePart(ctx, who, jobcard.StrikeInput{PartID: in.Part, Version: in.Body.Version, Reason: in.Body.Reason}))
	})
}
