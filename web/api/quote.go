package api

import (
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// Quote is what a card comes to as it stands.
type Quote struct {
	Loose  money.Minor `json:"loose_net_minor" doc:"Net of parts that belong to no line."`
	All    Totals      `json:"all" doc:"What is agreed or still asked."`
	Agreed Totals      `json:"agreed" doc:"Only what is agreed, and the loose parts."`
	OnTop  money.Minor `json:"on_top_net_minor" doc:"Part of all: small material, and discounts and surcharges of the card as a whole."`
}

// Totals is what a document comes to. The gross is net and VAT together.
type Totals struct {
	Net    money.Minor `json:"net_minor"`
	VAT    money.Minor `json:"vat_minor"`
	Gross  money.Minor `json:"gross_minor"`
	ByRate []RateTotal `json:"by_rate"`
}

// RateTotal is what a document comes to in one category at one rate.
type RateTotal struct {
	Code money.VATCode `json:"vat_code"`
	Rate money.Rate    `json:"rate_bp"`
	Net  money.Minor   `json:"net_minor"`
	VAT  money.Minor   `json:"vat_minor"`
}

func totalsOf(t money.Totals) Totals {
	return Totals{t.Net, t.VAT, t.Gross, list(t.ByRate, func(r money.RateTotal) RateTotal { return RateTotal(r) })}
}

func quoteOf(q jobcard.Quote) *Quote {
	return &Quote{q.Loose, totalsOf(q.All), totalsOf(q.Agreed), q.AllSum.OnTop()}
}

// LinePrice is what one line comes to now, net.
type LinePrice struct {
	Labour   money.Minor `json:"labour_minor"`
	Parts    money.Minor `json:"parts_minor"`
	Fees     money.Minor `json:"fees_minor"`
	Exchange money.Minor `json:"exchange_minor" doc:"Surcharges on exchange units, less what was given back."`
	Change   money.Minor `json:"change_minor" doc:"What discounts, surcharges and a menu price make of it; below 0 when it costs less."`
	Net      money.Minor `json:"net_minor"`
}
