package garage

import (
	"rampside/internal/apperr"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// VATRate is a rate of one category, good from a day until the next one of
// that category begins.
type VATRate struct {
	Code money.VATCode
	From workday.Day
	Rate money.Rate
}

// Settled tells whether the rate has been in force: cards may have been priced
// by it, so it stays as it is for good.
func (r VATRate) Settled(today workday.Day) bool { return !r.From.After(today) }

// VATRateInput names a rate and the day it begins.
type VATRateInput struct {
	Code money.VATCode
	From workday.Day
	Rate money.Rate
}

// vatDaysAhead is how far ahead a rate may be entered: beyond that the year is
// a slip of the finger.
const vatDaysAhead = 5 * 366

func (in VATRateInput) check(today workday.Day) error {
	f := apperr.Fields{}
	if in.Code != money.Standard && in.Code != money.Reduced {
		f.Add("code", "only the standard and the reduced rate can change")
	}
	switch {
	case in.From.IsZero():
		f.Add("from", "please give the first day of the new rate")
	case in.From.Before(today):
		f.Add("from", "a rate begins today or later: days that are over keep the rate they had")
	case today.DaysUntil(in.From) > vatDaysAhead:
		f.Add("from", "that is more than five years ahead")
	}
	if in.Rate < 0 || in.Rate > 10_000 {
		f.Add("rate", "a VAT rate lies between 0 and 100 %%")
	}
	return f.Err()
}
