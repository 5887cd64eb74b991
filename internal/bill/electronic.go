package bill

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/einvoice"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// Electronic is a document as electronic invoices, by EN 16931 in UBL with the
// rules of Peppol BIS Billing 3.0: one, or two where it mixes what is taxed with
// what lies outside the scope of VAT, which no such invoice may.
type Electronic struct {
	Docs []einvoice.Invoice
	// Lacks are what keeps it from being sent, and where to fill it in.
	Lacks []Stop
}

// Electronic makes the electronic form of a document. What it adds to the
// document, addresses and references, is what the settings have now: they are
// the envelope and not the bill. Error: NotFound.
func (s *Service) Electronic(ctx context.Context, who actor.Actor, id ID) (Electronic, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Electronic{}, err
	}
	d, err := Read(ctx, s.db.Pool, id)
	if err != nil {
		return Electronic{}, err
	}
	t, err := loadTerms(ctx, s.db.Pool)
	if err != nil {
		return Electronic{}, err
	}
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return Electronic{}, err
	}
	u, err := customer.Get(ctx, s.db.Pool, d.CustomerID)
	if err != nil {
		return Electronic{}, err
	}
	p, err := loadParty(ctx, s.db.Pool, d.CustomerID)
	if err != nil {
		return Electronic{}, err
	}
	return d.electronic(set, t, p, u.Email)
}

// File writes one of the electronic documents: the first, or the second of what
// lies outside the scope of VAT. Errors: NotFound where there is no second,
// Conflict where something is missing.
func (e Electronic) File(outside bool) ([]byte, error) {
	at := 0
	if outside {
		at = 1
	}
	switch {
	case len(e.Lacks) > 0:
		return nil, apperr.New(apperr.Conflict, "it cannot be sent electronically yet: %s", e.Lacks[0].Says)
	case at >= len(e.Docs):
		return nil, apperr.NoSuch("second document of this bill")
	}
	return einvoice.Write(e.Docs[at])
}

func (d Document) electronic(set garage.Settings, t Terms, p PartyTerms, email string) (Electronic, error) {
	h := einvoice.Head{
		Kind: einvoice.Bill, Number: d.Number, Issued: d.Issued, Due: d.Due, TaxPoint: d.TaxPoint, Delivered: d.Supplied, Note: d.Car, Currency: d.Currency.Code(),
		BuyerReference: or(d.Buyer.Reference, p.Reference), Order: "Card " + fmt.Sprint(d.CardID), Terms: d.Words,
		Seller: party(d.Seller), Buyer: party(d.Buyer),
	}
	if d.Kind == CreditNote {
		h.Kind, h.Note, h.Terms = einvoice.CreditNote, d.Why, ""
		h.Preceding = []einvoice.Reference{{Number: d.OfNumber, Issued: d.OfIssued}}
	}
	h.Seller.Endpoint, h.Buyer.Endpoint = address(t.EndpointScheme, t.Endpoint, set.Email), address(p.EndpointScheme, p.Endpoint, email)
	h.Seller.ContactPhone, h.Seller.Email = d.Seller.Phone, d.Seller.Email
	if d.Seller.Company != "" {
		h.Seller.LegalID = einvoice.Identifier{Value: d.Seller.Company}
	}
	if d.Account.IBAN != "" && d.Kind == Bill {
		h.Payment = &einvoice.Payment{Code: "30", Reference: d.Number, Account: d.Account.IBAN, AccountName: d.Account.Name, Bank: d.Account.BIC}
	}
	sum := d.Sum
	if !d.Registered {
		sum = outside(sum)
		h.Seller.VATID, h.Buyer.VATID = "", ""
		if h.Seller.LegalID.Value == "" { // BR-CO-26
			h.Seller.ID.Value = h.Seller.Endpoint.Value
		}
	}
	docs, err := einvoice.From(h, sum)
	if err != nil {
		return Electronic{}, err
	}
	e := Electronic{Docs: docs}
	for _, one := range docs {
		for _, f := range einvoice.Check(one) {
			s := lackOf(f)
			if !slices.Contains(e.Lacks, s) {
				e.Lacks = append(e.Lacks, s)
			}
		}
	}
	return e, nil
}

// outside is a sum of a garage that is not registered, as one outside the scope
// of VAT.
func outside(s pricing.Sum) pricing.Sum {
	s = s.PushDown()
	var net money.Minor
	for i := range s.Lines {
		s.Lines[i].VAT, s.Lines[i].AllIn, s.Lines[i].Inside = pricing.VAT{Code: money.Outside}, false, 0
		net += s.Lines[i].Net
	}
	s.Totals.ByRate = []money.RateTotal{{Code: money.Outside, Net: net}}
	return s
}

func party(p Party) einvoice.Party {
	out := einvoice.Party{Name: p.Name, Country: p.Country}
	if p.VATNumber != "" {
		out.VATID = p.VATNumber
		if c := p.VATNumber[0]; c >= '0' && c <= '9' {
			out.VATID = p.Country + p.VATNumber
		}
	}
	var lines []string
	for l := range strings.SplitSeq(p.Address, "\n") {
		if l = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(l), ",")); l != "" {
			lines = append(lines, l)
		}
	}
	into := []*string{&out.Street, &out.Street2, &out.Street3}
	for i, l := range lines {
		if i >= len(into) {
			out.Street3 += ", " + l
			continue
		}
		*into[i] = l
	}
	return out
}

// address is the electronic address: the one given, or else an e-mail address,
// which is a scheme of its own (EM of the EAS code list).
func address(scheme, id, email string) einvoice.Identifier {
	switch {
	case id != "":
		return einvoice.Identifier{Scheme: scheme, Value: id}
	case email != "":
		return einvoice.Identifier{Scheme: "EM", Value: email}
	}
	return einvoice.Identifier{}
}

// lackOf says a broken rule in the garage's words, and where to put it right.
func lackOf(f einvoice.Finding) Stop {
	s := Stop{Says: f.Says, Rule: f.Rule, Where: AtTerms}
	switch f.Rule {
	case "PEPPOL-EN16931-R010":
		s.Says, s.Where = "the customer has no electronic address and no e-mail", AtParty
	case "PEPPOL-EN16931-R020", "BR-CO-26":
		s.Says = "the garage has no electronic address and no e-mail"
	case "BR-10", "BR-11", "BR-63":
		s.Where = AtParty
	}
	return s
}

func or(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}
