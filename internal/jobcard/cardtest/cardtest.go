// Package cardtest sets up a small garage with a card in it, through the same
// services as real use, for tests of whatever works on cards.
package cardtest

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pg/pgtest"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// Garage is Saltmarsh Lane Garage on an October Monday at 09:00 summer time,
// with a clock that tests set.
type Garage struct {
	DB    *change.DB
	URL   string
	Clock time.Time
	Day   workday.Day

	Owner, Desk, Posy, Bram actor.Actor

	Accounts *account.Service
	Settings *garage.Service
	Cards    *jobcard.Service
	Vehicles *vehicle.Service

	// Labour costs 60.00 an hour; Brakes is a safety operation that takes a
	// wheel off, Service a plain one, Check one that inspects.
	Labour                 garage.LabourTypeID
	Brakes, Service, Check garage.OperationID
	Supplier               garage.SupplierID
	Car                    vehicle.ID
	Keeper                 customer.ID

	t testing.TB
}

// Password and PIN open every account once Secrets has set them.
const (
	Password = "marsh-lantern-41"
	PIN      = "4827"
)

// Secrets lets everybody sign in, by their first name in small letters. Few
// tests need it, and a password takes a while to hash.
func (g *Garage) Secrets() {
	g.t.Helper()
	real := account.New(g.DB, account.Options{})
	for _, who := range []actor.Actor{g.Owner, g.Desk, g.Posy, g.Bram} {
		_, err := real.SetPassword(g.ctx(), actor.Command("test"), who.StaffID, Password)
		g.OK(err)
		_, err = real.SetPIN(g.ctx(), actor.Command("test"), who.StaffID, PIN)
		g.OK(err)
	}
}

// Open makes the garage in a database of its own.
func Open(t testing.TB) *Garage {
	t.Helper()
	return OpenAt(t, pgtest.URL(t))
}

// OpenAt makes the garage in the database at url.
func OpenAt(t testing.TB, url string) *Garage {
	t.Helper()
	g := &Garage{URL: url, t: t, Day: workday.Must(2026, time.October, 5), Clock: time.Date(2026, 10, 5, 8, 0, 0, 0, time.UTC)}
	g.DB = &change.DB{Pool: openPool(t, url), Now: func() time.Time { return g.Clock }, Follow: fitment.Follow}
	g.Accounts = account.New(g.DB, account.Options{Hasher: quick{}})
	g.Settings = garage.New(g.DB)
	g.Cards = jobcard.New(g.DB)
	g.Vehicles = vehicle.New(g.DB)
	g.staff()
	g.settings()
	g.car()
	return g
}

func openPool(t testing.TB, url string) *pgxpool.Pool {
	t.Helper()
	pool, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	return pool
}

func (g *Garage) staff() {
	for _, p := range []struct {
		name, signIn string
		role         actor.Role
		rate         money.Minor
		who          *actor.Actor
	}{
		{"Wren Calloway", "wren", actor.Owner, 2500, &g.Owner},
		{"Ida Fairweather", "ida", actor.Desk, 1500, &g.Desk},
		{"Posy Thackeray", "posy", actor.Technician, 1800, &g.Posy},
		{"Bram Oakes", "bram", actor.Technician, 2000, &g.Bram},
	} {
		id, err := g.Accounts.CreateUser(g.ctx(), actor.Command("user"), account.NewStaff{
			Name: p.name, SignIn: p.signIn, Role: p.role, CostRate: p.rate, Password: Password, PIN: PIN,
		})
		g.OK(err)
		*p.who = actor.Actor{StaffID: id, Name: p.name, Role: p.role, Via: actor.ViaPage, Device: "test"}
	}
}

func (g *Garage) settings() {
	_, err := g.Settings.SaveSettings(g.ctx(), g.Owner, garage.Settings{
		Name: "Saltmarsh Lane Garage", ZoneName: "Europe/London", Currency: "GBP", Opens: 8*60 + 30, Closes: 17*60 + 30,
		WorkDays:  []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday},
		VATNumber: "100000132", StandardCostRate: 1800, DefaultMarkupBP: 3000, VATRounding: money.PerDocument,
	})
	g.OK(err)
	labour, err := g.Settings.SaveLabourType(g.ctx(), g.Owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000, Active: true})
	g.OK(err)
	g.Labour = labour.ID
	g.Brakes = g.operation("Front brake pads", "1.0", "1.2", "2.0", caution.Brakes)
	g.Service = g.operation("Annual service", "1.5", "1.6", "2.0")
	g.Check = g.operation("Look for the noise", "0.5", "0.5", "1.0")
	s, err := g.Settings.SaveSupplier(g.ctx(), g.Owner, garage.SupplierInput{Name: "Estuary Motor Factors", Active: true})
	g.OK(err)
	g.Supplier = s.ID
}

func (g *Garage) operation(name, low, likely, high string, cautions ...caution.Key) garage.OperationID {
	o, err := g.Settings.SaveOperation(g.ctx(), g.Owner, garage.OperationInput{
		Name: name, LabourTypeID: g.Labour, Low: g.hours(low), Likely: g.hours(likely), High: g.hours(high), VATCode: money.Standard,
		Cautions: cautions, Safety: len(cautions) > 0, WheelsOff: len(cautions) > 0, Inspects: likely == "0.5", Active: true,
	})
	g.OK(err)
	return o.ID
}

func (g *Garage) hours(s string) time.Duration {
	d, err := hours.Parse(s)
	g.OK(err)
	return d
}

func (g *Garage) car() {
	done, err := g.Cards.Book(g.ctx(), g.Desk, jobcard.Booking{
		NewVehicle:  &vehicle.Input{Mark: "BD51 SMR", VIN: "1M8GDM9AXKP042788", Make: "Brisling", Model: "Tern"},
		NewCustomer: &customer.Input{Name: "Odette Marlowe", Phone: "01632 960123"},
		Visit:       jobcard.Visit{BookedFor: g.Day.AddDays(-200)},
		Lines:       []jobcard.NewLine{{OperationID: g.Service}},
	})
	g.OK(err)
	sh, err := g.Cards.Sheet(g.ctx(), g.Desk, done.CardID)
	g.OK(err)
	g.Car, g.Keeper = sh.VehicleID, sh.CustomerID
	_, err = g.Cards.SetStage(g.ctx(), g.Desk, jobcard.StageInput{CardID: done.CardID, Stage: jobcard.Cancelled, Reason: "came another day"})
	g.OK(err)
}

// Book takes the car in today, on site, with the lines given.
func (g *Garage) Book(lines ...jobcard.NewLine) *jobcard.Sheet {
	g.t.Helper()
	done, err := g.Cards.Book(g.ctx(), g.Desk, jobcard.Booking{
		VehicleID: g.Car, Here: true, Lines: lines,
		Visit: jobcard.Visit{BookedFor: g.Day, ArrivesAt: g.Clock, PromisedAt: g.Clock.Add(8 * time.Hour)},
	})
	g.OK(err)
	return g.Sheet(done.CardID)
}

// Op is a line of one of the garage's operations.
func Op(id garage.OperationID) jobcard.NewLine {
	return jobcard.NewLine{OperationID: id, LineTerms: jobcard.LineTerms{MustDo: true}}
}

// Free is a line of somebody's own words.
func Free(title string, likely time.Duration) jobcard.NewLine {
	return jobcard.NewLine{LineTerms: jobcard.LineTerms{Title: title, MustDo: true, Estimate: hours.One(likely)}}
}

// Sheet reads a card as the owner sees it.
func (g *Garage) Sheet(id jobcard.CardID) *jobcard.Sheet {
	g.t.Helper()
	s, err := g.Cards.Sheet(g.ctx(), g.Owner, id)
	g.OK(err)
	return s
}

// Agree records that the customer agreed to everything still asked.
func (g *Garage) Agree(id jobcard.CardID) {
	g.t.Helper()
	_, err := g.Cards.Answer(g.ctx(), g.Desk, jobcard.ConsentInput{CardID: id, Answer: jobcard.Agreed, SaidBy: "Odette Marlowe", How: "by phone"})
	g.OK(err)
}

// GoAhead has the desk let a line be worked on that is not agreed.
func (g *Garage) GoAhead(id jobcard.LineID) {
	g.t.Helper()
	_, err := g.Cards.GoAhead(g.ctx(), g.Desk, jobcard.AheadInput{LineID: id, Reason: "they could not be reached, and the car is needed"})
	g.OK(err)
}

// Fits has somebody find by hand that every part of a card fits.
func (g *Garage) Fits(id jobcard.CardID) {
	g.t.Helper()
	for _, p := range g.Sheet(id).Parts {
		if p.Held {
			_, err := g.Cards.SetVerdict(g.ctx(), g.Posy, jobcard.VerdictInput{
				PartID: p.ID, Version: p.Version, Verdict: jobcard.Fits, Note: "beside the old one",
			})
			g.OK(err)
		}
	}
}

// OK fails the test on an error.
func (g *Garage) OK(err error) {
	g.t.Helper()
	if err != nil {
		g.t.Fatal(err)
	}
}

func (g *Garage) ctx() context.Context { return g.t.Context() }

// quick keeps secrets as they are, for tests that sign nobody in.
type quick struct{}

func (quick) Hash(_ context.Context, secret string) (string, error) { return "plain " + secret, nil }

func (quick) Matches(_ context.Context, stored, secret string) (bool, error) {
	return stored == "plain "+secret, nil
}
