package caution

// catalogue holds every caution. "HSE" is the Health and Safety Executive of
// Great Britain; "motor vehicle repair" are its pages for this trade.
var catalogue = []Caution{
	{
		Key:   Airbag,
		Title: "Airbags and belt tensioners",
		Text: "They can go off, injure and poison. Switch off, disconnect the battery and wait the maker's time first. " +
			"Carry a bag with its face away from you. Keeping them in the building may need a licence: " +
			"above 5 kg of those marked UN 1.4G or 1.4S it does.",
		Source: "HSE, motor vehicle repair: storing and handling airbags and seat belt pretensioners safely; " +
			"disconnecting, waiting and carrying: " + NoSource,
	},
	{
		Key:   Lifting,
		Title: "Under the vehicle",
		Text: "Never go under a vehicle that stands on a jack alone. Use a lift or stands within their rating, " +
			"examined within the year, on firm level ground and under strong points. Chock the wheels. " +
			"Prop a tilted cab and hold up air suspension.",
		Source: "HSE, INDG434: working safely under motor vehicles being repaired",
	},
	{
		Key:   Brakes,
		Title: "Brakes and clutch",
		Text: "Never blow the dust off with an air line: use proper equipment or wet rags. " +
			"Linings from before 1999 may hold asbestos. Bed new linings in as the maker says.",
		Source: "HSE, motor vehicle repair: asbestos; bedding in: " + NoSource,
	},
	{
		Key:   Steering,
		Title: "Steering and suspension joints",
		Text: "Use new fasteners where the maker asks for them, tighten to the maker's figure, " +
			"and turn from lock to lock before the wheels carry the car.",
		Source: NoSource,
	},
	{
		Key:   Wheels,
		Title: "Wheels",
		Text: "Tighten to the maker's torque, in the maker's order, and write it down. " +
			"Ask the customer to have it checked again after 50 to 100 km.",
		Source: "advice of tyre makers (50 km) and of the motoring press (100 km); no government source for cars",
	},
	{
		Key:   Fuel,
		Title: "Fuel",
		Text: "Take petrol out with a fuel retriever. Keep it out of the waste oil. " +
			"No heat, sparks or welding on a tank that has not been cleaned, diesel tanks too.",
		Source: "HSE, motor vehicle repair: fire and explosion",
	},
	{
		Key:   HighVoltage,
		Title: "High voltage",
		Text: "Trained staff only. Lock the keys away from the car. Isolate as the maker says, lock off, " +
			"and prove dead before you touch. Parts may hold a deadly charge even then.",
		Source: "HSE, motor vehicle repair: electric and hybrid vehicles",
	},
	{
		Key:   Refrigerant,
		Title: "Air-conditioning gas",
		Text: "Recover the gas, never let it out. " +
			"Only a person who holds the qualification for it may recover it.",
		Source: "Regulations (EU) No 517/2014 and (EC) No 307/2008",
	},
	{
		Key:   Battery,
		Title: "Battery",
		Text: "Charging gives off hydrogen: let air through, and keep sparks, flames and phones away. " +
			"Wear gloves and eye protection, take off rings and watches, use insulated tools.",
		Source: "HSE, INDG139: using electric storage batteries safely; COSHH essentials SR18 (hydrogen)",
	},
	{
		Key:   Coolant,
		Title: "Hot coolant",
		Text: "Never open a hot cooling system: it is under pressure and scalds. " +
			"Let it cool, then ease the cap off.",
		Source: NoSource,
	},
	{
		Key:   Fumes,
		Title: "Exhaust fumes",
		Text: "Do not run an engine indoors without an extractor on the tailpipe that leads into the open, " +
			"least of all over a pit. An open door is not enough, and a catalytic converter does not make it safe.",
		Source: "HSE, motor vehicle repair: vehicle exhaust emissions; HSG187",
	},
	{
		Key:   Paint,
		Title: "Two-pack paint",
		Text: "It holds isocyanates. Wear air-fed breathing apparatus and keep the visor down " +
			"until the clearing time is over: a spray room may need 30 minutes. " +
			"The limit in the air is 0.02 mg/m³ over 8 hours, 0.07 over 15 minutes.",
		Source: "HSE, motor vehicle repair: isocyanates; EH40 workplace exposure limits",
	},
	{
		Key:   Dust,
		Title: "Dust",
		Text: "Take dust away where it is made, wear a mask that fits, and never blow it or sweep it dry. " +
			"Gaskets and linings from before 1999 may hold asbestos.",
		Source: "asbestos: HSE, motor vehicle repair: asbestos; the rest: " + NoSource,
	},
}
