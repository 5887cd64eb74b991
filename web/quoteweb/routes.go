// Package quoteweb is a card's quote on pages: the versions and how they go
// out, a version as the customer sees it, the answers as they are taken down at
// the desk, what changed between two versions, and everything on record.
package quoteweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/quote"
	"rampside/web/ui"
)

type pages struct {
	kit    *ui.Kit
	quotes *quote.Service
	links  *link.Service
	mail   quote.Mail
}

// Mount registers the pages of quotes.
func Mount(r chi.Router, kit *ui.Kit, quotes *quote.Service, links *link.Service, mail quote.Mail) {
	p := pages{kit, quotes, links, mail}
	kit.Get(r, "/cards/{card}/quotes", actor.SendQuote, p.card)
	kit.Post(r, "/cards/{card}/quotes", actor.SendQuote, p.make)
	kit.Get(r, "/cards/{card}/quotes/compare", actor.SendQuote, p.compare)
	kit.Get(r, "/cards/{card}/quotes/record", actor.SendQuote, p.record)
	kit.Get(r, OutPath, actor.SendQuote, p.out)
	kit.Get(r, "/quotes/{version}", actor.SendQuote, p.version)
	kit.Get(r, "/quotes/{version}.pdf", actor.SendQuote, p.pdf)
	kit.Get(r, "/quotes/{version}/send", actor.SendQuote, p.sendForm)
	kit.Post(r, "/quotes/{version}/send", actor.SendQuote, p.send)
	kit.Get(r, "/quotes/{version}/answers", actor.RecordConsent, p.answers)
	kit.Post(r, "/quotes/{version}/answers", actor.RecordConsent, p.answer)
	kit.Post(r, "/quotes/{version}/withdraw", actor.SendQuote, p.withdraw)
}

// CardPath is a card's page of quotes.
func CardPath(id jobcard.CardID) string { return cardPath(id) + "/quotes" }

func cardPath(id jobcard.CardID) string { return "/cards/" + ui.Itoa(id) }

func versionPath(id quote.VersionID) string { return "/quotes/" + ui.Itoa(id) }

// frame makes the frame of a page about a card, which follows the card.
func (p pages) frame(r *http.Request, title string, card jobcard.CardID) ui.PageData {
	page := p.kit.Page(r, title, "/diary").Follow(r, "card:"+ui.Itoa(card))
	page.Wide, page.OwnHead = true, true
	return page
}

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

// read reads the version that an address names.
func (p pages) read(r *http.Request) (*quote.Version, error) {
	id, err := ui.PathID[quote.VersionID](r, "version")
	if err != nil {
		return nil, err
	}
	return p.quotes.Read(r.Context(), ui.Who(r.Context()), id)
}
