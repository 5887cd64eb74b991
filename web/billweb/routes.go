// Package billweb is bills on pages: what a card comes to and what stops its
// bill, a bill as it is printed, payments, deposits, credit notes, and who owes
// what.
package billweb

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/web/ui"
)

// Path is where the list of bills is.
const Path = "/bills"

const (
	owedPath  = Path + "/owed"
	termsPath = Path + "/terms"
	// accountsPath is where all of the money is seen together.
	accountsPath = "/accounts"
)

type pages struct {
	kit   *ui.Kit
	bills *bill.Service
	cards *jobcard.Service
	links Links
}

// Links gives the address that a link to the customer has.
type Links interface {
	Token(ctx context.Context, who actor.Actor, id link.ID) (link.Minted, error)
}

// Mount registers the pages of bills and payments.
func Mount(r chi.Router, kit *ui.Kit, bills *bill.Service, cards *jobcard.Service, links Links) {
	p := pages{kit, bills, cards, links}
	kit.Get(r, "/cards/{card}/bill", actor.IssueBill, p.preview)
	kit.Post(r, "/cards/{card}/bill", actor.IssueBill, p.issue)
	kit.Post(r, "/cards/{card}/bill/free", actor.IssueBill, p.free)
	kit.Post(r, "/cards/{card}/bill/agreed", actor.RecordConsent, p.agreed)
	kit.Get(r, "/cards/{card}/deposit", actor.TakePayment, p.deposit)
	kit.Post(r, "/cards/{card}/deposit", actor.TakePayment, p.takeDeposit)
	kit.Get(r, Path, actor.ReadPeople, p.list)
	kit.Get(r, owedPath, actor.SeeAccounts, p.owed)
	kit.Get(r, termsPath, actor.ManageGarage, p.terms)
	kit.Post(r, termsPath, actor.ManageGarage, p.saveTerms)
	kit.Get(r, Path+"/customers/{customer}", actor.IssueBill, p.party)
	kit.Post(r, Path+"/customers/{customer}", actor.IssueBill, p.saveParty)
	kit.Get(r, Path+"/{bill}", actor.ReadPeople, p.bill)
	kit.Get(r, Path+"/{bill}.pdf", actor.ReadPeople, p.pdf)
	kit.Get(r, Path+"/{bill}.xml", actor.ReadPeople, p.xml)
	kit.Get(r, Path+"/{bill}/outside.xml", actor.ReadPeople, p.outsideXML)
	kit.Post(r, Path+"/{bill}/pay", actor.TakePayment, p.pay)
	kit.Post(r, Path+"/{bill}/use", actor.TakePayment, p.use)
	kit.Post(r, Path+"/{bill}/refund", actor.TakePayment, p.refundBill)
	kit.Post(r, Path+"/{bill}/credit", actor.IssueBill, p.credit)
	kit.Post(r, Path+"/{bill}/send", actor.IssueBill, p.send)
	kit.Post(r, Path+"/{bill}/links", actor.IssueBill, p.link)
	kit.Get(r, "/payments/{payment}", actor.ReadPeople, p.receipt)
	kit.Post(r, "/payments/{payment}/reverse", actor.TakePayment, p.reverse)
	kit.Post(r, "/payments/{payment}/refund", actor.TakePayment, p.refundPayment)
}

func cardPath(id jobcard.CardID) string { return "/cards/" + ui.Itoa(id) }

func billPath(id bill.ID) string { return Path + "/" + ui.Itoa(id) }

func payPath(id bill.PaymentID) string { return "/payments/" + ui.Itoa(id) }

func partyPath(id customer.ID) string { return Path + "/customers/" + ui.Itoa(id) }

// tab is one of the pages about bills, offered on those that list.
type tab struct {
	Label, Path string
	Here        bool
}

func tabs(who actor.Actor, here string) []tab {
	out := []tab{{Label: "Bills", Path: Path}}
	if who.May(actor.SeeAccounts) {
		out = append(out, tab{Label: "Who owes what", Path: owedPath}, tab{Label: "Accounts", Path: accountsPath})
	}
	if who.May(actor.ManageGarage) {
		out = append(out, tab{Label: "What stands on every bill", Path: termsPath})
	}
	for i := range out {
		out[i].Here = out[i].Path == here
	}
	return out
}

func (p pages) frame(r *http.Request, title string) ui.PageData {
	page := p.kit.Page(r, title, accountsPath)
	page.Wide, page.OwnHead = true, true
	return page
}

// cardFrame is a frame that follows a card.
func (p pages) cardFrame(r *http.Request, title string, card jobcard.CardID) ui.PageData {
	return p.frame(r, title).Follow(r, "card:"+ui.Itoa(card))
}

// doing says which form of a page is open, as ?do=free-12 has it.
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
		p.kit.Flash(w, flash)
		return ui.SeeOther(w, r, to)
	case f.Take(err):
		return again(apperr.KindOf(err).Status())
	case apperr.Is(err, apperr.Conflict):
		f.Summary = err.Error()
		return again(http.StatusConflict)
	}
	return err
}
