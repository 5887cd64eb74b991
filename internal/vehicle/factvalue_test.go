package vehicle_test

import (
	"slices"
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/vehicle"
)

func key(t *testing.T, name string) vehicle.FactKey {
	t.Helper()
	k, ok := vehicle.KeyOf(name)
	if !ok {
		t.Fatalf("the vocabulary has no %s", name)
	}
	return k
}

// Tyre sizes as the side wall has them: UN Regulations 30 (cars) and 54
// (vans); the older forms from memory.
func TestAFactIsKeptInOneForm(t *testing.T) {
	for _, c := range []struct{ key, typed, kept, shown string }{
		{"engine_code", " k9k  836 ", "K9K 836", "K9K 836"},
		{"displacement_cc", "1,995 cc", "1995", "1995 cc"},
		{"displacement_cc", "1461", "1461", "1461 cc"},
		{"centre_bore_mm", "57,1", "57.1", "57.1 mm"},
		{"centre_bore_mm", "57.10mm", "57.1", "57.1 mm"},
		{"wheel_offset_mm", "ET45", "45", "45 mm"},
		{"wheel_offset_mm", "et -12", "-12", "-12 mm"},
		{"wheel_offset_mm", "-0", "0", "0 mm"},
		{"axle_load_front_kg", "1050 KG", "1050", "1050 kg"},
		{"front_disc_mm", "280", "280", "280 mm"},
		{"system_voltage", "12V", "12", "12 V"},
		{"airbags", "6", "6", "6"},
		{"fuel", "DIESEL", "diesel", "diesel"},
		{"fuel", "plug", "plug-in hybrid", "plug-in hybrid"},
		{"engine_layout", "v", "V", "V"},
		{"steering_side", "Right", "right", "right"},
		{"body", "PICK", "pick-up", "pick-up"},
		{"refrigerant", "r1234YF", "R1234yf", "R1234yf"},
		{"built", "14/3/2019", "2019-03-14", "14 Mar 2019"},
		{"built", "2019-03-14", "2019-03-14", "14 Mar 2019"},
		{"built", "3/2019", "2019-03", "Mar 2019"},
		{"built", "March 2019", "2019-03", "Mar 2019"},
		{"built", "1998", "1998", "1998"},
		{"stud_pattern", "5x112", "5x112", "5x112"},
		{"stud_pattern", "5 X 112.0 mm", "5x112", "5x112"},
		{"stud_pattern", "4×98", "4x98", "4x98"},
		{"stud_pattern", "5/114,3", "5x114.3", "5x114.3"},
		{"tyre_size", "205/55r16 91v", "205/55 R16 91V", "205/55 R16 91V"},
		{"tyre_size", "205/55 R16", "205/55 R16", "205/55 R16"},
		{"tyre_size", "195/75R16C 107/105R", "195/75 R16C 107/105R", "195/75 R16C 107/105R"},
		{"tyre_size", "255/40 ZR 19 100Y XL", "255/40 ZR19 100Y XL", "255/40 ZR19 100Y XL"},
		{"tyre_size", "155 R13", "155 R13", "155 R13"},
		{"tyre_size", "5.60-15", "5.60-15", "5.60-15"},
	} {
		k := key(t, c.key)
		got, err := k.Clean(c.typed)
		if err != nil || got != c.kept {
			t.Errorf("%s %q is kept as %q, %v, want %q", c.key, c.typed, got, err, c.kept)
			continue
		}
		if again, err := k.Clean(got); err != nil || again != got {
			t.Errorf("%s %q read again is %q, %v", c.key, got, again, err)
		}
		if shown := k.Shown(got); shown != c.shown {
			t.Errorf("%s %q is shown as %q, want %q", c.key, got, shown, c.shown)
		}
	}
}

func TestAFactThatCannotBeIsRefusedAtItsValue(t *testing.T) {
	long := strings.Repeat("9", 5000)
	for _, c := range []struct{ key, typed string }{
		{"engine_code", ""}, {"engine_code", " \u200b"}, {"engine_code", "K9K\x00"}, {"engine_code", "\xff"}, {"engine_code", long}, {"engine_code", "A\nB"},
		{"displacement_cc", "-1"}, {"displacement_cc", "12001"}, {"displacement_cc", "1.9"}, {"displacement_cc", "NaN"}, {"displacement_cc", "Inf"},
		{"displacement_cc", "1e3"}, {"displacement_cc", "0x10"}, {"displacement_cc", "two"}, {"displacement_cc", long}, {"displacement_cc", "1995 mm"},
		{"centre_bore_mm", "57.123"}, {"centre_bore_mm", "5.7.1"}, {"wheel_offset_mm", "200"}, {"wheel_offset_mm", "--4"},
		{"cylinders", "4.5"}, {"cylinders", "-4"}, {"airbags", "21"},
		{"fuel", "steam"}, {"fuel", "p"}, {"fuel", "'; drop table vehicle; --"}, {"steering_side", "middle"},
		{"built", "31/2/2019"}, {"built", "2019-13"}, {"built", "0001"}, {"built", "9999-01-01"}, {"built", "soon"}, {"built", "03/14/2019"},
		{"stud_pattern", "112"}, {"stud_pattern", "2x112"}, {"stud_pattern", "5x79"}, {"stud_pattern", "5x-112"}, {"stud_pattern", "13x112"},
		{"tyre_size", "205/55"}, {"tyre_size", "fat ones"}, {"tyre_size", "<script>alert(1)</script>"},
	} {
		got, err := key(t, c.key).Clean(c.typed)
		if !apperr.Is(err, apperr.Invalid) {
			t.Errorf("%s %.20q is taken as %q, %v", c.key, c.typed, got, err)
		}
	}
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

func TestTheVocabularyIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range vehicle.Vocabulary() {
		if k.Key == "" || k.Label == "" || k.How == "" || k.Where == "" || seen[k.Key] || seen[k.Label] {
			t.Errorf("%+v: says too little, or comes twice", k)
		}
		seen[k.Key], seen[k.Label] = true, true
		if (k.Kind == vehicle.Choice) != (len(k.Options) > 0) || (k.Kind == vehicle.Number) != (k.High > k.Low) {
			t.Errorf("%s: its kind and its bounds or options differ", k.Key)
		}
		for _, o := range k.Options {
			if got, err := k.Clean(o); err != nil || got != o {
				t.Errorf("%s: option %s is kept as %s, %v", k.Key, o, got, err)
			}
		}
	}
}

func FuzzFactValue(f *testing.F) {
	for _, s := range []string{"", "1,995", "57.1", "ET45", "205/55 R16 91V", "5x112", "14/3/2019", "\x00", "\xff", "-", "1e9", "٣"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range vehicle.Vocabulary() {
			v, err := k.Clean(s)
			if err != nil {
				if !apperr.Is(err, apperr.Invalid) {
					t.Fatalf("%s %q: %v", k.Key, s, err)
				}
				continue
			}
			if again, err := k.Clean(v); err != nil || again != v || v == "" {
				t.Fatalf("%s %q is kept as %q, read again %q, %v", k.Key, s, v, again, err)
			}
			if !k.Agree(v, v) || k.Shown(v) == "" {
				t.Fatalf("%s %q does not agree with itself", k.Key, v)
			}
		}
	})
}
