package fact

// The bounds of figures keep out slips of the finger, not rare cars. Letters
// and numbers in brackets are the fields of the harmonised registration
// certificate (Council Directive 1999/37/EC, Annex I).

// What a car is, on paper.
var identity = []Key{
	{
		Key: "chassis_number", Label: "Chassis number", Kind: Chassis, Where: AtPlate, Also: []string{"chassis", "chassis no", "vin", "serial number"},
		How: "the VIN, in the logbook (E), on the maker's plate and struck into the body; older cars have a shorter number",
	},
	{
		Key: "type_code", Label: "Type, variant, version", Kind: Text, Where: AtLogbook, name: "type code", Also: []string{"type", "variant", "version"},
		How: "the type in the logbook (D.2)",
	},
	{
		Key: "model_year", Label: "Model year", Kind: Number, Low: 1885, High: 2199, Where: AtPlate,
		How: "character 10 of the VIN where its maker uses one, or the first two figures of labels on the old part",
	},
	{Key: "built", Label: "Built", Kind: Date, Where: AtPlate, Also: []string{"build date", "production date", "produced", "made"}, How: "build date on the maker's plate, or moulded into belts and glass"},
	{
		Key: "first_registered", Label: "First registered", Kind: Date, Where: AtLogbook, Also: []string{"registered", "first registration"},
		How: "date of first registration in the logbook (B)",
	},
	{
		Key: "emission_class", Label: "Emission class", Kind: Choice, Where: AtLogbook, Also: []string{"euro class", "emission standard"},
		Options: []string{"before Euro 1", "Euro 1", "Euro 2", "Euro 3", "Euro 4", "Euro 5", "Euro 6", "Euro 6d", "Euro 7"},
		How:     "environmental category in the logbook (V.9), or the label under the bonnet",
	},
	{Key: "top_speed_kmh", Label: "Top speed", Kind: Number, Unit: "km/h", Low: 20, High: 450, Where: AtLogbook, Also: []string{"maximum speed"}, How: "maximum speed in the logbook (T), or the handbook"},
	{Key: "paint_code", Label: "Paint code", Kind: Text, Where: AtPlate, How: "on the maker's plate or a label in a door opening"},
}

// What it weighs and may weigh.
var masses = []Key{
	{
		Key: "kerb_mass_kg", Label: "Mass in service", Kind: Number, Unit: "kg", Low: 100, High: 40000, Where: AtLogbook, Also: []string{"kerb mass", "kerb weight"},
		How: "mass in service in the logbook (G); what a lift has to carry",
	},
	{Key: "gross_mass_kg", Label: "Gross mass", Kind: Number, Unit: "kg", Low: 100, High: 60000, Where: AtPlate, Also: []string{"gross weight"}, How: "the first mass on the maker's plate"},
	{
		Key: "axle_load_front_kg", Label: "Front axle load", Kind: Number, Unit: "kg", Low: 50, High: 20000, Where: AtPlate,
		How: "the line that begins with 1 on the maker's plate",
	},
	{
		Key: "axle_load_rear_kg", Label: "Rear axle load", Kind: Number, Unit: "kg", Low: 50, High: 20000, Where: AtPlate,
		How: "the line that begins with 2 on the maker's plate",
	},
	{
		Key: "towed_mass_kg", Label: "Towed mass, braked", Kind: Number, Unit: "kg", Low: 0, High: 20000, Where: AtLogbook, name: "towed mass",
		How: "the most that a braked trailer may weigh, in the logbook (O.1)",
	},
}
