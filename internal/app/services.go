package app

import (
	"log/slog"
	"strings"

	"rampside/internal/account"
	"rampside/internal/bill"
	"rampside/internal/blob"
	"rampside/internal/books"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/config"
	"rampside/internal/customer"
	"rampside/internal/dayend"
	"rampside/internal/diary"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/garage"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/outlook"
	"rampside/internal/photo"
	"rampside/internal/post"
	"rampside/internal/quote"
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
	Books     *books.Service
	Links     *link.Service
	Post      *post.Service
	Quotes    *quote.Service
	Bills     *bill.Service
	Hands     *handover.Service
	Outlook   *outlook.Service
}

// Outside is how people outside the garage reach it and are reached. Commands
// that send nothing leave it empty.
type Outside struct {
	// Public gives the address of a path as it is typed; nil leaves paths bare.
	Public func(path string) string
	// MailFrom is the address that letters come from; empty when none are sent.
	MailFrom string
}

func outside(cfg config.Config) Outside {
	out := Outside{Public: func(path string) string { return strings.TrimSuffix(cfg.URL.String(), "/") + path }}
	if cfg.Mail != nil {
		out.MailFrom = cfg.MailFrom
	}
	return out
}

// NewServices makes the services on one database. blobs may be nil for
// commands that touch no photos.
func NewServices(db *change.DB, blobs blob.Store, log *slog.Logger, out Outside) Services {
	db.Follow = fitment.Follow
	if out.Public == nil {
		out.Public = func(path string) string { return path }
	}
	letters := post.New(db, out.MailFrom)
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
		Books:     books.New(db),
		Links:     link.New(db, linkTargets),
		Post:      letters,
		Quotes:    quote.New(db, out.Public, letters),
		Bills:     bill.New(db),
		Hands:     handover.New(db, jobcard.New(db), out.Public, letters),
		Outlook:   outlook.New(db),
	}
}

// forPrograms is what the JSON interface stands on.
func (s Services) forPrograms(log *slog.Logger) api.Options {
	return api.Options{
		Log: log, DB: s.DB, Accounts: s.Accounts, Garage: s.Garage, Roster: s.Roster, Customers: s.Customers, Vehicles: s.Vehicles,
		Cards: s.Cards, Clocks: s.Clocks, Floor: s.Floor, Photos: s.Photos, Diary: s.Diary, DayEnd: s.DayEnd, Stores: s.Stores, Bills: s.Bills, Quotes: s.Quotes, Hands: s.Hands, Books: s.Books, Fitment: s.Fitment, Outlook: s.Outlook,
		Links: s.Links, Post: s.Post,
	}
}

// linkTargets is what a customer can be given a link to.
var linkTargets = map[link.Purpose]link.Target{
	link.Handover: handover.Target,
	link.Quote:    quote.Target,
	link.Bill:     bill.Target,
}
