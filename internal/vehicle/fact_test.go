package vehicle_test

import (
	"slices"
	"testing"

	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/vehicle"
)

func key(t *testing.T, name string) fact.Key {
	t.Helper()
	k, ok := fact.KeyOf(name)
	if !ok {
		t.Fatalf("the vocabulary has no %s", name)
	}
	return k
}

func TestTheTrustedSourceWinsAndContradictionsAreShown(t *testing.T) {
	fact := func(k, v string, s vehicle.Source) vehicle.Fact { return vehicle.Fact{Key: k, Value: v, Source: s} }
	known := vehicle.Weigh([]vehicle.Fact{
		fact("engine_code", "AAA 1", vehicle.Assumed), fact("engine_code", "BBB 2", vehicle.FromSupplier), fact("engine_code", "CCC 3", vehicle.FromCar),
		fact("engine_code", "BBB 2", vehicle.FromLogbook), fact("engine_code", "BBB 2", vehicle.FromPlate),
		fact("fuel", "diesel", vehicle.FromSupplier), fact("fuel", "diesel", vehicle.FromLogbook),
		fact("built", "2019", vehicle.FromPlate), fact("built", "2019-03", vehicle.FromSupplier), fact("built", "2019-03-14", vehicle.Assumed),
		fact("first_registered", "2019", vehicle.FromLogbook), fact("first_registered", "2020-01", vehicle.Assumed),
		fact("tyre_size", "205/55 R16", vehicle.FromCar), fact("tyre_size", "205/55 R16 91V", vehicle.FromSupplier),
		fact("axle_load_rear_kg", "900", vehicle.FromPlate), fact("axle_load_rear_kg", "1000", vehicle.Assumed),
		fact("no such key", "x", vehicle.FromCar),
	})
	type want struct {
		value        string
		source       vehicle.Source
		all          int
		contradicted bool
	}
	wants := map[string]want{
		"engine_code":       {"CCC 3", vehicle.FromCar, 5, true},
		"fuel":              {"diesel", vehicle.FromLogbook, 2, false},
		"built":             {"2019", vehicle.FromPlate, 3, false},
		"first_registered":  {"2019", vehicle.FromLogbook, 2, true},
		"tyre_size":         {"205/55 R16", vehicle.FromCar, 2, false},
		"axle_load_rear_kg": {"900", vehicle.FromPlate, 2, true},
	}
	if len(known) != len(wants) {
		t.Errorf("%d keys are known, want %d", len(known), len(wants))
	}
	for _, k := range known {
		got := want{k.Best.Value, k.Best.Source, len(k.All), k.Contradicted}
		if got != wants[k.Key.Key] {
			t.Errorf("%s: got %+v, want %+v", k.Key.Key, got, wants[k.Key.Key])
		}
	}
}

func TestFactsCallForTheirCautions(t *testing.T) {
	for _, c := range []struct {
		key, value string
		want       caution.Key
	}{
		{"fuel", "petrol hybrid", caution.HighVoltage}, {"fuel", "plug-in hybrid", caution.HighVoltage}, {"fuel", "diesel hybrid", caution.HighVoltage},
		{"high_voltage", "355", caution.HighVoltage}, {"high_voltage", "0", ""},
		{"fuel", "electric", caution.HighVoltage}, {"fuel", "hydrogen", caution.HighVoltage}, {"fuel", "LPG", caution.Fuel}, {"fuel", "CNG", caution.Fuel},
		{"airbags", "6", caution.Airbag}, {"pretensioners", "front", caution.Airbag}, {"refrigerant", "R1234yf", caution.Refrigerant},
		{"suspension", "air", caution.Lifting}, {"suspension", "hydro-pneumatic", caution.Lifting}, {"built", "1987-05", caution.Dust},
		{"first_registered", "1998", caution.Dust},
		{"fuel", "diesel", ""}, {"airbags", "0", ""}, {"pretensioners", "none", ""}, {"refrigerant", "none", ""}, {"suspension", "coil springs", ""}, {"built", "2019", ""},
	} {
		if v, err := key(t, c.key).Clean(c.value); err != nil || v != c.value {
			t.Fatalf("%s %s is kept as %s, %v", c.key, c.value, v, err)
		}
		got := vehicle.Cautions(vehicle.Weigh([]vehicle.Fact{{Key: c.key, Value: c.value, Source: vehicle.FromCar}}))
		if c.want == "" && len(got) > 0 || c.want != "" && !slices.Contains(got, c.want) {
			t.Errorf("%s %s calls for %v, want %q", c.key, c.value, got, c.want)
		}
	}
}

func TestWhileSourcesContradictEveryValuesCautionCounts(t *testing.T) {
	both := vehicle.Weigh([]vehicle.Fact{{Key: "fuel", Value: "petrol", Source: vehicle.FromCar}, {Key: "fuel", Value: "plug-in hybrid", Source: vehicle.FromSupplier}})
	if got := vehicle.Cautions(both); len(got) != 1 || got[0] != caution.HighVoltage {
		t.Errorf("got %v", got)
	}
}
