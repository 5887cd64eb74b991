package vehicle

import "slices"

// Kind is how the value of a fact is written and compared.
type Kind int

// The kinds.
const (
	Text    Kind = iota // a code or a few words
	Number              // a figure in the key's unit
	Choice              // one of the key's options
	Date                // a day, or a month or a year where no more is known
	Tyre                // a tyre size
	Pattern             // holes by pitch circle, such as 5x112
)

// Place is where on the car a fact is read.
type Place string

// The places.
const (
	AtPlate   Place = "maker's plate"
	AtLogbook Place = "logbook"
	UnderHood Place = "under the bonnet"
	AtWheel   Place = "at the wheel"
	UnderCar  Place = "under the car"
	InCabin   Place = "in the cabin"
	OnOldPart Place = "on the old part"
	Outside   Place = "outside"
)

// FactKey is one thing that may be known of a car.
type FactKey struct {
	Key   string
	Label string
	Kind  Kind
	// Unit is that of a Number: mm, kg, cc, V; empty for a plain count.
	Unit string
	// Low and High bound a Number; Decimals is how many places it may have.
	Low, High float64
	Decimals  int
	// Options are the words of a Choice.
	Options []string
	// How says in a few words how to read it, Where it is found.
	How   string
	Where Place
}

// Every key that a fact may have, in the order in which pages list them. The
// bounds keep out slips of the finger, not rare cars.
var vocabulary = []FactKey{
	{Key: "engine_code", Label: "Engine code", Kind: Text, Where: UnderHood,
		How: "stamped on the block near the gearbox joint, or on the timing cover's label"},
	{Key: "engine_layout", Label: "Engine layout", Kind: Choice, Options: []string{"inline", "V", "flat", "W", "rotary", "none"}, Where: UnderHood,
		How: "look along the cylinder head: one row, two rows in a V, or two lying flat; none for an electric car"},
	{Key: "cylinders", Label: "Cylinders", Kind: Number, Low: 0, High: 16, Where: UnderHood,
		How: "count the plugs, injectors or coil packs"},
	{Key: "displacement_cc", Label: "Displacement", Kind: Number, Unit: "cc", Low: 0, High: 12000, Where: AtLogbook,
		How: "cylinder capacity in the logbook"},
	{Key: "power_kw", Label: "Power", Kind: Number, Unit: "kW", Low: 1, High: 1500, Decimals: 1, Where: AtLogbook,
		How: "maximum net power in the logbook"},
	{Key: "fuel", Label: "Fuel", Kind: Choice, Where: AtLogbook, Options: []string{"petrol", "diesel", "petrol hybrid", "diesel hybrid", "plug-in hybrid", "electric", "LPG", "CNG", "hydrogen"},
		How: "type of fuel in the logbook; the flap says what goes in"},
	{Key: "gearbox", Label: "Gearbox", Kind: Choice, Where: InCabin, Options: []string{"manual", "automatic", "automated manual", "dual clutch", "continuously variable", "single speed"},
		How: "pedals and selector; the code is on the gearbox housing"},
	{Key: "gearbox_code", Label: "Gearbox code", Kind: Text, Where: UnderCar,
		How: "stamped or labelled on the gearbox housing"},
	{Key: "body", Label: "Body", Kind: Choice, Where: Outside, Options: []string{"hatchback", "saloon", "estate", "coupé", "convertible", "MPV", "SUV", "van", "pick-up", "chassis cab", "minibus"},
		How: "body type in the logbook, or by looking"},
	{Key: "doors", Label: "Doors", Kind: Number, Low: 1, High: 7, Where: Outside, How: "count them, the tailgate too"},
	{Key: "driven_axle", Label: "Driven axle", Kind: Choice, Where: UnderCar, Options: []string{"front", "rear", "both"},
		How: "look for drive shafts"},
	{Key: "steering_side", Label: "Steering side", Kind: Choice, Options: []string{"right", "left"}, Where: InCabin,
		How: "the side that the steering wheel is on"},
	{Key: "built", Label: "Built", Kind: Date, Where: AtPlate,
		How: "build date on the maker's plate, or moulded into belts and glass"},
	{Key: "first_registered", Label: "First registered", Kind: Date, Where: AtLogbook, How: "date of first registration"},
	{Key: "paint_code", Label: "Paint code", Kind: Text, Where: AtPlate, How: "on the maker's plate or a label in a door opening"},
	{Key: "gross_mass_kg", Label: "Gross mass", Kind: Number, Unit: "kg", Low: 100, High: 60000, Where: AtPlate,
		How: "the first mass on the maker's plate"},
	{Key: "axle_load_front_kg", Label: "Front axle load", Kind: Number, Unit: "kg", Low: 50, High: 20000, Where: AtPlate,
		How: "the line that begins with 1 on the maker's plate"},
	{Key: "axle_load_rear_kg", Label: "Rear axle load", Kind: Number, Unit: "kg", Low: 50, High: 20000, Where: AtPlate,
		How: "the line that begins with 2 on the maker's plate"},
	{Key: "front_disc_mm", Label: "Front disc diameter", Kind: Number, Unit: "mm", Low: 100, High: 500, Decimals: 1, Where: AtWheel,
		How: "wheel off, rule across the disc"},
	{Key: "rear_disc_mm", Label: "Rear disc or drum diameter", Kind: Number, Unit: "mm", Low: 100, High: 500, Decimals: 1, Where: AtWheel,
		How: "wheel off, rule across the disc or drum"},
	{Key: "rear_brake", Label: "Rear brake", Kind: Choice, Options: []string{"disc", "drum"}, Where: AtWheel, How: "look through the wheel"},
	{Key: "suspension", Label: "Suspension", Kind: Choice, Options: []string{"coil springs", "leaf springs", "torsion bars", "air", "hydro-pneumatic"}, Where: UnderCar,
		How: "look at the rear axle"},
	{Key: "parking_brake", Label: "Parking brake", Kind: Choice, Options: []string{"lever", "pedal", "electric"}, Where: InCabin,
		How: "a lever, a pedal, or a switch"},
	{Key: "stud_pattern", Label: "Stud pattern", Kind: Pattern, Where: AtWheel,
		How: "number of fixings by the diameter of their circle; on the back of the wheel"},
	{Key: "centre_bore_mm", Label: "Centre bore", Kind: Number, Unit: "mm", Low: 30, High: 300, Decimals: 2, Where: AtWheel,
		How: "diameter of the hub's spigot"},
	{Key: "wheel_offset_mm", Label: "Wheel offset", Kind: Number, Unit: "mm", Low: -150, High: 150, Decimals: 1, Where: AtWheel,
		How: "the figure after ET, cast into the wheel"},
	{Key: "wheel_torque_nm", Label: "Wheel fixing torque", Kind: Number, Unit: "Nm", Low: 40, High: 700, Where: InCabin,
		How: "the maker's handbook"},
	{Key: "tyre_size", Label: "Tyre size", Kind: Tyre, Where: AtWheel, How: "on the side wall, such as 205/55 R16 91V; front, if they differ"},
	{Key: "tyre_size_rear", Label: "Tyre size, rear", Kind: Tyre, Where: AtWheel, How: "on the side wall, where it differs from the front"},
	{Key: "connector", Label: "Connector", Kind: Text, Where: OnOldPart, How: "pins and shape of the plug on the part that is being changed"},
	{Key: "battery_type", Label: "12 V battery type", Kind: Choice, Where: UnderHood, Options: []string{"flooded", "EFB", "AGM", "gel", "lithium"},
		How: "on the battery's label"},
	{Key: "system_voltage", Label: "On-board voltage", Kind: Number, Unit: "V", Low: 6, High: 48, Where: UnderHood, How: "on the battery's label: 6, 12, 24 or 48"},
	{Key: "high_voltage", Label: "Traction voltage", Kind: Number, Unit: "V", Low: 0, High: 1200, Where: AtPlate,
		How: "on the orange or yellow warning label; 0 when there is no such system"},
	{Key: "refrigerant", Label: "Refrigerant", Kind: Choice, Where: UnderHood, Options: []string{"none", "R12", "R134a", "R1234yf", "R744"},
		How: "on the label under the bonnet"},
	{Key: "refrigerant_g", Label: "Refrigerant charge", Kind: Number, Unit: "g", Low: 0, High: 5000, Where: UnderHood, How: "on the label under the bonnet"},
	{Key: "airbags", Label: "Airbags", Kind: Number, Low: 0, High: 20, Where: InCabin,
		How: "count the marks on wheel, dash, seats, pillars and roof edge"},
	{Key: "pretensioners", Label: "Belt pretensioners", Kind: Choice, Options: []string{"none", "front", "front and rear"}, Where: InCabin,
		How: "label on the belt reel, or the workshop manual"},
}

// Vocabulary lists every key, in the order of pages.
func Vocabulary() []FactKey { return slices.Clone(vocabulary) }

// KeyOf finds a key by its name.
func KeyOf(key string) (FactKey, bool) {
	i := slices.IndexFunc(vocabulary, func(k FactKey) bool { return k.Key == key })
	if i < 0 {
		return FactKey{}, false
	}
	return vocabulary[i], true
}
