// Package garage is the garage itself: its name and hours, its day, what an
// hour costs, its VAT rates, the operations it offers and whom it buys from.
package garage

import (
	"slices"
	"sync"
	"time"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Settings is how the garage is set up. There is one.
type Settings struct {
	Name    string
	Address string // several lines
	Phone   string
	Email   string
	// VATNumber is empty while the garage is not registered. A UK number is
	// kept bare, as vatno.Parse gives it.
	VATNumber string
	// ZoneName is a zone of the IANA database; the garage's day is a day there.
	ZoneName string
	// Currency is an ISO 4217 code.
	Currency      string
	Opens, Closes workday.Clock
	// WorkDays are the days of the week that the garage is open, Monday first.
	WorkDays []time.Weekday
	// StandardCostRate is what an hour of labour is planned to cost.
	StandardCostRate money.Minor
	// DefaultMarkupBP is put on the cost of parts that carry no price of their own.
	DefaultMarkupBP money.Rate
	VATRounding     money.Rounding
	// TaxName is what people call the tax whose rates are in VATRates.
	TaxName string
	// Sundries is the charge for small material.
	Sundries Sundries
	Version  int
}

// Location is the garage's zone. Load has made sure that there is one.
func (s Settings) Location() *time.Location {
	loc, err := zone(s.ZoneName)
	if err != nil {
		return time.UTC
	}
	return loc
}

// Money is the garage's currency, for writing and reading amounts.
func (s Settings) Money() money.Currency {
	c, err := money.CurrencyOf(s.Currency)
	if err != nil { // settings from before the rule: sterling is the default
		return money.Currency{}
	}
	return c
}

// Today is the garage's day at now.
func (s Settings) Today(now time.Time) workday.Day { return workday.Of(now, s.Location()) }

// WorksOn tells whether the garage is open on a day.
func (s Settings) WorksOn(d workday.Day) bool { return slices.Contains(s.WorkDays, d.Weekday()) }

// ClosesAt is the moment the garage closes on a day, open on it or not.
func (s Settings) ClosesAt(d workday.Day) time.Time { return workday.At(d, s.Closes, s.Location()) }

// zones keeps the zones that were asked for: reading one takes longer than
// the query that names it.
var zones sync.Map

func zone(name string) (*time.Location, error) {
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location), nil
	}
	loc, err := workday.Zone(name)
	if err == nil {
		zones.Store(name, loc)
	}
	return loc, err
}

// isoWeekday numbers the days as ISO 8601 and the table do: Monday is 1,
// Sunday 7.
func isoWeekday(d time.Weekday) int16 { return int16((d+6)%7) + 1 }

func fromISO(n int16) time.Weekday { return time.Weekday(n % 7) }
