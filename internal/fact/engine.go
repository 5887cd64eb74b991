package fact

import "rampside/internal/caution"

// What drives it.
var engine = []Key{
	{
		Key: "engine_code", Label: "Engine code", Kind: Text, Where: UnderHood, Also: []string{"engine", "engine no", "engine number"},
		How: "stamped on the block near the gearbox joint, or on the timing cover's label", care: []caution.Key{caution.Coolant},
	},
	{
		Key: "engine_layout", Label: "Engine layout", Kind: Choice, Options: []string{"inline", "V", "flat", "W", "rotary", "none"}, Where: UnderHood, Also: []string{"layout"},
		How: "look along the cylinder head: one row, two rows in a V, or two lying flat; none for an electric car",
	},
	{Key: "cylinders", Label: "Cylinders", Kind: Number, Low: 0, High: 16, Where: UnderHood, How: "count the plugs, injectors or coil packs"},
	{
		Key: "displacement_cc", Label: "Displacement", Kind: Number, Unit: "cc", Low: 0, High: 12000, Where: AtLogbook, Also: []string{"capacity", "engine size", "cubic capacity"},
		How: "cylinder capacity in the logbook (P.1)",
	},
	{
		Key: "power_kw", Label: "Power", Kind: Number, Unit: "kW", Low: 1, High: 1500, Decimals: 1, Where: AtLogbook, Also: []string{"output"},
		How: "maximum net power in the logbook (P.2)",
	},
	{
		Key: "fuel", Label: "Fuel", Kind: Choice, Where: AtLogbook, Options: []string{"petrol", "diesel", "petrol hybrid", "diesel hybrid", "plug-in hybrid", "electric", "LPG", "CNG", "hydrogen"},
		How: "type of fuel in the logbook (P.3); the flap says what goes in",
	},
	{
		Key: "aspiration", Label: "Aspiration", Kind: Choice, Options: []string{"natural", "turbocharged", "supercharged", "both"}, Where: UnderHood, Also: []string{"charging"},
		How: "look for a turbocharger in the exhaust or a belt-driven blower", care: []caution.Key{caution.Coolant},
	},
	{Key: "timing_drive", Label: "Timing drive", Kind: Choice, Options: []string{"belt", "belt in oil", "chain", "gears", "none"}, Where: UnderHood, How: "plastic covers hide a belt, a metal one a chain; the handbook of the engine"},
	{Key: "engine_oil", Label: "Engine oil", Kind: Text, Where: UnderHood, Also: []string{"oil"}, How: "viscosity and specification on the label at the filler, or in the handbook"},
	{Key: "coolant", Label: "Coolant", Kind: Text, Where: UnderHood, How: "specification on the expansion tank or in the handbook; colour alone does not tell", care: []caution.Key{caution.Coolant}},
}

// What passes it on to the road.
var driveline = []Key{
	{
		Key: "gearbox", Label: "Gearbox", Kind: Choice, Where: InCabin, Options: []string{"manual", "automatic", "automated manual", "dual clutch", "continuously variable", "single speed"}, Also: []string{"transmission"},
		How: "pedals and selector; the code is on the gearbox housing",
	},
	{Key: "gears", Label: "Gears", Kind: Number, Low: 1, High: 16, Where: InCabin, Also: []string{"speeds"}, How: "forward gears, on the lever or in the handbook"},
	{
		Key: "gearbox_code", Label: "Gearbox code", Kind: Text, Where: UnderCar,
		How: "stamped or labelled on the gearbox housing",
	},
	{
		Key: "driven_axle", Label: "Driven axle", Kind: Choice, Where: UnderCar, Options: []string{"front", "rear", "both"}, Also: []string{"drive"},
		How: "look for drive shafts",
	},
}
