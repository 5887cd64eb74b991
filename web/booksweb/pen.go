package booksweb

import (
	"time"

	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/quote"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// pen writes figures as the garage does: in its currency, by its clock.
type pen struct {
	books.Frame
	cur money.Currency
	loc *time.Location
}

func newPen(f books.Frame) pen { return pen{f, f.Money(), f.Garage.Location()} }

func (p pen) money(m money.Minor) string { return p.cur.Format(m) }

// none is an amount, or nothing where there is none.
func (p pen) none(m money.Minor) string {
	if m == 0 {
		return ""
	}
	return p.money(m)
}

// date writes a day with its year, as documents have it.
func date(d workday.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.UTC().Format("2 Jan 2006")
}

func (p pen) day(t time.Time) string { return date(workday.Of(t, p.loc)) }

func (p pen) printed() string { return p.Now.In(p.loc).Format("2 January 2006, 15:04") }

// tax is what the garage's VAT is called.
func (p pen) tax() string { return p.Garage.TaxName }

func billPath(id bill.ID) string           { return "/bills/" + ui.Itoa(id) }
func paymentPath(id bill.PaymentID) string { return "/payments/" + ui.Itoa(id) }
func quotePath(id quote.VersionID) string  { return "/quotes/" + ui.Itoa(id) }
func cardPath(id jobcard.CardID) string    { return "/cards/" + ui.Itoa(id) }
func customerPath(id customer.ID) string   { return customersPath + "/" + ui.Itoa(id) }
func fieldDay(d workday.Day) string        { return d.String() }

// item is a document behind a figure.
type item struct{ Words, Path, Amount string }
