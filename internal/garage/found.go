package garage

import (
	"context"
	"time"

	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Found sets up a new garage that has only its name yet, in the transaction
// that makes its first owner. The rest is what is usual, for the owner to
// look through. Errors are those of Settings.Clean.
func Found(ctx context.Context, tx *change.Tx, name string) error {
	in, err := Usual(name).Clean()
	if err != nil {
		return err
	}
	_, err = writeSettings(ctx, tx, in)
	return err
}

// Usual is a garage in the United Kingdom with common hours. What an hour
// costs and the mark-up are only where to begin: common practice, no published
// source.
func Usual(name string) Settings {
	return Settings{
		Name: name, ZoneName: "Europe/London", Currency: "GBP",
		Opens: workday.Clock(8*60 + 30), Closes: workday.Clock(17*60 + 30),
		WorkDays:         []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday},
		StandardCostRate: 1800, DefaultMarkupBP: 3000, VATRounding: money.PerDocument,
	}
}
