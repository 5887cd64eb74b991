// Package booksweb is the page Accounts: what is quoted and not answered, what
// is owed and how old it is, what was taken, customers' accounts, the VAT of a
// period, and the tables that go out.
package booksweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/books"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// Path is where the accounts are.
const Path = "/accounts"

const (
	customersPath = Path + "/customers"
	vatPath       = Path + "/vat"
	cashPath      = vatPath + "/cash"
	exportPath    = Path + "/export"
	columnsPath   = Path + "/columns"
)

type pages struct {
	kit    *ui.Kit
	books  *books.Service
	garage *garage.Service
}

// Mount registers the pages of the accounts.
func Mount(r chi.Router, kit *ui.Kit, b *books.Service, g *garage.Service) {
	p := pages{kit, b, g}
	kit.Get(r, Path, actor.SeeAccounts, p.overview)
	kit.Get(r, customersPath+"/{customer}", actor.SeeAccounts, p.statement)
	kit.Get(r, customersPath+"/{customer}/pdf", actor.SeeAccounts, p.statementPDF)
	kit.Post(r, customersPath+"/{customer}/mail", actor.SeeAccounts, p.mailStatement)
	kit.Get(r, vatPath, actor.SeeAccounts, p.vat)
	kit.Post(r, cashPath, actor.ManageGarage, p.setCash)
	kit.Get(r, exportPath, actor.SeeAccounts, p.export)
	kit.Get(r, exportPath+"/{file}", actor.SeeAccounts, p.exportFile)
	kit.Get(r, columnsPath, actor.SeeAccounts, p.columns)
}

// tab is one of the pages of the accounts, offered on all of them.
type tab struct {
	Label, Path string
	Here        bool
}

func tabs(here string) []tab {
	out := []tab{{"How it stands", Path, false}, {"Bills", "/bills", false}, {"VAT", vatPath, false}, {"Tables to take out", exportPath, false}, {"What the columns mean", columnsPath, false}}
	for i := range out {
		out[i].Here = out[i].Path == here
	}
	return out
}

// frame makes the frame of one of the pages, which follows everything: a bill
// may be issued or paid on any card.
func (p pages) frame(r *http.Request, title string) ui.PageData {
	page := p.kit.Page(r, title, Path).Follow(r, live.All)
	page.Wide, page.OwnHead = true, true
	return page
}

// readPeriod reads from and to; both left out is the zero period.
func readPeriod(f *ui.Form) books.Period {
	p := books.Period{From: ui.Read(f, "from", workday.Parse), To: ui.Read(f, "to", workday.Parse)}
	if p == (books.Period{}) {
		return p
	}
	if f.Err() == nil {
		f.Take(p.Check())
	}
	return p
}

// span is a period as an address has it.
func span(p books.Period) string { return "?from=" + p.From.String() + "&to=" + p.To.String() }

// choice is a period to go to.
type choice struct{ Label, Path string }

// choices are the usual periods, for the page at path.
func choices(path string, today workday.Day) []choice {
	month, quarter := books.Month(today), books.Quarter(today)
	return []choice{
		{"Today", path + span(books.Period{From: today, To: today})},
		{"This month", path + span(month)}, {"Last month", path + span(month.Before(books.Month))},
		{"This quarter", path + span(quarter)}, {"Last quarter", path + span(quarter.Before(books.Quarter))},
	}
}
