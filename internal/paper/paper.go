// Package paper sets documents on A4 as PDF: quotes, bills, statements, orders,
// the handover and the card for the workshop. It computes nothing: amounts,
// dates and names arrive as they are to be read.
//
// Every document has its fonts in it, its language and its title set, and
// carries the structure that screen readers follow (tagged PDF, ISO 32000-1,
// 14.8): headings, paragraphs, tables with their heads, pictures with words in
// their place, in the order in which they are read. The same document gives
// the same bytes. Black on white, for any printer.
//
// The fonts are the Go fonts (BSD licence), which hold Latin, Greek and
// Cyrillic; see legible for what becomes of the rest.
package paper

import "time"

// Top is what every document has: who it is from and to, and what stands
// beside the address.
type Top struct {
	// Lang is the language of the words, as BCP 47 has it: en-GB when empty.
	Lang string
	// At is when the document was made; it goes into the file and is not shown.
	At   time.Time
	From Party
	To   Party
	// Facts stand beside the address: numbers, dates, the car.
	Facts []Fact
	// Link, when there is one, is drawn as a QR code, with LinkSays under it.
	Link, LinkSays string
}

// Party is one side of a document. Address is of several lines.
type Party struct{ Name, Address, Phone, Email, VATNumber string }

// Fact is a thing with its label; without a value it is not shown.
type Fact struct{ Label, Value string }

// Amount is a sum of money with what it is. Strong ones are those to be looked
// at.
type Amount struct {
	Label, Value string
	Strong       bool
}

// Tax is what a document comes to at one rate.
type Tax struct{ Label, Net, VAT string }

// Row is one line of a quote or a bill.
type Row struct {
	What string
	// Number is a part's number.
	Number string
	// Details stand under the line, smaller.
	Details []string
	// Qty is with its unit: "1.6 h", "2". Tax is the rate: "20%".
	Qty, Each, Tax, Net string
	// Mark is a word beside the line: "agreed", "declined", "can wait".
	Mark string
	// Heading sets What alone, over the rows that follow it.
	Heading bool
	// Running is what the rows down to this one come to. Where it is given, a
	// list that goes on overleaf is carried forward.
	Running string
}

// Quote is an offer, or a version of one.
type Quote struct {
	Top
	// Kind and Number make the title: "Quote", "1003/2".
	Kind, Number string
	// Opening stands over the list.
	Opening []string
	Rows    []Row
	Totals  []Amount
	Taxes   []Tax
	Notes   []string
	// Sign leaves room for a yes in writing.
	Sign bool
}

// Bill is an invoice in any of its forms, or a credit note. What it must state
// is up to whoever fills it in (package particulars); the VAT number of From
// stands by the issuer's address, that of To by the customer's.
type Bill struct {
	Top
	// Kind and Number make the title: "VAT invoice", "Credit note".
	Kind, Number string
	// Corrects says which bill a credit note is for, and why.
	Corrects string
	Rows     []Row
	Totals   []Amount
	Taxes    []Tax
	// Paid are payments and what is left.
	Paid []Amount
	// Pay says how to pay, one line each.
	Pay []string
	// EInvoice says that and how the same bill goes out electronically.
	EInvoice string
	Notes    []string
}

// Statement is what one customer owes and how it came about.
type Statement struct {
	Top
	// Period is "1 to 31 October 2026".
	Period string
	Moves  []Move
	Totals []Amount
	// Ages are what is owed by how long it has been owed.
	Ages  []Amount
	Pay   []string
	Notes []string
}

// Move is one bill, credit note or payment of a statement; Balance is what is
// owed after it.
type Move struct{ Date, Number, What, Charged, Paid, Balance string }

// Order is what is ordered from a supplier.
type Order struct {
	Top
	Number string
	Lines  []OrderLine
	Note   string
}

// OrderLine is one thing ordered.
type OrderLine struct{ Qty, Number, What, Due, Card string }
