package fact

import "rampside/internal/caution"

// What it runs on besides fuel.
var electrics = []Key{
	{Key: "connector", Label: "Connector", Kind: Text, Where: OnOldPart, Also: []string{"plug"}, How: "pins and shape of the plug on the part that is being changed"},
	{Key: "connector_pins", Label: "Connector pins", Kind: Number, Low: 1, High: 200, Where: OnOldPart, Also: []string{"pins"}, How: "count the pins of the plug on the part that is being changed"},
	{
		Key: "battery_type", Label: "12 V battery type", Kind: Choice, Where: UnderHood, Options: []string{"flooded", "EFB", "AGM", "gel", "lithium"}, name: "battery type", Also: []string{"battery"},
		How: "on the battery's label", care: []caution.Key{caution.Battery},
	},
	{Key: "battery_ah", Label: "12 V battery capacity", Kind: Number, Unit: "Ah", Low: 1, High: 300, Where: UnderHood, name: "battery capacity", How: "on the battery's label", care: []caution.Key{caution.Battery}},
	{Key: "alternator_a", Label: "Alternator current", Kind: Number, Unit: "A", Low: 5, High: 500, Where: UnderHood, Also: []string{"alternator"}, How: "on the alternator's label"},
	{Key: "stop_start", Label: "Stop-start", Kind: Choice, Options: []string{"yes", "no"}, Where: InCabin, Also: []string{"start stop"}, How: "a button with an A in a circle, or the handbook"},
	{Key: "system_voltage", Label: "On-board voltage", Kind: Number, Unit: "V", Low: 6, High: 48, Where: UnderHood, How: "on the battery's label: 6, 12, 24 or 48"},
	{
		Key: "high_voltage", Label: "Traction voltage", Kind: Number, Unit: "V", Low: 0, High: 1200, Where: AtPlate,
		How: "on the orange or yellow warning label; 0 when there is no such system", care: []caution.Key{caution.HighVoltage},
	},
	{
		Key: "refrigerant", Label: "Refrigerant", Kind: Choice, Where: UnderHood, Options: []string{"none", "R12", "R134a", "R1234yf", "R744"},
		How: "on the label under the bonnet",
	},
	{Key: "refrigerant_g", Label: "Refrigerant charge", Kind: Number, Unit: "g", Low: 0, High: 5000, Where: UnderHood, How: "on the label under the bonnet"},
}
