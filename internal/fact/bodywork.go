package fact

// What it looks like and stands on.
var bodywork = []Key{
	{
		Key: "body", Label: "Body", Kind: Choice, Where: Outside, Options: []string{"hatchback", "saloon", "estate", "coupé", "convertible", "MPV", "SUV", "van", "pick-up", "chassis cab", "minibus"}, Also: []string{"body type"},
		How: "body type in the logbook, or by looking",
	},
	{Key: "doors", Label: "Doors", Kind: Number, Low: 1, High: 7, Where: Outside, How: "count them, the tailgate too"},
	{Key: "wheelbase_mm", Label: "Wheelbase", Kind: Number, Unit: "mm", Low: 1000, High: 8000, Where: Outside, How: "from hub centre to hub centre along one side, or the logbook (M)"},
	{Key: "tow_bar", Label: "Tow bar", Kind: Choice, Options: []string{"none", "fixed", "detachable", "swivelling"}, Where: Outside, How: "look under the rear bumper"},
	{
		Key: "suspension", Label: "Suspension", Kind: Choice, Options: []string{"coil springs", "leaf springs", "torsion bars", "air", "hydro-pneumatic"}, Where: UnderCar,
		How: "look at the rear axle",
	},
	{Key: "ride_height", Label: "Ride height", Kind: Choice, Options: []string{"standard", "lowered", "raised"}, Where: Outside, How: "from hub centre to wheel arch against the maker's figure; mind the lift's arms under a lowered car"},
}

// What is seen and counted from the seats.
var cabin = []Key{
	{
		Key: "steering_side", Label: "Steering side", Kind: Choice, Options: []string{"right", "left"}, Where: InCabin,
		How: "the side that the steering wheel is on",
	},
	{Key: "steering_help", Label: "Power steering", Kind: Choice, Options: []string{"none", "hydraulic", "electro-hydraulic", "electric"}, Where: UnderHood, How: "a fluid tank means hydraulic; a belt-driven pump or an electric one beside it"},
	{
		Key: "airbags", Label: "Airbags", Kind: Number, Low: 0, High: 20, Where: InCabin,
		How: "count the marks on wheel, dash, seats, pillars and roof edge",
	},
	{
		Key: "pretensioners", Label: "Belt pretensioners", Kind: Choice, Options: []string{"none", "front", "front and rear"}, Where: InCabin,
		How: "label on the belt reel, or the workshop manual",
	},
}
