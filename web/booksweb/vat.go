package booksweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/books"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type vatView struct {
	Form      *ui.Form
	Tabs      []tab
	Printed   string
	Title     string
	Tax       string
	Path      string
	From, To  string
	By        string
	Ways      []ui.Option
	Words     string
	Usual     []choice
	Rows      []vatRow
	Net, VAT  string
	UK        bool
	Boxes     []boxRow
	Setting   string
	MaySet    bool
	SettingIt bool // the form of the setting is open
	SetTo     string
	CashFrom  string
	CashPath  string
}

type vatRow struct {
	Label    string
	Net, VAT figureCell
}

type boxRow struct{ Number, Label, Amount, Note string }

func (p pages) vat(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	span := readPeriod(f)
	by := ui.OneOf(f, "by", books.ByBill, books.ByCash)
	status := http.StatusOK
	if f.Err() != nil {
		status, span, by = http.StatusUnprocessableEntity, books.Period{}, ""
	}
	return p.vatSheet(w, r, status, span, by, f, r.URL.Query().Get("do") == "cash")
}

func (p pages) vatSheet(w http.ResponseWriter, r *http.Request, status int, span books.Period, by books.Basis, f *ui.Form, setting bool) error {
	who := ui.Who(r.Context())
	got, err := p.books.VAT(r.Context(), who, span, by)
	if err != nil {
		return err
	}
	v := newVATView(got, f, who)
	v.SettingIt = setting && v.MaySet
	return p.kit.Render(w, r, status, vatPage(p.frame(r, v.Title), v))
}

func newVATView(got books.VAT, f *ui.Form, who actor.Actor) *vatView {
	pen := newPen(got.Frame)
	v := &vatView{
		Form: f, Tabs: tabs(vatPath), Printed: pen.printed(), Tax: pen.tax(), Title: pen.tax() + " of a period", Path: vatPath, CashPath: cashPath,
		From: fieldDay(got.Period.From), To: fieldDay(got.Period.To), By: string(got.Basis), Usual: choices(vatPath, got.Today),
		Ways:   []ui.Option{{Value: string(books.ByBill), Label: "when a bill is issued"}, {Value: string(books.ByCash), Label: "when money comes (cash accounting)"}},
		MaySet: who.May(actor.ManageGarage), CashFrom: fieldDay(got.CashFrom), UK: got.Garage.Currency == "GBP",
	}
	v.Words = "Each document on its tax point; deposits on the day they came, and taken off again by the bill."
	if got.Basis == books.ByCash {
		v.Words = "Money on the day it came, shared out over what its bill is for; what is billed and not paid is not in it."
		if !got.CashFrom.IsZero() {
			v.Words += " Bills with a tax point before " + date(got.CashFrom) + " were accounted for when they were issued."
		}
	}
	v.Setting, v.SetTo = "The garage accounts for it when a bill is issued.", string(got.Frame.Basis())
	if !got.CashFrom.IsZero() {
		v.Setting = "The garage accounts for it when money comes, for what has a tax point from " + date(got.CashFrom) + " on."
	}
	var net money.Minor
	for _, r := range got.Rows {
		row := vatRow{Label: r.Code.Label()}
		if r.Rate != 0 {
			row.Label += ", " + money.FormatRate(r.Rate)
		}
		row.Net = figureCell{Value: pen.money(r.Net), What: "net at the " + row.Label}
		row.VAT = figureCell{Value: pen.money(r.VAT), What: pen.tax() + " at the " + row.Label}
		for _, b := range r.Behind {
			words, path := b.Number, ""
			if b.Of != "" {
				words += " for " + b.Of
			}
			words += ", " + date(b.TaxPoint)
			switch {
			case got.Documents[b.Number] != 0:
				path = billPath(got.Documents[b.Number])
			case got.Payments[b.Number] != 0:
				path = paymentPath(got.Payments[b.Number])
			}
			row.Net.Items = append(row.Net.Items, item{words, path, pen.money(b.Net)})
			row.VAT.Items = append(row.VAT.Items, item{words, path, pen.money(b.VAT)})
		}
		net += r.Net
		v.Rows = append(v.Rows, row)
	}
	v.Net, v.VAT = pen.money(net), pen.money(got.VATPeriod.VAT)
	for _, b := range got.Boxes {
		row := boxRow{Number: ui.Itoa(int64(b.Number)), Label: b.Label, Note: b.Note}
		if b.Known {
			row.Amount = pen.money(b.Amount)
		}
		v.Boxes = append(v.Boxes, row)
	}
	return v
}

// setCash has VAT accounted for when money comes, from a day on, or when a bill
// is issued.
func (p pages) setCash(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	how := ui.OneOf(f, "how", books.ByBill, books.ByCash)
	from := ui.Read(f, "cash_from", workday.Parse)
	f.Required("how")
	if how == books.ByCash {
		f.Required("cash_from")
	} else {
		from = workday.Day{}
	}
	if f.Err() == nil {
		_, err := p.garage.SetCashFrom(r.Context(), who, from)
		if err == nil {
			p.kit.Flash(w, "Noted")
			return ui.SeeOther(w, r, vatPath)
		}
		if !f.Take(err) {
			return err
		}
	}
	return p.vatSheet(w, r, http.StatusUnprocessableEntity, books.Period{}, "", f, true)
}
