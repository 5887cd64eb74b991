package fact_test

import (
	"strings"
	"testing"

	"rampside/internal/fact"
)

func key(t *testing.T, name string) fact.Key {
	t.Helper()
	k, ok := fact.KeyOf(name)
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
		{"built", "2015/03", "2015-03", "Mar 2015"},
		{"chassis_number", "1hg cm82633-a004352", "1HGCM82633A004352", "1HGCM82633A004352"},
		{"chassis_number", "5G 118341", "5G118341", "5G118341"},
		{"rim_width_in", "6.50 in", "6.5", "6.5 in"},
		{"brake_fluid", "dot 5", "DOT 5", "DOT 5"},
		{"emission_class", "Euro 6D", "Euro 6d", "Euro 6d"},
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
		{"displacement_cc", "-1"}, {"displacement_cc", "12001"}, {"displacement_cc", "1.9"}, {"displacement_cc", "2.0"}, {"displacement_cc", "2"}, {"displacement_cc", "NaN"}, {"displacement_cc", "Inf"},
		{"displacement_cc", "1e3"}, {"displacement_cc", "0x10"}, {"displacement_cc", "two"}, {"displacement_cc", long}, {"displacement_cc", "1995 mm"},
		{"centre_bore_mm", "57.123"}, {"centre_bore_mm", "5.7.1"}, {"wheel_offset_mm", "200"}, {"wheel_offset_mm", "--4"},
		{"cylinders", "4.5"}, {"cylinders", "-4"}, {"airbags", "21"},
		{"fuel", "steam"}, {"fuel", "p"}, {"fuel", "'; drop table vehicle; --"}, {"steering_side", "middle"},
		{"built", "31/2/2019"}, {"built", "2019-13"}, {"built", "0001"}, {"built", "9999-01-01"}, {"built", "soon"}, {"built", "03/14/2019"},
		{"stud_pattern", "112"}, {"stud_pattern", "2x112"}, {"stud_pattern", "5x79"}, {"stud_pattern", "5x-112"}, {"stud_pattern", "13x112"},
		{"chassis_number", "12"}, {"chassis_number", "1HGCM82633A00435O"}, {"chassis_number", "1HGCM82633A0043521"}, {"chassis_number", "5G/118"},
		{"tyre_size", "205/55"}, {"tyre_size", "fat ones"}, {"tyre_size", "<script>alert(1)</script>"},
	} {
		got, err := key(t, c.key).Clean(c.typed)
		if err == nil || got != "" {
			t.Errorf("%s %.20q is taken as %q, %v", c.key, c.typed, got, err)
		}
	}
}

func FuzzFactValue(f *testing.F) {
	for _, s := range []string{"", "1,995", "57.1", "ET45", "205/55 R16 91V", "5x112", "14/3/2019", "\x00", "\xff", "-", "1e9", "٣"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range fact.Vocabulary() {
			v, err := k.Clean(s)
			if err != nil {
				if err.Error() == "" || v != "" {
					t.Fatalf("%s %q: %q, %v", k.Key, s, v, err)
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
