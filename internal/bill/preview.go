package bill

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/particulars"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Where is the place to put something right that stops a bill.
type Where string

// The places.
const (
	AtGarage   Where = "garage"   // the garage's settings
	AtTerms    Where = "terms"    // what stands on every bill
	AtCustomer Where = "customer" // the customer's name and address
	AtParty    Where = "party"    // what the customer's bills need besides
	AtCard     Where = "card"
)

// Stop is one thing that keeps a bill from being issued.
type Stop struct {
	Says string
	// Rule is the regulation that asks for it, where one does.
	Rule  string
	Where Where
	// LineID is the line that was done without being agreed, else 0.
	LineID jobcard.LineID
}

// Left is something of the card that is not on the bill, and why.
type Left struct {
	Text   string
	Why    string
	BillID ID // the bill that it stands on already, or 0
}

// Preview is a bill as it would be issued now.
type Preview struct {
	Document
	Stage    jobcard.Stage
	Customer customer.Customer
	Garage   garage.Settings
	Stops    []Stop
	Left     []Left
	// Free are lines that are not charged for, with the reason.
	Free map[jobcard.LineID]string
	// MaySimplify tells whether the simplified form is allowed.
	MaySimplify bool
	Methods     []Method
	// Bills are the documents of the card so far.
	Bills []Row
	// RatesNote says which day's rates of VAT the bill has, where it matters.
	RatesNote string
	// OnAccount are deposits on the card that no bill has set off.
	OnAccount money.Minor
}

// Ready tells whether the bill can be issued.
func (p Preview) Ready() bool { return len(p.Stops) == 0 }

// Preview works out the bill of what was agreed and done on a card and stands
// on no bill yet, and says what keeps it from being issued. form is the one
// wanted; "" takes the full one, or the simplified one where only that will do.
func (s *Service) Preview(ctx context.Context, who actor.Actor, card jobcard.CardID, form Form) (Preview, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Preview{}, err
	}
	b, err := load(ctx, s.db.Pool, card)
	if err != nil {
		return Preview{}, err
	}
	p := b.preview(form, b.set.Today(s.db.Now()))
	p.Bills, err = List(ctx, s.db.Pool, Filter{Card: int64(card), Limit: 50})
	return p, err
}

// include tells whether an entry goes on the bill, and why not.
func (b basis) include(e jobcard.Entry) (ok bool, why string, on ID) {
	_, free := b.free[e.LineID]
	if at, billed := b.on[e.Line.Key]; billed {
		return false, "on bill " + at.Number, at.ID
	}
	switch {
	case !e.Counts:
		return false, "", 0
	case e.LineID != 0 && e.WorkState != jobcard.Done:
		return false, "not done: " + string(e.WorkState), 0
	case !e.Fitted && e.LineID == 0:
		return false, "not fitted", 0
	case !e.Fitted:
		return false, "its line is done and it is not ticked as fitted", 0
	case e.Consent != jobcard.Agreed && !free:
		return false, "done and not agreed", 0
	}
	return true, "", 0
}

func (b basis) preview(form Form, today workday.Day) Preview {
	p := Preview{Stage: b.stage, Customer: b.customer, Garage: b.set, Free: b.free, Methods: b.methods}
	p.Document = b.head(today)
	keep := map[string]jobcard.Entry{}
	asked := map[jobcard.LineID]bool{}
	for _, e := range b.priced.Entries {
		ok, why, on := b.include(e)
		switch {
		case ok:
			keep[e.Line.Key] = e
			if d := b.done[e.LineID]; d.After(p.Supplied) {
				p.Supplied = d
			}
		case why != "":
			p.Left = append(p.Left, Left{e.Line.Text, why, on})
		}
		if why == "done and not agreed" && !asked[e.LineID] {
			asked[e.LineID] = true
			p.stop(Stop{Says: fmt.Sprintf("“%s” was done and the customer has not agreed to it", b.titles[e.LineID]), Where: AtCard, LineID: e.LineID})
		}
	}
	if p.Supplied.IsZero() {
		p.Supplied = today
	}
	p.TaxPoint = TaxPoint(p.Supplied, today)
	p.RatesNote = b.ratesNote(p.Supplied, p.TaxPoint)
	if len(keep) == 0 {
		if len(p.Stops) == 0 { // or else they say why
			p.stop(Stop{Says: "there is nothing on this card that was agreed and done and stands on no bill", Where: AtCard})
		}
		return p
	}
	sheet := b.sheet(keep, p.Supplied)
	sum, err := pricing.Work(sheet)
	if err != nil {
		p.stop(Stop{Says: err.Error(), Where: AtCard})
		return p
	}
	for _, d := range b.deposits {
		p.OnAccount += d.left
	}
	sum.Paid = min(p.OnAccount, max(sum.Totals.Gross, 0))
	sum.Due = sum.Totals.Gross - sum.Paid
	p.Sum = sum
	for _, l := range sum.Lines {
		e := keep[l.Key]
		p.Items = append(p.Items, Item{LineSum: l, LineID: e.LineID, PartID: e.PartID})
	}
	p.MaySimplify = p.Registered && particulars.SimplifiedAllowed(sum.Totals.Gross) && b.set.Currency == "GBP"
	p.choose(form)
	switch {
	case b.stage == jobcard.Cancelled || b.stage == jobcard.Booked:
		p.stop(Stop{Says: fmt.Sprintf("this card is %s: nothing on it can be billed", b.stage), Where: AtCard})
	case sum.Totals.Gross < 0:
		p.stop(Stop{Says: "this comes to less than nothing: give it back by a credit note on the bill that charged it", Where: AtCard})
	}
	p.Stops = append(p.Stops, p.lacks("numbered when issued")...)
	return p
}

func (p *Preview) stop(s Stop) { p.Stops = append(p.Stops, s) }

// choose settles the form: the one wanted where it is allowed.
func (p *Preview) choose(form Form) {
	switch {
	case !p.Registered:
		p.Form = WithoutVAT
	case form == Simplified && p.MaySimplify, form == "" && p.MaySimplify && p.Buyer.Address == "":
		p.Form = Simplified
	default:
		p.Form = Full
	}
}

// head is what a bill says besides its sums.
func (b basis) head(today workday.Day) Document {
	s, t, u := b.set, b.terms, b.customer
	return Document{
		Kind: Bill, CardID: b.card, CustomerID: u.ID, Issued: today, Due: today.AddDays(t.PayDays), Currency: s.Money(), Registered: s.VATNumber != "",
		Seller: Party{Name: s.Name, Address: s.Address, Phone: s.Phone, Email: s.Email, VATNumber: s.VATNumber, Company: t.CompanyNumber, Country: t.Country},
		Buyer:  Party{Name: u.Name, Address: u.Address, Phone: u.Phone, Email: u.Email, VATNumber: b.party.VATNumber, Country: b.party.Country, Reference: b.party.Reference},
		Car:    b.car, Words: t.Words, Account: Account{t.AccountName, t.IBAN, t.BIC},
	}
}

// sheet is the price sheet of what goes on the bill, at the rates of VAT of a
// day.
func (b basis) sheet(keep map[string]jobcard.Entry, rates workday.Day) pricing.Sheet {
	s := b.priced.Only(func(e jobcard.Entry) bool { _, ok := keep[e.Line.Key]; return ok })
	for i := range s.Lines {
		l := &s.Lines[i]
		if t, ok := l.Price.(pricing.ByTime); ok && t.For == 0 {
			l.Price = pricing.Fixed{} // a bill states a quantity, and none is not one
		}
		if reason, free := b.free[keep[l.Key].LineID]; free && keep[l.Key].Consent != jobcard.Agreed {
			makeFree(l, reason)
		}
	}
	// What is taken off or put on as an amount belongs to the card once.
	s.Card = slices.DeleteFunc(slices.Clone(s.Card), func(a pricing.Adjustment) bool { return a.Percent == 0 && b.fixedOn[a.Text] })
	if b.set.VATNumber == "" {
		withoutVAT(&s)
		return s
	}
	rated(&s, func(c money.VATCode) (money.Rate, bool) { return b.rateOn(c, rates) })
	return s
}

// makeFree takes the whole price of a line off again, so that the bill shows
// what was given.
func makeFree(l *pricing.Line, reason string) {
	if _, allIn := l.Price.(pricing.AllIn); allIn || pricing.List(l.Price) == 0 {
		l.Price, l.Adjust = pricing.Fixed{}, nil
		return
	}
	l.Adjust = []pricing.Adjustment{{Text: "No charge: " + reason, Percent: 10_000}}
}

// withoutVAT is a sheet of a garage that is not registered: it charges none.
func withoutVAT(s *pricing.Sheet) {
	none := pricing.VAT{Code: money.Zero}
	for i := range s.Lines {
		// What lies outside the scope takes no part in discounts on the whole, as
		// on the quote.
		if s.Lines[i].VAT.Code != money.Outside {
			s.Lines[i].VAT = none
		}
	}
	if s.Sundries != nil {
		one := *s.Sundries
		one.VAT = none
		s.Sundries = &one
	}
}

// lacks says what the document must still state, by law or to be a bill at all.
func (d Document) lacks(number string) []Stop {
	form := particulars.Form(d.Form)
	if d.Form == WithoutVAT {
		form = particulars.Full
		if d.Kind == CreditNote {
			form = particulars.Credit
		}
	}
	t := d.Sum.Totals
	doc := particulars.Document{
		Number: number, TimeOfSupply: d.TaxPoint, Issued: d.Issued,
		Supplier: particulars.Party{Name: d.Seller.Name, Address: d.Seller.Address, VATNumber: d.Seller.VATNumber},
		Customer: particulars.Party{Name: d.Buyer.Name, Address: d.Buyer.Address, VATNumber: d.Buyer.VATNumber},
		Net:      &t.Net, VAT: &t.VAT, Gross: &t.Gross, Currency: d.Currency.Code(), Original: d.OfNumber, OriginalIssued: d.OfIssued, Why: d.Why,
	}
	for i := range d.Items {
		l := &d.Items[i]
		doc.Lines = append(doc.Lines, particulars.Line{
			Description: l.Text, Qty: l.Qty, UnitPrice: &l.Price, Net: &l.Net, Taxed: l.VAT.Code.Taxable(), Rate: &l.VAT.Rate,
		})
	}
	for _, r := range t.ByRate {
		if r.Code.Taxable() {
			doc.ByRate = append(doc.ByRate, particulars.RateGross{Rate: r.Rate, Gross: r.Net + r.VAT})
		}
	}
	var out []Stop
	for _, l := range particulars.Check(doc, form) {
		if s, asked := d.asks(l); asked {
			out = append(out, s)
		}
	}
	return out
}

// asks says whether a particular that is missing is asked of this garage, and
// where it is filled in. The regulations are those of the United Kingdom: of a
// garage with another currency, or one that is not registered, they ask less.
func (d Document) asks(l particulars.Lack) (Stop, bool) {
	s := Stop{Says: "the bill lacks " + l.Says, Rule: l.Rule, Where: AtCard}
	abroad := d.Currency.Code() != "GBP"
	switch {
	case strings.Contains(l.Says, "VAT number"):
		s.Where = AtGarage
		return s, d.Registered && !(abroad && d.Seller.VATNumber != "")
	case strings.Contains(l.Says, "in sterling"):
		return s, false // a garage abroad; at home the total is in sterling
	case strings.HasPrefix(l.Says, "the supplier's"):
		s.Where = AtGarage
	case l.Says == "the customer's address":
		// A credit note names the customer as its bill did, which a simplified one
		// did without.
		s.Where = AtCustomer
		return s, d.Registered && d.Kind == Bill
	case strings.HasPrefix(l.Says, "the customer's"):
		s.Where = AtCustomer
	}
	if !d.Registered {
		s.Rule = ""
	}
	return s, true
}

// stopped is what keeps a bill back, as one error.
func (p Preview) stopped() error {
	if p.Ready() {
		return nil
	}
	var says []string
	for _, s := range p.Stops {
		says = append(says, s.Says)
	}
	return apperr.New(apperr.Conflict, "the bill cannot be issued yet: %s", strings.Join(says, "; "))
}
