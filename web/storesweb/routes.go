// Package storesweb is the stores on pages: what to order, what came, what is
// stuck, what goes back, the shelf, and how things stand with suppliers.
package storesweb

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/live"
	"rampside/internal/stores"
	"rampside/web/ui"
)

// Path is where the stores are.
const Path = "/stores"

const (
	ordersPath    = Path + "/orders"
	arrivalsPath  = Path + "/arrivals"
	stuckPath     = Path + "/stuck"
	returnsPath   = Path + "/returns"
	shelfPath     = Path + "/shelf"
	suppliersPath = Path + "/suppliers"
	linesPath     = Path + "/lines"
)

type pages struct {
	kit    *ui.Kit
	stores *stores.Service
}

// Mount registers the pages of the stores.
func Mount(r chi.Router, kit *ui.Kit, s *stores.Service) {
	p := pages{kit, s}
	kit.Get(r, Path, actor.ReadCards, p.needs)
	kit.Post(r, ordersPath, actor.EditCard, p.order)
	kit.Get(r, ordersPath+"/{order}", actor.ReadCards, p.showOrder)
	kit.Get(r, ordersPath+"/{order}/pdf", actor.ReadCards, p.orderPDF)
	kit.Post(r, linesPath+"/{orderline}/due", actor.EditCard, p.setDue)
	kit.Post(r, linesPath+"/{orderline}/close", actor.EditCard, p.closeLine)
	kit.Get(r, arrivalsPath, actor.ReadCards, p.arrivals)
	kit.Post(r, arrivalsPath, actor.Work, p.arrive)
	kit.Post(r, linesPath+"/{orderline}/wrong", actor.Work, p.wrong)
	kit.Get(r, stuckPath, actor.ReadCards, p.stuck)
	kit.Get(r, returnsPath, actor.ReadCards, p.returns)
	kit.Post(r, returnsPath, actor.EditCard, p.writeUp)
	kit.Post(r, returnsPath+"/{return}/sent", actor.Work, p.sent)
	kit.Post(r, returnsPath+"/{return}/credit", actor.EditCard, p.credit)
	kit.Post(r, returnsPath+"/{return}/settle", actor.EditCard, p.settle)
	kit.Get(r, shelfPath, actor.ReadCards, p.shelf)
	kit.Post(r, shelfPath, actor.EditCard, p.addItem)
	kit.Get(r, shelfPath+"/{item}", actor.ReadCards, p.item)
	kit.Post(r, shelfPath+"/{item}", actor.EditCard, p.editItem)
	kit.Post(r, shelfPath+"/{item}/in", actor.EditCard, p.putIn)
	kit.Post(r, shelfPath+"/{item}/count", actor.EditCard, p.countItem)
	kit.Post(r, shelfPath+"/{item}/use", actor.Work, p.use)
	kit.Post(r, shelfPath+"/{item}/put-back", actor.Work, p.putBack)
	kit.Get(r, suppliersPath, actor.ReadCards, p.suppliers)
}

// tab is one of the stores' pages, offered on all of them.
type tab struct {
	Label, Path string
	Here        bool
}

func tabs(here string) []tab {
	out := []tab{
		{"To order", Path, false}, {"Arrivals", arrivalsPath, false}, {"What is stuck", stuckPath, false},
		{"Going back", returnsPath, false}, {"Shelf", shelfPath, false}, {"Suppliers", suppliersPath, false},
	}
	for i := range out {
		out[i].Here = out[i].Path == here
	}
	return out
}

// frame makes the frame of one of the pages of the stores, which follows
// everything: a part moves on any card.
func (p pages) frame(r *http.Request, title string) ui.PageData {
	page := p.kit.Page(r, title, Path).Follow(r, live.All)
	page.Wide, page.OwnHead = true, true
	return page
}

// doing says which form of a page is open, as ?do=credit-12 has it.
type doing struct {
	verb string
	id   int64
}

func readDoing(r *http.Request) doing {
	s := r.URL.Query().Get("do")
	if i := strings.LastIndexByte(s, '-'); i > 0 {
		if n, err := strconv.ParseInt(s[i+1:], 10, 64); err == nil && n >= 0 {
			return doing{s[:i], n}
		}
	}
	return doing{verb: s}
}

func (d doing) is(verb string, id int64) bool { return d.verb == verb && d.id == id }

// reply finishes a write: on to a page; the form again with its messages and
// what was typed; or the error for the adapter.
func (p pages) reply(w http.ResponseWriter, r *http.Request, f *ui.Form, to, flash string, err error, again func(status int) error) error {
	switch {
	case err == nil:
		if flash != "" {
			p.kit.Flash(w, flash)
		}
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
