// Package handoverweb is the handover of a car on pages and on paper, the card
// on paper, and when the work of each operation is due again.
package handoverweb

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/photo"
	"rampside/web/ui"
)

// IntervalsPath is where it is noted when work is due again.
const IntervalsPath = "/garage/intervals"

// Links gives the address that a link to the customer has.
type Links interface {
	Token(ctx context.Context, who actor.Actor, id link.ID) (link.Minted, error)
}

// Services is what the pages stand on.
type Services struct {
	Hands  *handover.Service
	Cards  *jobcard.Service
	Photos *photo.Service
	Links  Links
}

type pages struct {
	kit *ui.Kit
	Services
}

// Mount registers the pages of the handover.
func Mount(r chi.Router, kit *ui.Kit, s Services) {
	p := pages{kit, s}
	kit.Get(r, "/cards/{card}/handover", actor.HandOver, p.plan)
	kit.Post(r, "/cards/{card}/handover", actor.HandOver, p.make)
	kit.Get(r, "/cards/{card}/handover.pdf", actor.ReadPeople, p.latestPDF)
	kit.Get(r, "/cards/{card}/pdf", actor.ReadCards, p.cardPDF)
	kit.Get(r, "/handovers/{handover}", actor.HandOver, p.show)
	kit.Get(r, "/handovers/{handover}/pdf", actor.ReadPeople, p.showPDF)
	kit.Post(r, "/handovers/{handover}/copies", actor.HandOver, p.send)
	kit.Get(r, IntervalsPath, actor.ManageGarage, p.intervals)
	kit.Post(r, IntervalsPath+"/{operation}", actor.ManageGarage, p.setInterval)
}

// Path is where a card is handed over.
func Path(card jobcard.CardID) string { return "/cards/" + ui.Itoa(card) + "/handover" }

func madePath(id handover.ID) string { return "/handovers/" + ui.Itoa(id) }

// reply finishes a write: on to a page; the form again with its messages and
// what was typed; or the error for the adapter.
func (p pages) reply(w http.ResponseWriter, r *http.Request, f *ui.Form, to, flash string, err error, again func(status int) error) error {
	switch {
	case err == nil:
		p.kit.Flash(w, flash)
		return ui.SeeOther(w, r, to)
	case f.Take(err):
		return again(apperr.KindOf(err).Status())
	case apperr.Is(err, apperr.Conflict):
		// How it stands now is on the page itself.
		f.Summary = err.Error()
		return again(http.StatusConflict)
	}
	return err
}
