package app

import (
	"context"
	"sync"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/link"
	"rampside/internal/live"
	"rampside/web/accountweb"
	"rampside/web/billweb"
	"rampside/web/bookinweb"
	"rampside/web/booksweb"
	"rampside/web/cardweb"
	"rampside/web/dayendweb"
	"rampside/web/diaryweb"
	"rampside/web/floorweb"
	"rampside/web/garageweb"
	"rampside/web/handoverweb"
	"rampside/web/letterweb"
	"rampside/web/outlookweb"
	"rampside/web/photoweb"
	"rampside/web/quoteweb"
	"rampside/web/reckonerweb"
	"rampside/web/storesweb"
	"rampside/web/ui"
	"rampside/web/vehicleweb"
	"rampside/web/yourcarweb"
)

// nav is what every page offers at its head.
var nav = []ui.NavItem{
	{Label: "Diary", Path: "/diary", Need: actor.ReadCards},
	{Label: "Outlook", Path: outlookweb.Path, Need: actor.ReadCards},
	{Label: "Book in", Path: "/book-in", Need: actor.BookIn},
	{Label: "Floor", Path: "/floor", Need: actor.Work},
	{Label: "Stores", Path: storesweb.Path, Need: actor.ReadCards},
	{Label: "Vehicles", Path: "/vehicles", Need: actor.ReadCards},
	{Label: "Reckoner", Path: "/reckoner", Need: actor.ReadCards},
	{Label: "Day's end", Path: "/days-end", Need: actor.SeeMargins},
	{Label: "Accounts", Path: booksweb.Path, Need: actor.SeeAccounts},
	{Label: "Garage", Path: "/garage", Need: actor.ManageGarage},
}

// newKit makes what the pages share.
func newKit(d Deps, s Services) *ui.Kit {
	name := garageName{services: s, now: d.Now}
	return ui.New(ui.Options{
		Log: d.Log, Now: d.Now, PublicURL: d.Config.URL.String(), Secure: d.Config.URL.Scheme == "https",
		Sessions: accountweb.Sessions{Accounts: s.Accounts}, GarageName: name.get, Nav: nav, SignOut: accountweb.SignOutPath,
		Stop: d.Closing,
	})
}

// mountPages registers every page.
func mountPages(r chi.Router, kit *ui.Kit, d Deps, s Services, hub *live.Hub) {
	kit.Routes(r)
	ui.Stream(kit, r, hub)
	accountweb.Mount(r, kit, s.Accounts)
	diaryweb.Mount(r, kit, s.Diary, s.Outlook)
	bookinweb.Mount(r, kit, d.Now, s.Vehicles, s.Customers, s.Cards, s.Garage)
	vehicleweb.Mount(r, kit, d.Now, s.Garage, s.Vehicles, s.Customers, s.Cards)
	cardweb.Mount(r, kit, s.Cards, s.Clocks, s.Fitment, s.Garage)
	floorweb.Mount(r, kit, floorweb.Services{
		Floor: s.Floor, Clock: s.Clocks, Fitment: s.Fitment, Roster: s.Roster, Cards: s.Cards, Garage: s.Garage, PhotoForm: photoweb.Take,
	})
	photoweb.Mount(r, kit, s.Photos)
	dayendweb.Mount(r, kit, s.DayEnd)
	storesweb.Mount(r, kit, s.Stores)
	quoteweb.Mount(r, kit, s.Quotes, s.Links, s.Post)
	billweb.Mount(r, kit, s.Bills, s.Cards, s.Links)
	booksweb.Mount(r, kit, s.Books, s.Garage)
	outlookweb.Mount(r, kit, s.Outlook, s.Garage)
	letterweb.Mount(r, kit, s.Post, func(ctx context.Context) (garage.Settings, error) { return garage.Load(ctx, s.DB.Pool) })
	yourcarweb.Mount(r, kit, yourcarweb.Services{
		Links: s.Links, Quotes: s.Quotes, Photos: s.Photos,
		Garage: func(ctx context.Context) (garage.Settings, error) { return garage.Load(ctx, s.DB.Pool) },
		// What is behind links of the other purposes is registered here.
		Views: map[link.Purpose]yourcarweb.View{link.Handover: handoverView(kit, s), link.Bill: billView(s)},
	})
	handoverweb.Mount(r, kit, s.handing())
	reckonerweb.Mount(r, kit, houseOf(s, d.Now))
	garageweb.Mount(r, kit, s.DB, s.Garage, s.Roster,
		intervalsLink,
		garageweb.Link{Path: accountweb.StaffPath, Label: "Staff", What: "who works here, their rights and sign-ins"},
		garageweb.Link{Path: letterweb.Path, Label: "Letters", What: "the mail that goes out, and what became of it"},
		garageweb.Link{Path: accountweb.TabletsPath, Label: "Tablets", What: "those where a PIN signs a technician in"},
		garageweb.Link{Path: accountweb.TokensPath, Label: "Tokens", What: "for programs that use the interface"})
}

// garageName remembers the name that stands on every page for a while, so
// that a page need not ask for it.
type garageName struct {
	services Services
	now      func() time.Time

	mu    sync.Mutex
	name  string
	until time.Time
}

const nameHolds = 15 * time.Second

func (g *garageName) get(ctx context.Context) string {
	g.mu.Lock()
	defer g.mu.Unlock()
	if now := g.now(); now.After(g.until) {
		// Without an answer the old name stands: a page needs no name.
		if set, err := garage.Load(ctx, g.services.DB.Pool); err == nil {
			g.name, g.until = set.Name, now.Add(nameHolds)
		}
	}
	return g.name
}
