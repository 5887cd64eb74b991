package bookinweb

import (
	"net/http"
	"strings"
	"unicode"

	"rampside/internal/customer"
	"rampside/internal/plate"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

const (
	hitsMax   = 12
	peopleMax = 6
)

// findView is the search and what it found.
type findView struct {
	Form   *ui.Form
	Day    string
	Typed  string // what was looked for, empty when nothing was
	Said   string // how many were found, for those who cannot see it
	Cars   []carHit
	People []personHit
	// New leads to the form for a car that is not on file.
	New      string
	NewLabel string
	// Here puts the cursor on the first car: somebody pressed Enter.
	Here bool
}

type carHit struct {
	Link, Mark, Name, Keeper, Phone, Last string
}

type personHit struct {
	Link, Name, Phone string
}

// find lists what was found. Enter on the search goes straight to the car
// when there is no doubt which is meant.
func (p pages) find(w http.ResponseWriter, r *http.Request, q *ui.Form) error {
	who := ui.Who(r.Context())
	v := findView{Form: q, Day: q.Get("day"), Typed: strings.TrimSpace(q.Get("q"))}
	cars, err := p.cars.Find(r.Context(), who, v.Typed, hitsMax)
	if err != nil {
		return err
	}
	sure := q.Get("go") != "" && len(cars) > 0 && (len(cars) == 1 || plate.Key(cars[0].Mark) == plate.Key(v.Typed))
	if sure {
		return ui.SeeOther(w, r, to(v.Day, "car", ui.Itoa(cars[0].ID)))
	}
	var people []customer.Customer
	if v.Typed != "" {
		if people, err = p.people.Find(r.Context(), who, v.Typed, peopleMax); err != nil {
			return err
		}
	}
	if q.Get("go") != "" && v.Typed != "" && len(cars) == 0 && len(people) == 0 {
		return ui.SeeOther(w, r, to(v.Day, "new", v.Typed))
	}
	v.fill(cars, people)
	v.Here = q.Get("go") != ""
	page := p.kit.Page(r, "Book in", path)
	return p.kit.Render(w, r, http.StatusOK, findPage(page, v))
}

func (v *findView) fill(cars []vehicle.Hit, people []customer.Customer) {
	for _, h := range cars {
		c := carHit{Link: to(v.Day, "car", ui.Itoa(h.ID)), Mark: h.Called(), Name: h.Name(), Keeper: h.Keeper, Phone: h.Phone, Last: "never here yet"}
		if !h.LastVisit.IsZero() {
			c.Last = "last here " + h.LastVisit.Long()
		}
		v.Cars = append(v.Cars, c)
	}
	for _, c := range people {
		v.People = append(v.People, personHit{Link: to(v.Day, "new", "yes", "customer", ui.Itoa(c.ID)), Name: c.Name, Phone: c.Phone})
	}
	if v.Typed == "" {
		v.New, v.NewLabel = to(v.Day, "new", "yes"), "A car that is not on file"
		return
	}
	v.Said = found(len(cars))
	v.New, v.NewLabel = to(v.Day, "new", v.Typed), "Not among these: enter a new car"
}

func found(n int) string {
	switch n {
	case 0:
		return "no car found"
	case 1:
		return "one car found"
	case hitsMax:
		return "many cars found: type more"
	}
	return ui.Itoa(int64(n)) + " cars found"
}

// guess takes what was looked for in vain for the first thing that is known
// of the new car or its keeper.
func guess(typed string) (field, value string) {
	letters, figures := 0, 0
	for _, c := range typed {
		switch {
		case unicode.IsLetter(c):
			letters++
		case unicode.IsDigit(c):
			figures++
		}
	}
	switch m, err := plate.Parse(typed); {
	case typed == "yes" || letters+figures == 0:
		return "", ""
	case letters == 0 && figures > 6:
		return "customer.phone", typed
	case letters+figures == 17 && letters > 0 && figures > 0:
		return "vehicle.vin", typed
	case err == nil && figures > 0:
		return "vehicle.mark", m.Display
	case figures == 0:
		return "customer.name", typed
	}
	return "", ""
}
