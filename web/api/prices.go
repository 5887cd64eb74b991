package api

import (
	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// Prices is what a card is priced with beside its lines and parts.
type Prices struct {
	Adjustments []Adjustment  `json:"adjustments"`
	Menus       []Menu        `json:"menus"`
	Fees        []Fee         `json:"fees"`
	Sundries    *CardSundries `json:"sundries,omitempty" doc:"Those of this card in place of the garage's."`
}

// Adjustment is a discount, or a surcharge when up.
type Adjustment struct {
	ID        jobcard.AdjustmentID `json:"id"`
	LineID    jobcard.LineID       `json:"line_id,omitempty" doc:"Absent on the card as a whole."`
	What      string               `json:"what"`
	Up        bool                 `json:"surcharge" doc:"Else a discount."`
	Percent   *money.Rate          `json:"percent_bp,omitempty"`
	Amount    *money.Minor         `json:"amount_minor,omitempty" doc:"Net."`
	Applies   jobcard.AppliesTo    `json:"applies_to"`
	MadeBy    actor.StaffID        `json:"made_by_id,omitempty"`
	MadeAt    Time                 `json:"made_at"`
	StruckAt  Time                 `json:"struck_at,omitzero"`
	StruckWhy string               `json:"struck_reason,omitempty"`
	Version   int                  `json:"version"`
}

func adjustmentOf(a jobcard.Adjustment) Adjustment {
	return Adjustment{
		a.ID, a.LineID, a.What, a.Up, a.Percent, a.Amount, a.Applies, a.MadeBy, at(a.MadeAt), at(a.StruckAt), a.StruckWhy, a.Version,
	}
}

// Menu is one price for several lines together.
type Menu struct {
	ID        jobcard.MenuID   `json:"id"`
	What      string           `json:"what"`
	Net       money.Minor      `json:"net_minor" doc:"For all of the lines with their parts and fees."`
	Lines     []jobcard.LineID `json:"line_ids"`
	MadeBy    actor.StaffID    `json:"made_by_id,omitempty"`
	MadeAt    Time             `json:"made_at"`
	StruckAt  Time             `json:"struck_at,omitzero"`
	StruckWhy string           `json:"struck_reason,omitempty"`
	Version   int              `json:"version"`
}

func menuOf(m jobcard.Menu) Menu {
	return Menu{m.ID, m.What, m.Net, list(m.Lines, same), m.MadeBy, at(m.MadeAt), at(m.StruckAt), m.StruckWhy, m.Version}
}

// Fee is the fee of a statutory test on a line.
type Fee struct {
	ID        jobcard.FeeID  `json:"id"`
	LineID    jobcard.LineID `json:"line_id"`
	What      string         `json:"what"`
	Class     string         `json:"class,omitempty"`
	Charged   money.Minor    `json:"charged_minor" doc:"What the customer pays, VAT in it where there is any."`
	Own       bool           `json:"own" doc:"This garage is the approved centre that tests."`
	Paid      money.Minor    `json:"paid_minor" doc:"What another centre was paid."`
	Met       []int          `json:"conditions_met" doc:"Those that somebody vouches for, by number; see get-test-fees."`
	Unmet     []int          `json:"conditions_unmet" doc:"Those that fail, so that VAT is on the whole."`
	Treatment string         `json:"treatment" doc:"How VAT stands on it."`
	MadeBy    actor.StaffID  `json:"made_by_id,omitempty"`
	MadeAt    Time           `json:"made_at"`
	StruckAt  Time           `json:"struck_at,omitzero"`
	StruckWhy string         `json:"struck_reason,omitempty"`
	Version   int            `json:"version"`
}

func feeOf(f jobcard.Fee) Fee {
	how, unmet := f.Treatment()
	return Fee{
		f.ID, f.LineID, f.What, f.Class, f.Charged, f.Own, f.Paid, list(f.Met, number), list(unmet, number), string(how),
		f.MadeBy, at(f.MadeAt), at(f.StruckAt), f.StruckWhy, f.Version,
	}
}

func number(c pricing.Condition) int { return int(c) }

// CardSundries takes the place of the garage's small material on one card.
type CardSundries struct {
	Percent money.Rate   `json:"percent_bp" doc:"0 charges none."`
	Cap     *money.Minor `json:"cap_minor,omitempty" nullable:"true" doc:"The most, net."`
}

func pricesOf(s *jobcard.Sheet) *Prices {
	out := &Prices{Adjustments: list(s.Extras.Adjustments, adjustmentOf), Menus: list(s.Extras.Menus, menuOf), Fees: list(s.Extras.Fees, feeOf)}
	if o := s.Sundries; o != nil {
		out.Sundries = &CardSundries{o.Percent, o.Cap}
	}
	return out
}
