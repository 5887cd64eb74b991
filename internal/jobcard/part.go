package jobcard

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// PartID names one parts line of a card.
type PartID int64

// Supply is where a part is.
type Supply string

// The supply states.
const (
	Needed    Supply = "needed"
	Ordered   Supply = "ordered"
	Arrived   Supply = "arrived"
	Fitted    Supply = "fitted"
	GoingBack Supply = "going back"
	Credited  Supply = "credited"
	NotComing Supply = "not coming"
)

// Supplies lists the supply states in the order they usually come.
var Supplies = []Supply{Needed, Ordered, Arrived, Fitted, GoingBack, Credited, NotComing}

// Source says who brought a part.
type Source string

// The sources.
const (
	FromGarage   Source = "garage"
	FromCustomer Source = "customer"
)

// Verdict says whether a part fits this very car.
type Verdict string

// The fitment verdicts.
const (
	Unchecked  Verdict = "unchecked"
	Fits       Verdict = "fits"
	DoesNotFit Verdict = "does not fit"
	CannotTell Verdict = "cannot tell"
)

// Verdicts lists the verdicts.
var Verdicts = []Verdict{Unchecked, Fits, DoesNotFit, CannotTell}

// How says where a verdict comes from.
type How string

// How verdicts come about.
const (
	ByHand   How = "by hand"  // somebody said so
	Reasoned How = "reasoned" // it follows from conditions, properties and facts
)

// Part is one parts line: for a line of the card, or for the card.
type Part struct {
	ID           PartID
	CardID       CardID
	LineID       LineID // 0: for the card as a whole
	Name         string
	Number       string
	SupplierID   garage.SupplierID
	SupplierName string
	Qty          int64       // thousandths
	Cost         money.Minor // net, each
	Price        *money.Minor
	MarkUp       *money.Rate
	VATCode      money.VATCode
	// QuotedQty and QuotedCost are what the quote counted on when the line
	// was agreed; nil until then.
	QuotedQty   *int64
	QuotedCost  *money.Minor
	Source      Source
	Supply      Supply
	DueAt       time.Time
	Verdict     Verdict
	VerdictHow  How
	VerdictBy   actor.StaffID
	VerdictAt   time.Time
	VerdictNote string
	StruckAt    time.Time
	StruckWhy   string
	// Waiver is the one that covers the part as it stands, 0 for none; Held
	// tells whether the part keeps the gate of its line closed.
	Waiver WaiverID
	Held   bool
	// Exchange is charged for each exchange unit until the old one is here,
	// net; nil where there is none. ExchangeBack is how many old ones came, in
	// thousandths.
	Exchange     *money.Minor
	ExchangeBack int64
	Version      int
}

// Struck tells whether the part was struck out.
func (p Part) Struck() bool { return !p.StruckAt.IsZero() }

// Counts tells whether the part belongs in prices and costs: not when it was
// struck, goes back, was credited or never comes.
func (p Part) Counts() bool {
	return !p.Struck() && p.Supply != GoingBack && p.Supply != Credited && p.Supply != NotComing
}

// Here tells whether the part is at hand, or was.
func (p Part) Here() bool { return p.Supply == Arrived || p.Supply == Fitted }

// Outstanding tells whether work may have to wait for the part.
func (p Part) Outstanding() bool {
	return !p.Struck() && (p.Supply == Needed || p.Supply == Ordered)
}

// price is how the price of the part comes about: the set price, or the cost
// with its mark-up; nothing for a part that the customer brought.
func (p Part) price() pricing.Price {
	switch {
	case p.Source == FromCustomer:
		return pricing.CustomersOwn{Qty: p.Qty}
	case p.Price != nil:
		return pricing.Each{Qty: p.Qty, Net: *p.Price}
	case p.MarkUp != nil:
		return pricing.CostPlus{Qty: p.Qty, Cost: p.Cost, MarkUp: *p.MarkUp}
	}
	return pricing.Each{Qty: p.Qty, Net: p.Cost}
}

// Unit is the net price of one; nothing where the price makes no sense, which
// the service refuses.
func (p Part) Unit() money.Minor {
	m, err := pricing.MeasureOf(p.price())
	if err != nil {
		return 0
	}
	return m.Price
}

// Net is the price of the quantity.
func (p Part) Net() money.Minor { return pricing.List(p.price()) }

// Priced is the part for a quote or a bill, at a VAT rate.
func (p Part) Priced(rate money.Rate) pricing.Line {
	return pricing.Line{
		Key: PartKey(p.ID), Kind: pricing.Part, Text: p.Name,
		VAT: pricing.VAT{Code: p.VATCode, Rate: rate}, Price: p.price(),
	}
}

// CostNet is the cost of the quantity to the garage.
func (p Part) CostNet() money.Minor {
	if p.Source == FromCustomer {
		return 0
	}
	return money.PartNet(p.Qty, p.Cost)
}
