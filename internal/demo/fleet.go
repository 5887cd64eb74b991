package demo

import (
	"context"
	"fmt"
	"strings"

	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/vehicle"
	"rampside/internal/vin"
	"rampside/internal/workday"
)

// car is one car of the garage's customers.
type car struct {
	in       vehicle.Input
	keeper   customer.Input
	facts    []vehicle.FactInput
	id       vehicle.ID
	miles    int // on the clock at its last visit
	lastSeen workday.Day
}

// The six cars of the day come first, then the rest of the fleet.
const (
	alder = iota
	tern
	pike
	lumen
	gull
	dart
)

func (m *maker) sixCars() []car {
	fact := func(key, value string, source vehicle.Source) vehicle.FactInput {
		return vehicle.FactInput{Key: key, Value: value, Source: source}
	}
	book, plate, off, shop := vehicle.FromLogbook, vehicle.FromPlate, vehicle.FromCar, vehicle.FromSupplier
	return []car{
		alder: {
			in:     vehicle.Input{Mark: "TU19 KEL", Make: "Corvane", Model: "Alder van", Colour: "white"},
			keeper: customer.Input{Name: "Fathom Bakery", Phone: "01632 960517", Email: "orders@fathombakery.example", Address: "8 Rope Walk, Sedgeholm"},
			facts: []vehicle.FactInput{
				fact("fuel", "diesel", book), fact("displacement_cc", "1968", book), fact("gearbox", "manual", off),
				fact("driven_axle", "front", off), fact("gross_mass_kg", "3200", plate), fact("engine_code", "CDA2", off),
			},
		},
		tern: {
			in:     vehicle.Input{Mark: "JA16 TRN", Make: "Brisling", Model: "Tern estate", Colour: "sea green"},
			keeper: customer.Input{Name: "Odette Marlowe", Phone: "07700 900318", Email: "odette@marlowe.example", Address: "Flat 2, 41 Quay Street, Sedgeholm"},
			facts: []vehicle.FactInput{
				fact("fuel", "petrol", book), fact("displacement_cc", "1598", book), fact("engine_code", "BRT14", shop),
				fact("engine_code", "BRT16F", off), fact("gearbox", "manual", off), fact("built", "2016-02", plate),
			},
		},
		pike: {
			in:     vehicle.Input{Mark: "UB67 PKE", Make: "Halden", Model: "Pike pick-up", Colour: "grey"},
			keeper: customer.Input{Name: "Tamsin Roake", Phone: "07700 900441", Address: "Marram Farm, Low Sedge"},
			facts: []vehicle.FactInput{
				fact("fuel", "diesel", book), fact("suspension", "leaf springs", off), fact("axle_load_front_kg", "1420", plate), fact("axle_load_rear_kg", "1850", plate),
				fact("stud_pattern", "6x139.7", off), fact("wheel_torque_nm", "145", shop),
			},
		},
		lumen: {
			in:     vehicle.Input{Mark: "TJ70 LUM", Make: "Meridian", Model: "Lumen", Colour: "pearl"},
			keeper: customer.Input{Name: "Caspian Healy", Phone: "01632 960522", Email: "caspian@healy.example", Address: "The Old Chandlery, Sedgeholm"},
			facts: []vehicle.FactInput{
				fact("fuel", "petrol hybrid", book), fact("high_voltage", "244", plate), fact("battery_type", "AGM", off),
				fact("system_voltage", "12", off), fact("refrigerant", "R1234yf", off),
			},
		},
		gull: {
			in:     vehicle.Input{Mark: "SMR 471F", Make: "Tamar", Model: "Gull", Colour: "primrose"},
			keeper: customer.Input{Name: "Aurelio Penhallow", Phone: "01632 960538", Address: "12 Cormorant Terrace, Sedgeholm"},
			facts: []vehicle.FactInput{
				fact("fuel", "petrol", book), fact("displacement_cc", "1275", book), fact("first_registered", "1968-03-04", book),
				fact("steering_side", "right", off), fact("airbags", "0", off),
			},
		},
		dart: {
			in:     vehicle.Input{Mark: "JU21 DRT", Make: "Fenwick", Model: "Dart", Colour: "red"},
			keeper: customer.Input{Name: "Lowen Tregear", Phone: "07700 900664", Email: "lowen@tregear.example", Address: "5 Beacon Rise, Sedgeholm"},
			facts: []vehicle.FactInput{
				fact("fuel", "petrol", book), fact("displacement_cc", "998", book), fact("tyre_size", "195/55 R16 87H", off),
				fact("front_disc_mm", "256", shop), fact("wheel_torque_nm", "110", shop), fact("front_caliper_radius_mm", "159", off),
			},
		},
	}
}

var (
	firstNames = strings.Fields("Merryn Jago Elowen Piran Tegan Ferris Isolde Bryony Osric Linnet Hollis Sabra Corwin Delphine Ansel Marisol Tobin Verity Amias Rosalind")
	lastNames  = strings.Fields("Quill Sandry Tresco Holloway Brine Cutwater Fennimore Ashlark Dunmere Wexcombe Larkham Thorncroft Skerry Oakhanger Millrace Pellow Saltern Gannet Rushmere Whitlow")
	streets    = []string{"Quay Street", "Beacon Rise", "Rope Walk", "Low Sedge", "Cormorant Terrace", "Marram Lane", "Harbour Road"}
	makes      = []struct{ make, model string }{
		{"Corvane", "Alder van"}, {"Corvane", "Rowan"}, {"Brisling", "Tern estate"}, {"Brisling", "Plover"}, {"Halden", "Pike pick-up"},
		{"Halden", "Perch"}, {"Meridian", "Lumen"}, {"Meridian", "Noon"}, {"Fenwick", "Dart"}, {"Fenwick", "Javelin"},
	}
	colours = strings.Fields("white grey blue red silver black green")
)

// fleetSize is how many cars come to the garage.
const fleetSize = 60

func (m *maker) garageFleet(ctx context.Context) error {
	m.say("taking the customers' cars in")
	m.fleet = m.sixCars()
	for i := len(m.fleet); i < fleetSize; i++ {
		kind := makes[m.rand.IntN(len(makes))]
		year := 14 + m.rand.IntN(11)
		m.fleet = append(m.fleet, car{
			in: vehicle.Input{
				Mark: fmt.Sprintf("%s%02d %s", m.letters("JTU", 1)+m.letters("ABCDEFGHJKLMNPRSTUVWXY", 1), year, m.letters("ABCDEFGHJKLMNOPRSTUVWXYZ", 3)),
				Make: kind.make, Model: kind.model, Colour: colours[m.rand.IntN(len(colours))],
			},
			keeper: customer.Input{
				Name:    firstNames[i%len(firstNames)] + " " + lastNames[(i*7+3)%len(lastNames)],
				Phone:   fmt.Sprintf("07700 9%05d", m.rand.IntN(1000)),
				Address: fmt.Sprintf("%d %s, Sedgeholm", 1+m.rand.IntN(80), streets[m.rand.IntN(len(streets))]),
			},
			facts: []vehicle.FactInput{{Key: "fuel", Value: []string{"petrol", "petrol", "diesel"}[m.rand.IntN(3)], Source: vehicle.FromLogbook}},
		})
	}
	first := m.first.AddDays(-1)
	for i := range m.fleet {
		c := &m.fleet[i]
		c.in.VIN = m.vin()
		c.miles = 4000 + m.rand.IntN(90_000)
		c.lastSeen = first
		if err := m.takeIn(ctx, c, first); err != nil {
			return err
		}
	}
	return nil
}

// takeIn puts a car and its keeper on file.
func (m *maker) takeIn(ctx context.Context, c *car, day workday.Day) error {
	keeper, err := change.Do(ctx, m.db, m.ida, "new customer", c.keeper, func(ctx context.Context, tx *change.Tx) (customer.ID, error) {
		return customer.Insert(ctx, tx, c.keeper)
	})
	if err != nil {
		return err
	}
	done, err := m.cars.Add(ctx, m.ida, vehicle.AddInput{Input: c.in, Facts: c.facts, KeeperID: keeper, KeptFrom: day})
	c.id = done.ID
	return err
}

func (m *maker) letters(from string, n int) string {
	b := make([]byte, n)
	for i := range b {
		b[i] = from[m.rand.IntN(len(from))]
	}
	return string(b)
}

// vin makes a well-formed number of an invented maker, with its check digit.
func (m *maker) vin() string {
	text := "SX9" + m.letters("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", 5) + "0" + m.letters("EFGHJKLMNPR", 1) +
		m.letters("ABCDEFGHJKL", 1) + m.letters("0123456789", 6)
	digit, ok := vin.CheckDigit(text)
	if !ok {
		panic("demo: " + text + " is not formed like a VIN")
	}
	return text[:8] + digit + text[9:]
}
