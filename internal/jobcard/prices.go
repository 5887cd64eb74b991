package jobcard

import (
	"time"

	"rampside/internal/money"
)

// PriceSettings is how the garage prices: where VAT is rounded.
type PriceSettings struct {
	Rounding money.Rounding
}

// noClock is the clock of readings that ask nothing about time spent.
var noClock = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
