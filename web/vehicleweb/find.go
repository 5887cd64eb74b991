package vehicleweb

import (
	"net/http"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/web/ui"
)

const (
	hitsMax   = 25
	peopleMax = 15
)

type findView struct {
	Form   *ui.Form
	Typed  string
	Said   string
	Cars   []hitView
	People []hitView
	Here   bool
}

type hitView struct{ Link, Mark, Name, Keeper, Phone, Last string }

// find looks cars and people up.
func (p pages) find(w http.ResponseWriter, r *http.Request) error {
	q := ui.ReadQuery(r)
	if err := q.Err(); err != nil {
		return err
	}
	who := ui.Who(r.Context())
	v := findView{Form: q, Typed: strings.TrimSpace(q.Get("q"))}
	cars, err := p.cars.Find(r.Context(), who, v.Typed, hitsMax)
	if err != nil {
		return err
	}
	var people []customer.Customer
	if who.May(actor.ReadPeople) && v.Typed != "" {
		if people, err = p.people.Find(r.Context(), who, v.Typed, peopleMax); err != nil {
			return err
		}
	}
	entered := q.Get("go") != ""
	if entered && len(cars) == 1 && len(people) <= 1 {
		return ui.SeeOther(w, r, carPath(cars[0].ID))
	}
	for _, h := range cars {
		c := hitView{Link: carPath(h.ID), Mark: h.Called(), Name: h.Name(), Keeper: h.Keeper, Phone: h.Phone, Last: "never here yet"}
		if !h.LastVisit.IsZero() {
			c.Last = "last here " + h.LastVisit.Long()
		}
		v.Cars = append(v.Cars, c)
	}
	for _, c := range people {
		v.People = append(v.People, hitView{Link: personPath(c.ID), Name: c.Name, Phone: c.Phone})
	}
	if v.Typed != "" {
		v.Said = ui.Itoa(int64(len(cars))) + " cars and " + ui.Itoa(int64(len(people))) + " people found"
	}
	v.Here = entered
	return p.kit.Render(w, r, http.StatusOK, findPage(p.kit.Page(r, "Vehicles", root), v))
}
