package bookinweb

import (
	"net/http"
	"slices"
	"strconv"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/fact"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// start shows the form for a known car, or for a new one when car is 0.
func (p pages) start(w http.ResponseWriter, r *http.Request, q *ui.Form, car vehicle.ID) error {
	if car < 0 || q.Values.Has("car") && car == 0 {
		return apperr.NoSuch("vehicle")
	}
	desk, err := p.garage.Desk(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	rec, err := p.record(r, car)
	if err != nil {
		return err
	}
	day, err := workday.Parse(q.Get("day"))
	if err != nil {
		day = workday.Day{} // today, then
	}
	f := ui.NewForm(defaults(desk, p.now(), day, rec))
	if rec == nil {
		if field, value := guess(q.Get("new")); field != "" {
			f.Values.Set(field, value)
		}
		if id := q.ID("customer"); id != 0 {
			f.Values.Set("customer_id", strconv.FormatInt(id, 10))
		}
	}
	addRows(f, rec == nil)
	return p.show(w, r, http.StatusOK, f, desk, rec, true)
}

func (p pages) record(r *http.Request, car vehicle.ID) (*vehicle.Record, error) {
	if car == 0 {
		return nil, nil
	}
	return p.cars.Record(r.Context(), ui.Who(r.Context()), car)
}

// book books what was posted, or gives the form back with what is wrong. Some
// of its buttons only change the form: one more row, or a car or a customer
// that turned out to be on file.
func (p pages) book(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	if err := f.Err(); err != nil {
		return err
	}
	desk, err := p.garage.Desk(r.Context(), who)
	if err != nil {
		return err
	}
	if changeForm(f) {
		rec, err := p.record(r, vehicle.ID(f.ID("vehicle_id")))
		if err != nil {
			return err
		}
		return p.show(w, r, http.StatusOK, f, desk, rec, false)
	}
	b := read(f, desk, p.now())
	known, err := p.sameNumber(r, who, f, b)
	if err != nil {
		return err
	}
	if f.Err() == nil {
		done, err := p.cards.Book(r.Context(), who, b.Booking)
		switch {
		case err == nil:
			p.kit.Flash(w, "Booked in")
			return ui.SeeOther(w, r, "/cards/"+ui.Itoa(done.CardID))
		case f.Take(b.atFields(err)):
		case apperr.Is(err, apperr.Conflict):
			f.Summary = err.Error()
		default:
			return err
		}
	}
	rec, err := p.record(r, b.VehicleID)
	if err != nil {
		return err
	}
	v, err := p.view(r, f, desk, rec)
	if err != nil {
		return err
	}
	v.Same = known
	if b.NewVehicle != nil {
		if v.Twins, err = p.twins(r, *b.NewVehicle); err != nil {
			return err
		}
	}
	return p.kit.Render(w, r, http.StatusUnprocessableEntity, formPage(p.kit.Page(r, "Book in", path), v))
}

// sameNumber looks whether a new customer's telephone number is on file
// already, and asks which it is unless somebody has said so.
func (p pages) sameNumber(r *http.Request, who actor.Actor, f *ui.Form, b posted) ([]person, error) {
	if b.NewCustomer == nil || f.Bool("customer.other") {
		return nil, nil
	}
	same, err := p.people.WithPhone(r.Context(), who, b.NewCustomer.Phone, 5)
	if err != nil || len(same) == 0 {
		return nil, err
	}
	f.Fail("customer.phone", "this number is on file: %s", same[0].Name)
	var out []person
	for _, c := range same {
		out = append(out, person{ID: ui.Itoa(c.ID), Name: c.Name, Phone: c.Phone})
	}
	return out, nil
}

func (p pages) twins(r *http.Request, in vehicle.Input) ([]twin, error) {
	found, err := p.cars.Twins(r.Context(), ui.Who(r.Context()), in)
	var out []twin
	for _, t := range found {
		out = append(out, twin{ID: ui.Itoa(t.ID), Called: t.Called(), Name: t.Name(), Link: "/vehicles/" + ui.Itoa(t.ID)})
	}
	return out, err
}

// changeForm does what a button asks that books nothing, and tells whether
// one did.
func changeForm(f *ui.Form) bool {
	switch {
	case f.Get("more") == "line":
		if n := rows(f, "line", "title", jobcard.MaxLines); n < jobcard.MaxLines {
			f.Values.Set("line."+strconv.Itoa(n)+".title", "")
		}
	case f.Get("more") == "fact":
		if n := rows(f, "fact", "value", factsMax); n < factsMax {
			f.Values.Set("fact."+strconv.Itoa(n)+".value", "")
		}
	case f.Get("use_car") != "":
		f.Values.Set("vehicle_id", f.Get("use_car"))
		drop(f, "customer.name", "customer.phone", "customer.email", "customer.address", "customer_id")
	case f.Get("use_customer") != "":
		f.Values.Set("customer_id", f.Get("use_customer"))
		drop(f, "customer.name", "customer.phone", "customer.email", "customer.address")
	case f.Get("other_customer") != "":
		drop(f, "customer_id")
	default:
		return false
	}
	return true
}

func drop(f *ui.Form, names ...string) {
	for _, n := range names {
		f.Values.Del(n)
	}
}

// addRows puts the first empty rows into a form.
func addRows(f *ui.Form, newCar bool) {
	const lines = 4
	for n := range lines {
		f.Values.Set("line."+strconv.Itoa(n)+".title", "")
	}
	if !newCar {
		f.Values.Set("fact.0.value", "")
		return
	}
	usual := []string{"engine_code", "displacement_cc", "fuel", "gearbox", "body", "built", "first_registered", "tyre_size"}
	for n, key := range append(usual, "") {
		row := "fact." + strconv.Itoa(n) + "."
		f.Values.Set(row+"value", "")
		f.Values.Set(row+"key", key)
		if k, ok := fact.KeyOf(key); ok && k.Where == fact.AtLogbook {
			f.Values.Set(row+"source", string(vehicle.FromLogbook))
		}
	}
}

// chosen reads the customer on file that a booking of another car is for.
func (p pages) chosen(r *http.Request, f *ui.Form) (*customer.Customer, error) {
	id := customer.ID(f.ID("customer_id"))
	if id == 0 {
		return nil, nil
	}
	c, err := p.people.Get(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return nil, err
	}
	return &c, nil
}

func (p pages) show(w http.ResponseWriter, r *http.Request, status int, f *ui.Form, g garage.Desk, rec *vehicle.Record, first bool) error {
	v, err := p.view(r, f, g, rec)
	if err != nil {
		return err
	}
	v.First = first
	v.NewRow = slices.Contains([]string{"line", "fact"}, f.Get("more"))
	return p.kit.Render(w, r, status, formPage(p.kit.Page(r, "Book in", path), v))
}
