package pricing

import (
	"rampside/internal/money"
	"rampside/internal/workday"
)

// DatedRate is the rate of one category from a day until the next one of that
// category begins.
type DatedRate struct {
	Code money.VATCode
	From workday.Day
	Rate money.Rate
}

// Tax is a tax on turnover as a country has it: what people call it, and its
// rates over time. It is data; nothing else here knows a rate.
type Tax struct {
	Name  string // "VAT"
	Rates []DatedRate
}

// On finds the rate of a category on a day. A category that never carries a
// rate needs none in the table; for the others ok is false when the table has
// nothing yet on that day.
func (t Tax) On(code money.VATCode, day workday.Day) (v VAT, ok bool) {
	v.Code = code
	if code != money.Standard && code != money.Reduced {
		return v, true
	}
	var from workday.Day
	for _, r := range t.Rates {
		if r.Code == code && !r.From.After(day) && (!ok || r.From.After(from)) {
			v.Rate, from, ok = r.Rate, r.From, true
		}
	}
	return v, ok
}
