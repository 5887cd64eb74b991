// Package dayendweb is the end of the day on a page: what work cost against
// its quote, what was not done and why, and how the hours were used.
package dayendweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/live"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// Path is where the day's end is.
const Path = "/days-end"

type pages struct {
	kit  *ui.Kit
	ends *dayend.Service
}

// Mount registers the day's end and a card's cost against its quote.
func Mount(r chi.Router, kit *ui.Kit, ends *dayend.Service) {
	p := pages{kit, ends}
	kit.Get(r, Path, actor.SeeMargins, p.day)
	kit.Get(r, "/cards/{card}/cost", actor.SeeMargins, p.card)
}

// day is the end of ?day=, or of today so far. A day that is none leaves
// today's open, and says so at the field.
func (p pages) day(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	day := ui.Read(f, "day", workday.Parse)
	status := http.StatusOK
	if f.Err() != nil {
		status, day = http.StatusUnprocessableEntity, workday.Day{}
	}
	d, err := p.ends.Day(r.Context(), ui.Who(r.Context()), day)
	if err != nil {
		return err
	}
	v := newDayView(d, f)
	page := p.kit.Page(r, v.Title, Path).Follow(r, live.All)
	page.Wide, page.OwnHead = true, true
	return p.kit.Render(w, r, status, dayPage(page, v))
}

func (p pages) card(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	c, err := p.ends.Card(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	v := newCardView(c)
	page := p.kit.Page(r, v.Title, Path).Follow(r, "card:"+ui.Itoa(id))
	page.Wide, page.OwnHead = true, true
	return p.kit.Render(w, r, http.StatusOK, cardPage(page, v))
}
