// Package money does a garage's sums in whole pence: what labour and parts
// come to, what VAT is due, and what a document adds up to. There are no
// floats and no clock; every rounding happens in one file, round.go.
//
// Rounding is to the nearest penny, and half a penny goes away from zero
// (below half down, half and above up: HMRC VAT manual VATREC12030). Doing the
// same on both sides of zero makes a credit note the exact negative of its
// bill. Where the tax office lets VAT be rounded down, that is towards zero,
// on both sides too.
package money

import (
	"errors"
	"time"
)

// Minor is an amount in minor units: pence for sterling.
type Minor int64

// Rate is a percentage in basis points, hundredths of one per cent: VAT of
// 20 % is 2000, a mark-up of 25 % is 2500.
type Rate int64

// Limits. Within them no sum in this package can overflow: the largest line
// is under 2^37 and a document holds at most MaxLines of them.
const (
	// MaxTyped is the largest amount a person may enter: £9,999,999.99.
	MaxTyped Minor = 999_999_999
	// MaxLine is the largest amount one line or document may come to:
	// £999,999,999.99.
	MaxLine Minor = 99_999_999_999
	// MaxQuantity is the largest quantity, in thousandths: 99,999.999.
	MaxQuantity int64 = 99_999_999
	// MaxRate is the largest rate a person may enter: 1000 %.
	MaxRate Rate = 100_000
	// MaxLines is how many lines one document may have.
	MaxLines = 10_000
)

const (
	wholeRate = 10_000 // basis points in 100 %
	thousand  = 1000   // thousandths in a quantity of one
)

// ErrTooLarge says that an amount is beyond MaxLine in either direction.
var ErrTooLarge = errors.New("that comes to more than 999,999,999.99")

// Check gives ErrTooLarge when m is beyond MaxLine in either direction.
func (m Minor) Check() error {
	if m > MaxLine || m < -MaxLine {
		return ErrTooLarge
	}
	return nil
}

// Percent is r of m, to the nearest penny.
func Percent(m Minor, r Rate) Minor {
	return Minor(share(int64(m), int64(r), wholeRate))
}

// LabourNet is the price of d at perHour, to the nearest penny. Beyond the
// limits it stays at the largest Minor, which Check refuses.
func LabourNet(d time.Duration, perHour Minor) Minor {
	return Minor(share(int64(perHour), int64(d), int64(time.Hour)))
}

// PerHour is what total comes to for each hour of d, to the nearest penny; ok
// is false when no time passed, or the figure is absurd.
func PerHour(total Minor, d time.Duration) (perHour Minor, ok bool) {
	if d <= 0 {
		return 0, false
	}
	perHour = Minor(share(int64(total), int64(time.Hour), int64(d)))
	return perHour, perHour.Check() == nil
}

// PartNet is the price of a quantity, given in thousandths (1500 is one and a
// half), at unit each, to the nearest penny. Beyond the limits it stays at the
// largest Minor, which Check refuses.
func PartNet(qtyThousandths int64, unit Minor) Minor {
	return Minor(share(int64(unit), qtyThousandths, thousand))
}

// Share is part of m's whole, to the nearest penny: 4 of 10 litres that cost m.
// whole must be above zero.
func Share(m Minor, part, whole int64) Minor { return Minor(share(int64(m), part, whole)) }
