package app

import (
	"context"
	"time"

	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/web/reckonerweb"
)

// houseOf gives the reckoner what it takes from the garage's settings.
func houseOf(s Services, now func() time.Time) func(context.Context) (reckonerweb.House, error) {
	return func(ctx context.Context) (reckonerweb.House, error) {
		set, err := garage.Load(ctx, s.DB.Pool)
		if err != nil {
			return reckonerweb.House{}, err
		}
		rates, err := garage.VATRates(ctx, s.DB.Pool, set.Today(now()))
		return reckonerweb.House{Currency: set.Money(), Standard: rates[money.Standard]}, err
	}
}
