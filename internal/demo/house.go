package demo

import (
	"context"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/outlook"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// Password and PIN open every account of the demo. It is for looking at, on
// one machine.
const (
	Password = "ramp-side-demo"
	PIN      = "7316"
)

// SignIns are the accounts of the demo.
var SignIns = []struct{ Name, SignIn, What string }{
	{"Wren Calloway", "wren", "owner"},
	{"Ida Fairweather", "ida", "front desk"},
	{"Posy Thackeray", "posy", "technician"},
	{"Bram Oakes", "bram", "technician"},
}

func (m *maker) people(ctx context.Context) error {
	roles := []actor.Role{actor.Owner, actor.Desk, actor.Technician, actor.Technician}
	rates := []money.Minor{2600, 1550, 1900, 1750}
	for i, who := range []*actor.Actor{&m.wren, &m.ida, &m.posy, &m.bram} {
		p := SignIns[i]
		id, err := m.accounts.CreateUser(ctx, actor.Command("demo"), account.NewStaff{
			Name: p.Name, SignIn: p.SignIn, Role: roles[i], CostRate: rates[i], Password: Password, PIN: PIN,
		})
		if err != nil {
			return err
		}
		*who = actor.Actor{StaffID: id, Name: p.Name, Role: roles[i], Via: actor.ViaPage, Device: "front desk"}
		if roles[i] == actor.Technician {
			who.Device = "tablet by the ramp"
		}
	}
	return nil
}

// opening is when the garage is open: half past eight to half past five, and
// longer where the demo is looked at early or late, so that its day is always
// in full swing.
func (m *maker) opening() (opens, closes workday.Clock) {
	opens, closes = 8*60+30, 17*60+30
	now := workday.ClockOf(m.now, m.loc)
	if now < opens+150 {
		opens = max(0, now-150)
	}
	if now > closes-240 {
		closes = min(23*60+55, now+240)
	}
	return opens, closes
}

func (m *maker) house(ctx context.Context) error {
	opens, closes := m.opening()
	days := []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}
	if d := m.today.Weekday(); d == time.Saturday || d == time.Sunday {
		days = append(days, d)
	}
	_, err := m.settings.SaveSettings(ctx, m.wren, garage.Settings{
		Name: "Saltmarsh Lane Garage", Address: "3 Saltmarsh Lane\nSedgeholm", Phone: "01632 960400", Email: "desk@saltmarshlane.example",
		// A number that the check digits allow, of nobody.
		VATNumber: "100000132",
		ZoneName:  zone, Currency: "GBP", Opens: opens, Closes: closes, WorkDays: days,
		StandardCostRate: 1800, DefaultMarkupBP: 3000, VATRounding: money.PerDocument,
	})
	if err != nil {
		return err
	}
	if err := m.operations(ctx); err != nil {
		return err
	}
	for _, s := range []garage.SupplierInput{
		{Name: "Estuary Motor Factors", Phone: "01632 960411", Active: true},
		{Name: "Harbour Road Spares", Phone: "01632 960422", Active: true},
		{Name: "Gull Classics", Phone: "01632 960433", Active: true},
	} {
		p, err := m.settings.SaveSupplier(ctx, m.wren, s)
		if err != nil {
			return err
		}
		m.suppliers = append(m.suppliers, p.ID)
	}
	var weeks []roster.Week
	for _, who := range []actor.Actor{m.posy, m.bram} {
		w := roster.Week{StaffID: who.StaffID}
		for _, d := range days {
			w.Days[(int(d)+6)%7] = &workday.Shift{Start: opens, End: closes, Break: 30 * time.Minute}
		}
		weeks = append(weeks, w)
	}
	_, version, err := roster.Shifts(ctx, m.db.Pool)
	if err != nil {
		return err
	}
	if err := m.roster.SaveShifts(ctx, m.wren, roster.ShiftsInput{Version: version, Weeks: weeks}); err != nil {
		return err
	}
	_, err = m.looks.SetRamps(ctx, m.wren, outlook.Setting{Ramps: 3})
	return err
}

// operation is one of the garage's operations: low, likely and high hours.
type operation struct {
	name              string
	low, likely, high string
	cautions          []caution.Key
	wheels, inspects  bool
}

var operations = []operation{
	{name: "Service, small", low: "0.8", likely: "1.0", high: "1.4"},
	{name: "Service, full", low: "1.6", likely: "2.0", high: "2.8", cautions: []caution.Key{caution.Lifting}},
	{name: "Oil and filter", low: "0.4", likely: "0.5", high: "0.8", cautions: []caution.Key{caution.Lifting}},
	{name: "Front brake pads", low: "0.8", likely: "1.0", high: "1.6", cautions: []caution.Key{caution.Brakes, caution.Lifting}, wheels: true},
	{name: "Front discs and pads", low: "1.3", likely: "1.7", high: "2.6", cautions: []caution.Key{caution.Brakes, caution.Lifting}, wheels: true},
	{name: "Rear brake shoes", low: "1.2", likely: "1.6", high: "2.8", cautions: []caution.Key{caution.Brakes, caution.Lifting}, wheels: true},
	{name: "Brake fluid change", low: "0.6", likely: "0.8", high: "1.2", cautions: []caution.Key{caution.Brakes}},
	{name: "Clutch", low: "4.5", likely: "5.5", high: "8.0", cautions: []caution.Key{caution.Lifting, caution.Dust}},
	{name: "Thermostat housing", low: "1.0", likely: "1.4", high: "2.4", cautions: []caution.Key{caution.Coolant}},
	{name: "Coolant strength and level", low: "0.2", likely: "0.3", high: "0.4", cautions: []caution.Key{caution.Coolant}, inspects: true},
	{name: "Rear load springs", low: "2.0", likely: "2.6", high: "4.2", cautions: []caution.Key{caution.Lifting, caution.Wheels}, wheels: true},
	{name: "Tow bar and electrics", low: "2.2", likely: "3.0", high: "4.5", cautions: []caution.Key{caution.Battery}},
	{name: "Find a 12 V fault", low: "0.5", likely: "1.0", high: "2.5", cautions: []caution.Key{caution.Battery}, inspects: true},
	{name: "12 V battery", low: "0.3", likely: "0.4", high: "0.8", cautions: []caution.Key{caution.Battery}},
	{name: "Carburettor overhaul", low: "2.5", likely: "3.5", high: "6.0", cautions: []caution.Key{caution.Fuel}},
	{name: "Ignition timing and tune", low: "0.8", likely: "1.2", high: "2.0", cautions: []caution.Key{caution.Fumes}},
	{name: "Two front tyres", low: "0.6", likely: "0.8", high: "1.1", cautions: []caution.Key{caution.Wheels}, wheels: true},
	{name: "Wiper blades", low: "0.1", likely: "0.2", high: "0.3"},
	{name: "Lamps and levels check", low: "0.2", likely: "0.3", high: "0.4", inspects: true},
	{name: "Exhaust rear section", low: "0.7", likely: "1.0", high: "2.0", cautions: []caution.Key{caution.Lifting, caution.Fumes}},
	{name: "Front drop links", low: "0.6", likely: "0.9", high: "1.6", cautions: []caution.Key{caution.Steering, caution.Lifting}},
	{name: "Look for the noise", low: "0.4", likely: "0.7", high: "1.5", cautions: []caution.Key{caution.Lifting}, inspects: true},
}

func (m *maker) operations(ctx context.Context) error {
	labour, err := m.settings.SaveLabourType(ctx, m.wren, garage.LabourTypeInput{Name: "Workshop", Rate: 6200, Active: true})
	if err != nil {
		return err
	}
	classic, err := m.settings.SaveLabourType(ctx, m.wren, garage.LabourTypeInput{Name: "Classic", Rate: 6800, Active: true})
	if err != nil {
		return err
	}
	m.ops = map[string]garage.OperationID{}
	for _, o := range operations {
		in := garage.OperationInput{
			Name: o.name, LabourTypeID: labour.ID, VATCode: money.Standard, Cautions: o.cautions, Safety: caution.NeedsSecondCheck(o.cautions),
			WheelsOff: o.wheels, Inspects: o.inspects, Active: true, Low: duration(o.low), Likely: duration(o.likely), High: duration(o.high),
		}
		if o.name == "Carburettor overhaul" || o.name == "Ignition timing and tune" {
			in.LabourTypeID = classic.ID
		}
		if o.name == "Wiper blades" {
			price := money.Minor(900)
			in.FixedPrice = &price
		}
		made, err := m.settings.SaveOperation(ctx, m.wren, in)
		if err != nil {
			return err
		}
		m.ops[o.name] = made.ID
	}
	return nil
}

// duration reads hours written in this program.
func duration(s string) time.Duration {
	d, err := hours.Parse(s)
	if err != nil {
		panic("demo: " + s + ": " + err.Error())
	}
	return d
}
