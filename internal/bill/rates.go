package bill

import (
	"fmt"

	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// The rate of VAT on a bill is that in force on the day the work was finished,
// which is when services are supplied by VAT Act 1994, section 6(3). Where a
// deposit or the bill is in time with another rate, section 88(2) lets the
// garage choose this one, without asking anybody: so the customer pays the same
// whichever day the bill is written, and a deposit changes nothing. The return
// that the VAT belongs to goes by the time of supply, TaxPoint.

// rateOn is the rate of a category on a day; ok is false where none is known.
func (b basis) rateOn(code money.VATCode, day workday.Day) (rate money.Rate, ok bool) {
	for _, r := range b.rates { // the newest first
		if r.Code == code && !r.From.After(day) {
			return r.Rate, true
		}
	}
	return 0, false
}

// rated puts the rates of a day on a sheet, which has those of the day that the
// card is booked for.
func rated(s *pricing.Sheet, on func(money.VATCode) (money.Rate, bool)) {
	put := func(v *pricing.VAT) {
		if rate, ok := on(v.Code); ok {
			v.Rate = rate
		}
	}
	for i := range s.Lines {
		put(&s.Lines[i].VAT)
	}
	if s.Sundries != nil {
		one := *s.Sundries
		put(&one.VAT)
		s.Sundries = &one
	}
}

// ratesNote says that a rate changed between the days that matter: the one the
// card is booked for, the one the work was finished and the time of supply.
func (b basis) ratesNote(supplied, taxPoint workday.Day) string {
	if b.set.VATNumber == "" {
		return ""
	}
	booked, billed := b.priced.Day, false
	changed := false
	for _, code := range []money.VATCode{money.Standard, money.Reduced} {
		at, _ := b.rateOn(code, supplied)
		was, _ := b.rateOn(code, booked)
		then, _ := b.rateOn(code, taxPoint)
		changed, billed = changed || was != at, billed || then != at
	}
	note := "VAT is at the rates of " + DayWords(supplied) + ", when the work was finished"
	switch {
	case billed:
		return note + "; they have changed since (VAT Act 1994, section 88(2))."
	case changed:
		return fmt.Sprintf("%s; the card shows those of %s, the day it was booked for.", note, DayWords(booked))
	}
	return ""
}
