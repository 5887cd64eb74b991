// Package outlookweb is the outlook on a page: whether the promises of today
// will be kept, what could be done about it, what was learned of the garage's
// own hours, and how good earlier forecasts were.
package outlookweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/internal/outlook"
	"rampside/web/ui"
)

// Where the pages are.
const (
	Path        = "/outlook"
	LearnedPath = "/outlook/learned"
	KeptPath    = "/outlook/kept"
	PromisePath = "/outlook/promise"
)

type pages struct {
	kit    *ui.Kit
	looks  *outlook.Service
	garage *garage.Service
}

// Mount registers the pages of the outlook.
func Mount(r chi.Router, kit *ui.Kit, looks *outlook.Service, g *garage.Service) {
	p := pages{kit, looks, g}
	kit.Get(r, Path, actor.ReadCards, p.day)
	kit.Post(r, Path+"/order", actor.EditCard, p.order)
	kit.Get(r, LearnedPath, actor.SeeMargins, p.learned)
	kit.Post(r, LearnedPath+"/ramps", actor.ManageGarage, p.ramps)
	kit.Post(r, LearnedPath+"/hours", actor.ManageGarage, p.accept)
	kit.Get(r, KeptPath, actor.SeeMargins, p.kept)
	kit.Get(r, PromisePath, actor.BookIn, p.promise)
}

// day is the outlook of today. It follows the outlook itself, and what happens
// in the garage: so it says at once when something newer is known.
func (p pages) day(w http.ResponseWriter, r *http.Request) error {
	return p.showDay(w, r, http.StatusOK, nil)
}

func (p pages) showDay(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	read, err := p.looks.Today(r.Context(), who)
	if err != nil {
		return err
	}
	v := newDayView(read, who, f)
	page := p.kit.Page(r, "Outlook", Path).Follow(r, live.Outlook, live.All)
	page.Wide = true
	return p.kit.Render(w, r, status, dayPage(page, v))
}
