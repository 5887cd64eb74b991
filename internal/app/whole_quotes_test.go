package app_test

import (
	"strconv"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// quoted is a fresh card with a version of a quote that waits for an answer.
func (w *world) quoted() {
	w.t.Helper()
	w.freshCard()
	card, err := strconv.ParseInt(w.at["card"], 10, 64)
	w.OK(err)
	w.quote(jobcard.CardID(card))
}

// quote issues a version of a card's quote.
func (w *world) quote(card jobcard.CardID) {
	w.t.Helper()
	made, err := w.Services.Quotes.Make(w.t.Context(), w.Desk, quote.MakeInput{CardID: card, Kind: quote.Estimate})
	w.OK(err)
	w.at["version"] = ui.Itoa(made.VersionID)
}
