// Package vehicleweb shows a car and its history, and a customer and theirs,
// and lets both be changed in place.
package vehicleweb

import (
	"context"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// root is the entry at the head of a page that these pages belong to.
const root = "/vehicles"

// Garage tells the zone that times are shown in.
type Garage interface {
	Zone(ctx context.Context) (*time.Location, error)
}

type pages struct {
	kit    *ui.Kit
	now    func() time.Time
	garage Garage
	cars   *vehicle.Service
	people *customer.Service
	cards  *jobcard.Service
}

// Mount registers the pages.
func Mount(r chi.Router, kit *ui.Kit, now func() time.Time, garage Garage, cars *vehicle.Service, people *customer.Service,
	cards *jobcard.Service,
) {
	p := pages{kit, now, garage, cars, people, cards}
	kit.Get(r, "/vehicles", actor.ReadCards, p.find)
	kit.Get(r, "/vehicles/{vehicle}", actor.ReadCards, p.car)
	kit.Post(r, "/vehicles/{vehicle}", actor.BookIn, p.editCar)
	kit.Post(r, "/vehicles/{vehicle}/keeper", actor.BookIn, p.changeKeeper)
	kit.Post(r, "/vehicles/{vehicle}/facts", actor.Work, p.setFact)
	kit.Post(r, "/vehicles/{vehicle}/facts/remove", actor.Work, p.removeFact)
	kit.Get(r, "/customers/{customer}", actor.ReadPeople, p.customer)
	kit.Post(r, "/customers/{customer}", actor.BookIn, p.editCustomer)
}

func carPath(id vehicle.ID) string { return "/vehicles/" + ui.Itoa(id) }

func personPath(id customer.ID) string { return "/customers/" + ui.Itoa(id) }

func cardPath(card int64) string { return "/cards/" + ui.Itoa(card) }
