package app_test

import (
	"strconv"

	"rampside/internal/clocking"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/ui"
)

// handable is a card with its work done, which may be handed over.
func (w *world) handable() {
	w.t.Helper()
	c := w.Book(cardtest.Op(w.Service))
	w.Agree(c.ID)
	_, err := w.Services.Clocks.Tick(w.t.Context(), w.Posy, clocking.LineInput{LineID: c.Lines[0].ID})
	w.OK(err)
	w.at["card"], w.at["line"] = ui.Itoa(c.ID), ui.Itoa(c.Lines[0].ID)
}

// handedOver is one that was.
func (w *world) handedOver() {
	w.t.Helper()
	w.handable()
	card, err := strconv.ParseInt(w.at["card"], 10, 64)
	w.OK(err)
	p, err := w.Services.Hands.Plan(w.t.Context(), w.Desk, jobcard.CardID(card))
	w.OK(err)
	made, err := w.Services.Hands.Make(w.t.Context(), w.Desk, handover.Input{
		CardID: jobcard.CardID(card), Seen: p.Seen, GivenTo: "Odette Marlowe", Keys: "two keys", Anyway: "posted",
	})
	w.OK(err)
	w.at["handover"] = ui.Itoa(made.ID)
}
