// Package bookinweb takes a car in: find it or enter it, write down what is
// to be done, promise a time. One page, and the keyboard is enough for it.
package bookinweb

import (
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

const path = "/book-in"

type pages struct {
	kit    *ui.Kit
	now    func() time.Time
	cars   *vehicle.Service
	people *customer.Service
	cards  *jobcard.Service
	garage *garage.Service
}

// Mount registers the page.
func Mount(r chi.Router, kit *ui.Kit, now func() time.Time, cars *vehicle.Service, people *customer.Service,
	cards *jobcard.Service, garage *garage.Service,
) {
	p := pages{kit, now, cars, people, cards, garage}
	kit.Get(r, path, actor.BookIn, p.open)
	kit.Post(r, path, actor.BookIn, p.book)
}

// open shows the search, or the form for a car that was found (?car=12) or
// for a new one (?new=BD51SMR, with ?customer=7 for somebody on file). ?day=
// is the day the car comes in, where that is known.
func (p pages) open(w http.ResponseWriter, r *http.Request) error {
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	switch {
	case q.Values.Has("car"):
		return p.start(w, r, q, vehicle.ID(q.ID("car")))
	case q.Values.Has("new"):
		return p.start(w, r, q, 0)
	}
	return p.find(w, r, q)
}

// to makes the address of a step of booking in; the day is carried along.
func to(day, name, value string, more ...string) string {
	v := url.Values{name: {value}}
	for i := 0; i+1 < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	if day != "" {
		v.Set("day", day)
	}
	return path + "?" + v.Encode()
}
