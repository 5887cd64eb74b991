package app

import (
	"log/slog"

	"rampside/internal/account"
	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/dayend"
	"rampside/internal/diary"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/photo"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/internal/vehicle"
	"rampside/web/api"
)

// Services are all that a garage can do; pages, API and commands call the
// same ones.
type Services struct {
	DB        *change.DB
	Accounts  *account.Service
	Garage    *garage.Service
	Roster    *roster.Service
	Customers *customer.Service
	Vehicles  *vehicle.Service
	Cards     *jobcard.Service
	Clocks    *clocking.Service
	Fitment   *fitment.Service
	Floor     *floor.Service
	Photos    *photo.Service
	Diary     *diary.Service
	DayEnd    *dayend.Service
	Stores    *stores.Service
}

// NewServices makes the services on one database. blobs may be nil for
// commands that touch no photos.
func NewServices(db *change.DB, blobs blob.Store, log *slog.Logger) Services {
	db.Follow = fitment.Follow
	return Services{
		DB:        db,
		Accounts:  account.New(db, account.Options{Log: log, Found: garage.Found}),
		Garage:    garage.New(db),
		Roster:    roster.New(db),
		Customers: customer.New(db),
		Vehicles:  vehicle.New(db),
		Cards:     jobcard.New(db),
		Clocks:    clocking.New(db),
		Fitment:   fitment.New(db),
		Floor:     floor.New(db),
		Photos:    photo.New(db, blobs),
		Diary:     diary.New(db),
		DayEnd:    dayend.New(db),
		Stores:    stores.New(db),
	}
}

// forPrograms is what the JSON interface stands on.
func (s Services) forPrograms(log *slog.Logger) api.Options {
	return api.Options{
		Log: log, DB: s.DB, Accounts: s.Accounts, Garage: s.Garage, Roster: s.Roster, Customers: s.Customers, Vehicles: s.Vehicles,
		Cards: s.Cards, Clocks: s.Clocks, Floor: s.Floor, Photos: s.Photos, Diary: s.Diary, DayEnd: s.DayEnd, Stores: s.Stores, Fitment: s.Fitment,
	}
}
