// Package cardweb is the card on a page: the sheet that everything about one
// visit hangs on, changed in place.
package cardweb

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pricing"
	"rampside/web/ui"
)

// Lists gives the names that a card's forms offer.
type Lists interface {
	Lists(ctx context.Context, who actor.Actor) (garage.Lists, error)
	Zone(ctx context.Context) (*time.Location, error)
	TestMaxima(ctx context.Context, who actor.Actor) ([]pricing.Maximum, error)
}

type pages struct {
	kit    *ui.Kit
	cards  *jobcard.Service
	clocks *clocking.Service
	fits   *fitment.Service
	lists  Lists
}

// Mount registers the pages of a card.
func Mount(r chi.Router, kit *ui.Kit, cards *jobcard.Service, clocks *clocking.Service, fits *fitment.Service, lists Lists) {
	p := pages{kit, cards, clocks, fits, lists}
	kit.Get(r, "/cards/{card}", actor.ReadCards, p.card)
	kit.Post(r, "/cards/{card}/visit", actor.EditCard, p.editVisit)
	kit.Post(r, "/cards/{card}/stage", actor.EditCard, p.setStage)
	kit.Post(r, "/cards/{card}/answer", actor.RecordConsent, p.answer)
	kit.Post(r, "/cards/{card}/lines", actor.EditCard, p.addLine)
	kit.Post(r, "/cards/{card}/lines/{line}", actor.EditCard, p.editLine)
	kit.Post(r, "/cards/{card}/lines/{line}/strike", actor.EditCard, p.strikeLine)
	kit.Post(r, "/cards/{card}/lines/{line}/place", actor.EditCard, p.moveLine)
	kit.Post(r, "/cards/{card}/lines/{line}/order", actor.EditCard, p.orderLine)
	kit.Post(r, "/cards/{card}/lines/{line}/work", actor.Work, p.work)
	kit.Post(r, "/cards/{card}/parts", actor.EditCard, p.addPart)
	kit.Post(r, "/cards/{card}/parts/{part}", actor.EditCard, p.editPart)
	kit.Post(r, "/cards/{card}/parts/{part}/supply", actor.Work, p.setSupply)
	kit.Post(r, "/cards/{card}/parts/{part}/verdict", actor.Work, p.setVerdict)
	kit.Post(r, "/cards/{card}/parts/{part}/conditions", actor.Work, p.putConditions)
	kit.Post(r, "/cards/{card}/parts/{part}/measure", actor.Work, p.measure)
	kit.Post(r, "/cards/{card}/parts/{part}/waive", actor.WaiveFit, p.waive)
	kit.Post(r, "/cards/{card}/parts/{part}/numbers", actor.EditCard, p.linkNumbers)
	kit.Post(r, "/cards/{card}/parts/{part}/strike", actor.EditCard, p.strikePart)
	kit.Post(r, "/cards/{card}/parts/{part}/exchange", actor.EditCard, p.setExchange)
	kit.Post(r, "/cards/{card}/lines/{line}/ahead", actor.RecordConsent, p.ahead)
	kit.Post(r, "/cards/{card}/adjustments", actor.EditCard, p.addAdjustment)
	kit.Post(r, "/cards/{card}/adjustments/{adjustment}", actor.EditCard, p.editAdjustment)
	kit.Post(r, "/cards/{card}/adjustments/{adjustment}/strike", actor.EditCard, p.strikeExtra(adjustment, strikeAdjustment, "Struck out"))
	kit.Post(r, "/cards/{card}/menus", actor.EditCard, p.addMenu)
	kit.Post(r, "/cards/{card}/menus/{menu}", actor.EditCard, p.editMenu)
	kit.Post(r, "/cards/{card}/menus/{menu}/strike", actor.EditCard, p.strikeExtra(menu, strikeMenu, "Menu price struck out"))
	kit.Post(r, "/cards/{card}/fees", actor.EditCard, p.addFee)
	kit.Post(r, "/cards/{card}/fees/{fee}", actor.EditCard, p.editFee)
	kit.Post(r, "/cards/{card}/fees/{fee}/strike", actor.EditCard, p.strikeExtra(fee, strikeFee, "Test fee struck out"))
	kit.Post(r, "/cards/{card}/sundries", actor.EditCard, p.setSundries)
}

// doing says which part of the sheet is open to be changed: nothing, "visit",
// "answer", "cancel", "line" for a new one, or a verb with the number of a
// line or a part.
type doing struct {
	verb string
	id   int64
}

// The verbs that go with a number.
const (
	editLine   = "line"
	strikeLine = "strike-line"
	deferLine  = "defer"
	reopenLine = "reopen"
	addPart    = "add-part"
	editPart   = "part"
	strikePart = "strike-part"
	verdict    = "fit"
	inWords    = "words"
	inFields   = "fields"
	whatItIs   = "kind"
	waivePart  = "waive"
	editVisit  = "visit"
	answerAll  = "answer"
	cancelCard = "cancel"
	// A discount or surcharge, a menu and a fee: the name alone changes one
	// there is; adjust, menu-0 and add-fee make a new one.
	adjust           = "adjust"
	adjustment       = "adjustment"
	strikeAdjustment = "strike-adjustment"
	menu             = "menu"
	strikeMenu       = "strike-menu"
	addFee           = "add-fee"
	fee              = "fee"
	strikeFee        = "strike-fee"
	exchange         = "exchange"
	sundries         = "sundries"
	goAhead          = "ahead"
)

// readDoing reads ?do=line-34; whatever is none of ours opens nothing.
func readDoing(s string) doing {
	if i := strings.LastIndexByte(s, '-'); i > 0 {
		if n, err := strconv.ParseInt(s[i+1:], 10, 64); err == nil && n >= 0 {
			return doing{s[:i], n}
		}
	}
	return doing{verb: s}
}

func (d doing) is(verb string, id int64) bool { return d.verb == verb && d.id == id }

func cardPath(id jobcard.CardID) string { return "/cards/" + ui.Itoa(id) }

func (p pages) card(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	return p.show(w, r, http.StatusOK, id, readDoing(r.URL.Query().Get("do")), nil)
}

// show renders the sheet with one part of it open, and what was typed there.
func (p pages) show(w http.ResponseWriter, r *http.Request, status int, id jobcard.CardID, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	s, fits, err := p.fits.Sheet(r.Context(), who, id)
	if err != nil {
		return err
	}
	var lists garage.Lists
	if who.May(actor.EditCard) && d.verb != "" {
		if lists, err = p.lists.Lists(r.Context(), who); err != nil {
			return err
		}
	}
	if !who.May(actor.EditCard) && d.verb != verdict {
		d = doing{}
	}
	page := p.kit.Page(r, "Card "+ui.Itoa(id), "/diary").Follow(r, "card:"+ui.Itoa(id))
	page.OwnHead = true
	page.Wide = true
	fit, err := p.remembered(r, id, d, fitted{card: fits})
	if err != nil {
		return err
	}
	v, err := newView(s, fit, who, d, f, lists, p.kit.PublicURL(cardPath(id)), p.kit.Now())
	if v != nil && v.May && (d.verb == addFee || d.verb == fee) {
		table, err := p.lists.TestMaxima(r.Context(), who)
		if err != nil {
			return err
		}
		v.Classes = classes(table)
	}
	v.AskedKind = r.URL.Query().Get("kind")
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, sheetPage(page, v))
}

// classes are those that the table of test fees has.
func classes(table []pricing.Maximum) []string {
	var out []string
	for _, m := range table {
		if !slices.Contains(out, m.Class) {
			out = append(out, m.Class)
		}
	}
	return out
}

// reply finishes a write: back to the sheet at the row that was changed; the
// form again with its messages; or the error for the adapter.
func (p pages) reply(w http.ResponseWriter, r *http.Request, id jobcard.CardID, d doing, f *ui.Form, anchor, flash string, err error) error {
	switch {
	case err == nil:
		if flash != "" {
			p.kit.Flash(w, flash)
		}
		return ui.SeeOther(w, r, cardPath(id)+anchor)
	case f.Take(err):
		return p.show(w, r, apperr.KindOf(err).Status(), id, d, f)
	case apperr.Is(err, apperr.Conflict):
		// What stands in the way is on the sheet itself.
		f.Summary = err.Error()
		return p.show(w, r, http.StatusConflict, id, d, f)
	}
	return err
}
