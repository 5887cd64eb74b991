package fact

import "rampside/internal/caution"

var dust = []caution.Key{caution.Brakes}

// What stops it.
var brakes = []Key{
	{
		Key: "brake_system", Label: "Brake system", Kind: Text, Where: WheelOff, Also: []string{"caliper", "caliper maker"},
		How: "maker and pattern, cast into the caliper", care: dust,
	},
	{Key: "abs", Label: "Anti-lock brakes", Kind: Choice, Options: []string{"yes", "no"}, Where: InCabin, name: "anti-lock brakes", Also: []string{"abs"}, How: "the lamp that comes on and goes out with the ignition"},
	{
		Key: "front_disc_mm", Label: "Front disc diameter", Kind: Number, Unit: "mm", Low: 100, High: 500, Decimals: 1, Where: WheelOff, Also: []string{"front disc"},
		How: "wheel off, rule across the disc", care: dust,
	},
	{Key: "front_disc_thickness_mm", Label: "Front disc thickness", Kind: Number, Unit: "mm", Low: 3, High: 60, Decimals: 2, Where: WheelOff, How: "micrometer inside the worn edge", care: dust},
	{Key: "front_disc_kind", Label: "Front disc kind", Kind: Choice, Options: []string{"solid", "vented"}, Where: AtWheel, How: "look at the edge through the wheel: one plate or two with a gap", care: nil},
	{
		Key: "rear_disc_mm", Label: "Rear disc or drum diameter", Kind: Number, Unit: "mm", Low: 100, High: 500, Decimals: 1, Where: WheelOff, name: "rear disc diameter", Also: []string{"rear disc", "rear drum", "drum diameter", "rear drum diameter"},
		How: "wheel off, rule across the disc or drum", care: dust,
	},
	{Key: "rear_disc_thickness_mm", Label: "Rear disc thickness", Kind: Number, Unit: "mm", Low: 3, High: 60, Decimals: 2, Where: WheelOff, How: "micrometer inside the worn edge", care: dust},
	{Key: "rear_brake", Label: "Rear brake", Kind: Choice, Options: []string{"disc", "drum"}, Where: AtWheel, How: "look through the wheel"},
	{Key: "parking_brake", Label: "Parking brake", Kind: Choice, Options: []string{"lever", "pedal", "electric"}, Where: InCabin, Also: []string{"handbrake"}, How: "a lever, a pedal, or a switch"},
	{Key: "front_caliper_radius_mm", Label: "Front caliper, outermost point", Kind: Number, Unit: "mm", Low: 80, High: 400, Decimals: 2, Where: WheelOff, name: "outermost point of the front caliper", How: "straight edge over the caliper, down to the middle of the hub", care: dust},
	{Key: "front_caliper_reach_mm", Label: "Front caliper, reach outward", Kind: Number, Unit: "mm", Low: -150, High: 250, Decimals: 2, Where: WheelOff, name: "outward reach of the front caliper", How: "straight edge across the hub's face, to the caliper's outer side; outward above zero", care: dust},
	{Key: "rear_caliper_radius_mm", Label: "Rear caliper, outermost point", Kind: Number, Unit: "mm", Low: 80, High: 400, Decimals: 2, Where: WheelOff, name: "outermost point of the rear caliper", How: "straight edge over the caliper, down to the middle of the hub", care: dust},
	{Key: "rear_caliper_reach_mm", Label: "Rear caliper, reach outward", Kind: Number, Unit: "mm", Low: -150, High: 250, Decimals: 2, Where: WheelOff, name: "outward reach of the rear caliper", How: "straight edge across the hub's face, to the caliper's outer side; outward above zero", care: dust},
	{
		Key: "brake_fluid", Label: "Brake fluid", Kind: Choice, Options: []string{"DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "mineral"}, Where: UnderHood,
		How: "on the cap of the brake fluid tank",
	},
}

// What it rolls on.
var wheels = []Key{
	{
		Key: "stud_pattern", Label: "Stud pattern", Kind: Pattern, Where: WheelOff, Also: []string{"pcd", "bolt pattern", "pitch circle"},
		How: "number of fixings by the diameter of their circle; on the back of the wheel",
	},
	{
		Key: "centre_bore_mm", Label: "Centre bore", Kind: Number, Unit: "mm", Low: 30, High: 300, Decimals: 2, Where: WheelOff, Also: []string{"center bore", "hub bore"},
		How: "diameter of the hub's spigot",
	},
	{
		Key: "wheel_offset_mm", Label: "Wheel offset", Kind: Number, Unit: "mm", Low: -150, High: 150, Decimals: 1, Where: WheelOff, Also: []string{"offset"},
		How: "the figure after ET, cast into the back of the wheel",
	},
	{Key: "rim_diameter_in", Label: "Rim diameter", Kind: Number, Unit: "in", Low: 8, High: 30, Decimals: 1, Where: AtWheel, How: "the figure after R in the tyre's size"},
	{Key: "rim_width_in", Label: "Rim width", Kind: Number, Unit: "in", Low: 3, High: 18, Decimals: 2, Where: WheelOff, How: "the figure before J, cast into the back of the wheel"},
	{Key: "wheel_fixing", Label: "Wheel fixing", Kind: Choice, Options: []string{"bolt", "nut", "centre lock"}, Where: AtWheel, How: "bolts go into the hub, nuts onto its studs"},
	{Key: "wheel_thread", Label: "Wheel fixing thread", Kind: Text, Where: AtWheel, How: "diameter by pitch, such as M12x1.5: take one out with the car on its wheels"},
	{Key: "wheel_seat", Label: "Wheel fixing seat", Kind: Choice, Options: []string{"cone", "ball", "flat"}, Where: AtWheel, How: "the face of the bolt or nut that meets the wheel"},
	{
		Key: "wheel_torque_nm", Label: "Wheel fixing torque", Kind: Number, Unit: "Nm", Low: 40, High: 700, Where: InCabin,
		How: "the maker's handbook",
	},
	{Key: "tyre_size", Label: "Tyre size", Kind: Tyre, Where: AtWheel, Also: []string{"tyre", "front tyre size"}, How: "on the side wall, such as 205/55 R16 91V; front, if they differ"},
	{Key: "tyre_size_rear", Label: "Tyre size, rear", Kind: Tyre, Where: AtWheel, name: "rear tyre size", How: "on the side wall, where it differs from the front"},
	{
		Key: "load_index", Label: "Load index needed", Kind: Number, Low: 0, High: 279, Where: AtLogbook, Also: []string{"load index", "tyre load index"},
		How: "the least that the logbook or the handbook allows; the figure after the size on the side wall is the tyre's own",
	},
	{
		Key: "speed_symbol", Label: "Speed symbol needed", Kind: Choice, Where: AtLogbook, Also: []string{"speed symbol", "speed index", "speed rating"},
		Options: []string{"J", "K", "L", "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "W", "Y"},
		How:     "the least that the logbook or the handbook allows; the letter after the load index on the side wall is the tyre's own",
	},
	{Key: "wheel_room_inner_mm", Label: "Room inside the wheel", Kind: Number, Unit: "mm", Low: 0, High: 300, Decimals: 1, Where: WheelOff, name: "room inside the wheel", How: "from rim and tyre to strut, arm and hose, the nearest of them, with the springs pressed together and at full lock"},
	{Key: "wheel_room_outer_mm", Label: "Room outside the wheel", Kind: Number, Unit: "mm", Low: 0, High: 300, Decimals: 1, Where: AtWheel, name: "room outside the wheel", How: "from rim and tyre to the edge of the wing, the nearest place, with the springs pressed together and at full lock"},
	{Key: "speedometer_over_percent", Label: "Speedometer over-reads", Kind: Number, Unit: "%", Low: 0, High: 20, Decimals: 1, Where: InCabin, name: "what the speedometer over-reads", How: "shown less true speed by satellite at a steady 80 km/h, in per cent of the true one; a second person reads"},
	{Key: "tyre_sensors", Label: "Tyre pressure sensors", Kind: Choice, Options: []string{"none", "in the wheels", "through the anti-lock brakes"}, Where: AtWheel, Also: []string{"tpms"}, How: "a metal valve, or the handbook"},
}
