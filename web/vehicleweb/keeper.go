package vehicleweb

import (
	"context"
	"net/http"
	"strconv"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// choicesMax is how many customers one may be chosen from; more means that
// too little was typed.
const choicesMax = 8

// somebodyNew is the choice of none of the customers on file.
const somebodyNew = "new"

func (p pages) changeKeeper(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[vehicle.ID](r, "vehicle")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := vehicle.KeeperInput{VehicleID: id, Day: ui.Read(f, "day", workday.Parse)}
	f.Required("day")
	if was, err := strconv.ParseInt(f.Str("was", 20), 10, 64); err == nil {
		in.Was = customer.ID(was)
	}
	choices, err := p.whom(r.Context(), who, f, &in)
	if err != nil {
		return err
	}
	if err = f.Err(); err == nil {
		_, err = p.cars.ChangeKeeper(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[customer.Customer](err); ok {
		return p.staleKeeper(w, r, f, id, now)
	}
	return p.reply(w, r, id, doKeeper, f, choices, "Keeper changed", "#keeper", err)
}

// whom reads who keeps the car from now on: one of those on file, found by
// name or number, or somebody new. Where several fit, they are given to be
// chosen from, with a message; once one is chosen, they are given still, for a
// form that comes back for another reason.
func (p pages) whom(ctx context.Context, who actor.Actor, f *ui.Form, in *vehicle.KeeperInput) ([]ui.Option, error) {
	fresh := customer.Input{
		Name: f.Str("name", customer.NameMax), Phone: f.Str("phone", customer.PhoneMax),
		Email: f.Str("email", customer.EmailMax), Address: f.Text("address", customer.AddressMax),
	}
	isNew := fresh != customer.Input{}
	text := f.Str("on_file", 60)
	chosen := f.Get("customer")
	var fit []customer.Customer
	var err error
	if isNew {
		fit, err = p.people.WithPhone(ctx, who, fresh.Phone, choicesMax)
	} else {
		fit, err = p.people.Find(ctx, who, text, choicesMax)
	}
	switch {
	case err != nil:
		return nil, err
	case chosen != "" && chosen != somebodyNew:
		in.CustomerID = customer.ID(f.ID("customer"))
	case isNew:
		in.NewCustomer = &fresh
		if len(fit) == 0 {
			return nil, nil
		}
		if chosen == "" {
			f.Fail("phone", "this number is on file: is it one of these?")
		}
	case text == "":
		f.Fail("on_file", "please say who keeps the car now: somebody on file, or a new customer below")
	case len(fit) == 0:
		f.Fail("on_file", "nobody on file has that name or number")
	case len(fit) == 1:
		in.CustomerID = fit[0].ID
		return nil, nil
	case chosen == somebodyNew:
		f.Fail("name", "please give the new keeper's name")
	default:
		f.Fail("on_file", "several fit: please choose below, or type more of the name")
	}
	if len(fit) == 0 {
		return nil, nil
	}
	return options(fit), nil
}

func options(found []customer.Customer) []ui.Option {
	var out []ui.Option
	for _, c := range found {
		out = append(out, ui.Option{Value: ui.Itoa(c.ID), Label: c.Name, Hint: c.Phone})
	}
	return append(out, ui.Option{Value: somebodyNew, Label: "Somebody new"})
}

func (p pages) staleKeeper(w http.ResponseWriter, r *http.Request, f *ui.Form, id vehicle.ID, now customer.Customer) error {
	theirs := now.Name
	if now.ID == 0 {
		theirs = "nobody"
	}
	s := ui.Stale{
		Thing: "car's keeper", Action: carPath(id) + "/keeper", Back: carPath(id),
		Keep: []ui.Carried{{Name: "was", Value: ui.Itoa(now.ID)}, {Name: "customer", Value: f.Get("customer")}, {Name: "day", Value: f.Get("day")}},
	}
	if f.Get("on_file") != "" {
		s.Rows = append(s.Rows, ui.StaleRow{Name: "on_file", Label: "Keeper on file", Theirs: theirs, Yours: f.Get("on_file")})
	} else {
		s.Rows = append(s.Rows,
			ui.StaleRow{Name: "name", Label: "Keeper", Theirs: theirs, Yours: f.Get("name")},
			ui.StaleRow{Name: "phone", Label: "Telephone", Theirs: now.Phone, Yours: f.Get("phone")},
			ui.StaleRow{Name: "email", Label: "E-mail", Theirs: now.Email, Yours: f.Get("email")},
			ui.StaleRow{Name: "address", Label: "Address", Theirs: now.Address, Yours: f.Get("address"), Long: true})
	}
	return p.kit.Stale(w, r, s)
}
