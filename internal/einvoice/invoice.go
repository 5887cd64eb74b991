// Package einvoice is the electronic form of a bill or credit note: the core
// invoice of EN 16931 as far as a garage needs it, the rules of that standard
// and of Peppol BIS Billing 3.0 for it, and its writing and reading in UBL 2.1.
//
// Amounts are whole minor units. Where the official checks allow a difference
// (BR-CO-17 up to 1.00, Peppol's R120 up to 0.02), these do not.
//
// A document outside the scope of VAT cannot carry a taxed line (BR-O-11,
// BR-O-12), nor the seller's VAT number (BR-O-02). A bill that mixes the two,
// such as a repair and a statutory test fee, becomes two electronic documents,
// which add up to it: From makes them. The other way, to declare the fee
// exempt, would pass the checks and say something that is not so.
package einvoice

import (
	"strings"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Kind is the type of document by its code (UNTDID 1001).
type Kind string

// The kinds.
const (
	Bill       Kind = "380"
	CreditNote Kind = "381"
)

// What a Peppol BIS Billing 3.0 document names as its specification and its
// business process.
const (
	Specification = "urn:cen.eu:en16931:2017#compliant#urn:fdc:peppol.eu:2017:poacc:billing:3.0"
	Process       = "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0"
)

// Category is a VAT category by its code (UNTDID 5305), as far as a garage
// needs them.
type Category string

// The categories.
const (
	Standard Category = "S"
	Zero     Category = "Z"
	Exempt   Category = "E"
	Outside  Category = "O"
)

// CategoryOf is the code of one of our categories: standard and reduced rates
// are both S.
func CategoryOf(c money.VATCode) Category {
	switch c {
	case money.Standard, money.Reduced:
		return Standard
	case money.Zero:
		return Zero
	case money.Exempt:
		return Exempt
	}
	return Outside
}

// Tax is a category with its rate; what lies outside the scope of VAT has no
// rate, which is not the same as one of zero.
type Tax struct {
	Category Category
	Rated    bool
	Rate     money.Rate
}

// TaxOf makes the Tax of one of our categories at a rate.
func TaxOf(c money.VATCode, r money.Rate) Tax {
	if t := (Tax{Category: CategoryOf(c), Rated: true, Rate: r}); t.Category != Outside {
		return t
	}
	return Tax{Category: Outside}
}

// Price is the price of an item in ten-thousandths of the currency's unit.
type Price int64

// PriceOf is a price in whole minor units.
func PriceOf(m money.Minor) Price { return Price(m) * 100 }

// Identifier is an identifier with the scheme it belongs to.
type Identifier struct{ Scheme, Value string }

// Party is the seller or the buyer. In comments are the terms of EN 16931.
type Party struct {
	Endpoint                         Identifier // BT-34, BT-49: electronic address
	ID                               Identifier // BT-29, BT-46
	Name                             string     // BT-27, BT-44: as registered
	TradingName                      string     // BT-28, BT-45
	LegalID                          Identifier // BT-30, BT-47: company number
	VATID                            string     // BT-31, BT-48, with its country
	Street, Street2, Street3         string
	City, Postcode, County, Country  string // country by ISO 3166-1 alpha-2
	ContactName, ContactPhone, Email string
}

// Payment is how to pay. Code is of UNTDID 4461: 30 credit transfer, 10 cash,
// 48 card.
type Payment struct {
	Code, Reference            string
	Account, AccountName, Bank string
}

// Reference names an earlier document.
type Reference struct {
	Number string
	Issued workday.Day
}

// AllowanceCharge is a discount, or a surcharge when Charge. Percent and Base
// go together. Tax is set on the document's own, not on those of a line.
type AllowanceCharge struct {
	Charge             bool
	Reason, ReasonCode string
	Percent            *money.Rate
	Base               *money.Minor
	Amount             money.Minor
	Tax                Tax
}

// Line is one invoice line. Qty and Per are thousandths of Unit (UN/ECE Rec.
// 20); Price buys Per, or one when Per is 0.
type Line struct {
	ID, Note, Name, Description, SellersID string

	Qty    int64
	Unit   string
	Net    money.Minor // BT-131
	Adjust []AllowanceCharge
	Price  Price
	Per    int64
	Tax    Tax
}

// Breakdown is what one category at one rate comes to.
type Breakdown struct {
	Tax                Tax
	Base, VAT          money.Minor // BT-116, BT-117
	Reason, ReasonCode string      // why there is no VAT
}

// Invoice is one document. Credit notes carry what they give back as positive
// amounts.
type Invoice struct {
	Specification, Process string
	Kind                   Kind
	Number                 string
	Issued, Due, TaxPoint  workday.Day
	Delivered              workday.Day
	Note                   string
	Currency               string
	BuyerReference, Order  string
	Preceding              []Reference
	Seller, Buyer          Party
	Payment                *Payment
	Terms                  string
	Adjust                 []AllowanceCharge
	Breakdown              []Breakdown
	Lines                  []Line

	LineTotal      money.Minor // BT-106
	AllowanceTotal money.Minor // BT-107
	ChargeTotal    money.Minor // BT-108
	Net            money.Minor // BT-109
	VAT            money.Minor // BT-110
	Gross          money.Minor // BT-112
	Prepaid        money.Minor // BT-113
	Rounding       money.Minor // BT-114
	Payable        money.Minor // BT-115
}

// lineNet is what a line comes to by its parts (Peppol: the quantity at its
// price is rounded once, allowances and charges are whole minor units).
func (l Line) lineNet() money.Minor {
	per := l.Per
	if per == 0 {
		per = 1000
	}
	if per < 0 {
		return 0
	}
	net := money.Share(money.Minor(l.Price), l.Qty, per*100)
	for _, a := range l.Adjust {
		net += a.signed()
	}
	return net
}

func (a AllowanceCharge) signed() money.Minor {
	if a.Charge {
		return a.Amount
	}
	return -a.Amount
}

// String writes a price with two decimals, or as many more as it needs.
func (p Price) String() string {
	s := money.FormatPlain(money.Minor(p / 100))
	if rest := p % 100; rest != 0 { // prices are not negative
		s += strings.TrimRight(string([]byte{byte('0' + rest/10), byte('0' + rest%10)}), "0")
	}
	return s
}
