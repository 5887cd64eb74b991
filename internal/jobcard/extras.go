package jobcard

import (
	"slices"
	"strconv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// AdjustmentID, MenuID and FeeID name what a card is priced with beside its
// lines and parts.
type (
	AdjustmentID int64
	MenuID       int64
	FeeID        int64
)

// AppliesTo says what of a line or a card an adjustment is taken of.
type AppliesTo string

// What an adjustment applies to. Fees and exchange surcharges are never
// adjusted.
const (
	ToEverything AppliesTo = "everything"
	ToLabour     AppliesTo = "labour"
	ToParts      AppliesTo = "parts"
)

// AppliesTos lists them.
func AppliesTos() []AppliesTo { return []AppliesTo{ToEverything, ToLabour, ToParts} }

func (a AppliesTo) kinds() []pricing.Kind {
	switch a {
	case ToLabour:
		return []pricing.Kind{pricing.Labour}
	case ToParts:
		return []pricing.Kind{pricing.Part}
	}
	return nil
}

// Adjustment is a discount, or a surcharge when Up, on a line or on the whole
// card: Percent, or else Amount, net.
type Adjustment struct {
	ID        AdjustmentID
	CardID    CardID
	LineID    LineID // 0: on the card as a whole
	What      string // a word for it
	Up        bool
	Percent   *money.Rate
	Amount    *money.Minor
	Applies   AppliesTo
	MadeBy    actor.StaffID
	MadeAt    time.Time
	StruckAt  time.Time
	StruckWhy string
	Version   int
}

// Struck tells whether the adjustment was struck out.
func (a Adjustment) Struck() bool { return !a.StruckAt.IsZero() }

func (a Adjustment) priced() pricing.Adjustment {
	out := pricing.Adjustment{Text: a.What, Up: a.Up, On: a.Applies.kinds()}
	if a.Percent != nil {
		out.Percent = *a.Percent
	}
	if a.Amount != nil {
		out.Amount = *a.Amount
	}
	return out
}

// Menu is one price, net, for several lines of a card together.
type Menu struct {
	ID        MenuID
	CardID    CardID
	What      string
	Net       money.Minor
	Lines     []LineID
	MadeBy    actor.StaffID
	MadeAt    time.Time
	StruckAt  time.Time
	StruckWhy string
	Version   int
}

// Struck tells whether the menu was struck out.
func (m Menu) Struck() bool { return !m.StruckAt.IsZero() }

// Fee is the fee of a statutory test on a line of the card.
type Fee struct {
	ID      FeeID
	CardID  CardID
	LineID  LineID
	What    string
	Class   string
	Charged money.Minor // what the customer pays
	// Own tells that the garage is the approved centre that tests; else Paid is
	// what the centre was paid, and Met what somebody vouches for.
	Own       bool
	Paid      money.Minor
	Met       []pricing.Condition
	MadeBy    actor.StaffID
	MadeAt    time.Time
	StruckAt  time.Time
	StruckWhy string
	Version   int
}

// Struck tells whether the fee was struck out.
func (f Fee) Struck() bool { return !f.StruckAt.IsZero() }

// Test is the fee as it is priced. most is what the law allows, if known.
func (f Fee) Test(most *money.Minor) pricing.TestFee {
	return pricing.TestFee{Text: f.What, Charged: f.Charged, Maximum: most, Own: f.Own, Paid: f.Paid, Met: f.Met}
}

// Treatment is how VAT stands on the fee, and the conditions that fail where
// it is not paid on for the customer.
func (f Fee) Treatment() (how pricing.Treatment, unmet []pricing.Condition) {
	_, how, unmet, _ = f.Test(nil).Lines(pricing.VAT{Code: money.Standard})
	return how, unmet
}

// Extras are what a card is priced with beside its lines and parts.
type Extras struct {
	Adjustments []Adjustment
	Menus       []Menu
	Fees        []Fee
}

// MenuOf finds the menu that a line is in.
func (x Extras) MenuOf(id LineID) (Menu, bool) {
	i := slices.IndexFunc(x.Menus, func(m Menu) bool { return !m.Struck() && slices.Contains(m.Lines, id) })
	if i < 0 {
		return Menu{}, false
	}
	return x.Menus[i], true
}

// AdjustmentsOf gives the adjustments of a line; of the card as a whole for 0.
func (x Extras) AdjustmentsOf(id LineID) []Adjustment {
	var out []Adjustment
	for _, a := range x.Adjustments {
		if a.LineID == id {
			out = append(out, a)
		}
	}
	return out
}

// FeesOf gives the fees of a line.
func (x Extras) FeesOf(id LineID) []Fee {
	var out []Fee
	for _, f := range x.Fees {
		if f.LineID == id {
			out = append(out, f)
		}
	}
	return out
}

func key(kind string, id int64) string { return kind + ":" + strconv.FormatInt(id, 10) }

// LineKey is the key of a line's labour on a price sheet: line:12.
func LineKey(id LineID) string { return key("line", int64(id)) }

// PartKey is the key of a part: part:34.
func PartKey(id PartID) string { return key("part", int64(id)) }

// FeeKey is the key of a fee: fee:5. What an agent adds to a fee that is paid
// on stands apart, under fee:5:arranging.
func FeeKey(id FeeID) string { return key("fee", int64(id)) }

// ExchangeKey is the key of the surcharge on an exchange unit, by the part:
// exchange:34.
func ExchangeKey(id PartID) string { return key("exchange", int64(id)) }

// ExchangeBackKey is the key of what is given back of it: exchange-back:34.
func ExchangeBackKey(id PartID) string { return key("exchange-back", int64(id)) }
