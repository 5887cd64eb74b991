package pricing

import (
	"errors"
	"time"

	"rampside/internal/money"
)

// Unit is what a quantity counts.
type Unit string

// The units. The first three are time.
const (
	Hour   Unit = "h"
	Minute Unit = "min"
	Second Unit = "s"
	One    Unit = "each"
	Litre  Unit = "l"
	Metre  Unit = "m"
	Kilo   Unit = "kg"
)

// Measure is a quantity at a price: Qty thousandths of Unit, where Price buys
// Per thousandths. Twenty minutes at £72.00 an hour are 20 min, £72.00 for 60.
type Measure struct {
	Qty   int64
	Unit  Unit
	Price money.Minor
	Per   int64
}

// Price is how the price of a line comes about: ByTime, Fixed, Each, CostPlus,
// CustomersOwn or AllIn.
type Price interface {
	measure() (Measure, error)
	list() money.Minor
}

// ByTime is labour by the hour. The time is a whole number of milliseconds.
type ByTime struct {
	For     time.Duration
	PerHour money.Minor
}

// Fixed is one price for the line, whatever it takes; negative gives back.
type Fixed struct{ Net money.Minor }

// Each is a price set for one, Qty in thousandths; a negative quantity gives
// back. No Unit means pieces.
type Each struct {
	Qty  int64
	Unit Unit
	Net  money.Minor
}

// CostPlus is what one cost the garage with a mark-up on it.
type CostPlus struct {
	Qty    int64
	Unit   Unit
	Cost   money.Minor
	MarkUp money.Rate
}

// CustomersOwn is a part that the customer brought: it stands on the bill at
// nothing.
type CustomersOwn struct{ Qty int64 }

// AllIn is one price with VAT in it, which is what the customer pays.
type AllIn struct{ Gross money.Minor }

// ErrTime says that a time cannot be billed.
var ErrTime = errors.New("labour time is not negative and counts in whole milliseconds")

// errNegativePrice: what is given back has a negative quantity, since a price
// below nothing is refused in electronic invoices (EN 16931 BR-27).
var errNegativePrice = errors.New("a price is not negative: give the quantity a minus to give back")

// The units of time that a duration may come to in whole thousandths, the
// largest first, and how many of it an hour has.
var timeUnits = []struct {
	unit Unit
	each time.Duration
	hour int64
}{{Hour, time.Hour, 1}, {Minute, time.Minute, 60}, {Second, time.Second, 3600}}

func (p ByTime) measure() (Measure, error) {
	if p.PerHour < 0 {
		return Measure{}, errNegativePrice
	}
	for _, u := range timeUnits {
		if thousandth := u.each / 1000; p.For >= 0 && p.For%thousandth == 0 {
			return Measure{Qty: int64(p.For / thousandth), Unit: u.unit, Price: p.PerHour, Per: 1000 * u.hour}, nil
		}
	}
	return Measure{}, ErrTime
}

func (p ByTime) list() money.Minor { return money.LabourNet(p.For, p.PerHour) }

func (p Fixed) measure() (Measure, error) {
	if p.Net < 0 {
		return Measure{Qty: -1000, Unit: One, Price: -p.Net, Per: 1000}, nil
	}
	return Measure{Qty: 1000, Unit: One, Price: p.Net, Per: 1000}, nil
}

func (p Fixed) list() money.Minor { return p.Net }

func (p Each) measure() (Measure, error) {
	if p.Net < 0 {
		return Measure{}, errNegativePrice
	}
	return Measure{Qty: p.Qty, Unit: orOne(p.Unit), Price: p.Net, Per: 1000}, nil
}

func (p Each) list() money.Minor { return money.PartNet(p.Qty, p.Net) }

func (p CostPlus) each() Each {
	return Each{Qty: p.Qty, Unit: p.Unit, Net: money.MarkUp(p.Cost, p.MarkUp)}
}

func (p CostPlus) measure() (Measure, error) { return p.each().measure() }

func (p CostPlus) list() money.Minor { return p.each().list() }

func (p CustomersOwn) measure() (Measure, error) {
	return Measure{Qty: p.Qty, Unit: One, Per: 1000}, nil
}

func (p CustomersOwn) list() money.Minor { return 0 }

func (p AllIn) measure() (Measure, error) { return Fixed{p.Gross}.measure() }

func (p AllIn) list() money.Minor { return p.Gross }

func orOne(u Unit) Unit {
	if u == "" {
		return One
	}
	return u
}

// List is what a price comes to before any discount, with VAT in it where the
// price has.
func List(p Price) money.Minor { return p.list() }

// MeasureOf is the quantity and the price of one that a price stands for. The
// error says what makes no sense: a negative price, a time that is none.
func MeasureOf(p Price) (Measure, error) { return p.measure() }
