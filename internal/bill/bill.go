// Package bill is what a garage asks for its work and what it is paid: bills
// made from what was agreed and done, credit notes, payments, deposits, and
// what is still owed. What was issued is never changed.
package bill

import (
	"fmt"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/particulars"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// ID names a bill or a credit note. The number that is printed is another
// thing: it has no gaps.
type ID int64

// Kind is what a document is.
type Kind string

// The kinds.
const (
	Bill       Kind = "bill"
	CreditNote Kind = "credit note"
)

// Form is the lawful form of a document.
type Form string

// The forms. WithoutVAT is that of a garage that is not registered.
const (
	Full       Form = Form(particulars.Full)
	Simplified Form = Form(particulars.Simplified)
	CreditForm Form = Form(particulars.Credit)
	WithoutVAT Form = "without VAT"
)

// Party is the garage or the customer as a document names them.
type Party struct {
	Name, Address, Phone, Email string
	VATNumber, Company, Country string
	Reference                   string // the customer's own, such as an order number
}

// Account is where a bill is to be paid into.
type Account struct{ Name, IBAN, BIC string }

// Item is one line of a document with what of the card it stands for.
type Item struct {
	pricing.LineSum
	LineID jobcard.LineID
	PartID jobcard.PartID
	// Credited is how much of the quantity credit notes took back, in
	// thousandths; always 0 on a credit note.
	Credited int64
}

// Left is the quantity that can still be credited.
func (i Item) Left() int64 { return i.Qty - i.Credited }

// Document is a bill or a credit note as it was issued. Amounts of a credit
// note are below nothing.
type Document struct {
	ID         ID
	Kind       Kind
	Number     string
	Form       Form
	CardID     jobcard.CardID
	CustomerID customer.ID
	// Of is the bill that a credit note corrects, OfNumber and OfIssued what is
	// printed of it, Why the reason.
	Of       ID
	OfNumber string
	OfIssued workday.Day
	Why      string
	// Issued is the day of issue, TaxPoint the time of supply for VAT, Supplied
	// the day the work was finished, Due when it is to be paid.
	Issued, TaxPoint, Supplied, Due workday.Day
	Currency                        money.Currency
	Registered                      bool
	Seller, Buyer                   Party
	Car                             string
	Words                           string
	Account                         Account
	Items                           []Item
	// Sum is the whole as it was worked out; its Paid are the deposits that were
	// set off. Sum.Lines are the lines of Items.
	Sum      pricing.Sum
	IssuedBy string
	IssuedAt time.Time
	// Credited and Paid are above nothing: what credit notes and payments took
	// off since, deposits included. Both are 0 on a credit note.
	Credited, Paid money.Minor
}

// Open is what is still owed on a bill; below nothing, the customer has paid
// too much. 0 for a credit note.
func (d Document) Open() money.Minor {
	if d.Kind == CreditNote {
		return 0
	}
	return d.Sum.Totals.Gross - d.Credited - d.Paid
}

// Word is how a bill stands, in one word that has a mark.
func (d Document) Word(today workday.Day) string {
	return word(d.Kind, d.Sum.Totals.Gross, d.Credited, d.Open(), d.Due, today)
}

func word(k Kind, gross, credited, open money.Minor, due, today workday.Day) string {
	switch {
	case k == CreditNote:
		return "credit note"
	case credited == gross && gross > 0 && open == 0:
		return "credited"
	case open == 0:
		return "paid"
	case open < 0:
		return "overpaid"
	case due.Before(today):
		return "overdue"
	}
	return "unpaid"
}

// Service is what the pages and the API do with bills and payments.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// Limits of what may be typed, in characters, and of lists, in rows.
const (
	MaxShort = 120
	MaxWhy   = 300
	MaxWords = 600
	maxList  = 200
	maxTied  = 200
)

// CarWords writes a car as a document names it.
func CarWords(mark, name string, reading *int, unit string) string {
	var parts []string
	for _, s := range []string{mark, name} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if reading != nil {
		parts = append(parts, thousands(*reading)+" "+unit)
	}
	return strings.Join(parts, ", ")
}

func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", thousands(n/1000), n%1000)
}

// taxPointDays is how many days after the work an invoice may be issued and
// still be the time of supply: VAT Act 1994, section 6(5).
const taxPointDays = 14

// TaxPoint is the time of supply for VAT of work finished on a day and billed
// on another: the day of the bill where that is no more than fourteen days
// later, or else the day of the work (VAT Act 1994, section 6(3) and (5)).
func TaxPoint(supplied, issued workday.Day) workday.Day {
	if supplied.IsZero() || supplied.DaysUntil(issued) <= taxPointDays {
		return issued
	}
	return supplied
}

// nameOf is what is kept of who did something.
func nameOf(who actor.Actor) string {
	if who.Name == "" {
		return "the server's console"
	}
	return who.Name
}
