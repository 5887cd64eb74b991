package fit_test

import (
	"strings"
	"testing"

	"rampside/internal/fit"
)

func said(text, source string, rank int) fit.Said {
	return fit.Said{Text: text, Source: source, Rank: rank}
}

// A value that is known in part leaves open what it does not say.
func TestAValueThatIsKnownInPartIsThreeValued(t *testing.T) {
	for _, c := range []struct {
		key, value, rule string
		want             fit.Truth
	}{
		{"built", "2019", "built from 2018 to 2019", T},
		{"built", "2019", "built from 2019-03", U},
		{"built", "2019-03", "built from 2019-03 to 2019-08", T},
		{"built", "2019-03", "built from 2019-03-15", U},
		{"built", "2019-08-31", "built to 2019-08", T},
		{"built", "2019-09-01", "built to 2019-08", F},
		{"built", "2019", "built after 2019-12-30", U},
		{"built", "2019", "built after 2018", T},
		{"built", "2019", "built before 2019", F},
		{"built", "2019", "built is not 2019-03", U},
		{"built", "2020-02-29", "built is 2020-02", T},
		{"tyre_size", "205/55 R16", "tyre size is 205/55 R16 91V", U},
		{"tyre_size", "205/55 R16 91V", "tyre size is 205/55 R16", T},
		{"tyre_size", "205/55 R16 91V", "tyre size is 205/55 R16 94V", F},
		{"tyre_size", "205/55 R16 94V XL", "tyre size is 205/55 R16 94V", T},
		{"tyre_size", "205/55 R16 94V XL", "tyre size is 205/55 R16 XL", T},
		{"tyre_size", "205/55 R16 94V", "tyre size is 205/55 R16 94V XL", U},
		{"tyre_size", "205/60 R16", "tyre size is 205/55 R16 91V", F},
		{"tyre_size", "255/40 ZR19", "tyre size is 255/40 R19", T},
		{"tyre_size", "255/40 R19", "tyre size is 255/40 ZR19", U},
		{"tyre_size", "195/75 R16", "tyre size is 195/75 R16C", F},
		{"chassis_number", "118341", "chassis number is 1G4AH59H45G118341", U},
		{"chassis_number", "118341", "chassis number from 100000 to 200000", T},
		{"chassis_number", "118341", "chassis number from 5G100000", U},
		{"chassis_number", "1G4AH59H45G118341", "chassis number is 118341", T},
		{"chassis_number", "1G4AH59H45G118341", "chassis number is not 118342", T},
		{"chassis_number", "1G4AH59H45G118341", "chassis number from 5G118342 to 6G002000", F},
		{"chassis_number", "1G4AH59H46G001000", "chassis number from 5G118342 to 6G002000", T},
		{"chassis_number", "1G4AH59H46G003000", "chassis number from 5G118342 to 6G002000", F},
		{"chassis_number", "1G4AH59H47G003000", "chassis number from 5G118342 to 6G002000", U},
		{"chassis_number", "1G4AH59H45G118341", "chassis number to 118341", T},
		{"chassis_number", "4711", "chassis number from 5000", F},
		{"chassis_number", "TR4711", "chassis number from TR5000", F},
		{"chassis_number", "TR4711", "chassis number from 5000", U},
	} {
		v := fit.Judge(parsed(t, c.rule), fit.Known{c.key: {Text: c.value, Source: "logbook"}})
		if v.Truth != c.want {
			t.Errorf("%s, and the car has %s: %s, want %s", c.rule, c.value, v.Truth, c.want)
		}
	}
}

// The factors are those of NIST Special Publication 811, appendix B; the edges
// follow from them: 110 PS is 80.9 kW, and 109.5 to 110.5 PS are 80.537 to
// 81.273 kW.
func TestAFigureInAnotherUnitMeansWhatRoundsToIt(t *testing.T) {
	for _, c := range []struct {
		key, value, rule string
		want             fit.Truth
	}{
		{"displacement_cc", "1950", "displacement is 2.0 l", T},
		{"displacement_cc", "1949", "displacement is 2.0 l", F},
		{"displacement_cc", "2049", "displacement is 2.0 l", T},
		{"displacement_cc", "2050", "displacement is 2.0 l", F},
		{"displacement_cc", "1995", "displacement is 2.00 l", T},
		{"displacement_cc", "1994", "displacement is 2.00 l", F},
		{"displacement_cc", "1896", "displacement from 1.9 l to 2.1 l", T},
		{"displacement_cc", "2149", "displacement at most 2.1 l", T},
		{"displacement_cc", "2149", "displacement under 2.1 l", F},
		{"displacement_cc", "1995", "displacement is 2000 cc", F},
		{"power_kw", "80.5", "power is 110 PS", F},
		{"power_kw", "80.6", "power is 110 PS", T},
		{"power_kw", "81.2", "power is 110 PS", T},
		{"power_kw", "81.3", "power is 110 PS", F},
		{"power_kw", "81", "power is 108 bhp", F}, // 107.5 to 108.5 bhp are 80.16 to 80.91 kW
		{"power_kw", "81", "power is 109 bhp", T},
		{"power_kw", "110", "power at least 150 PS", T},
		{"front_disc_mm", "279.4", "front disc is 11.00 in", T},
		{"front_disc_mm", "280", "front disc is 11.00 in", F},
		{"front_disc_mm", "280", "front disc is 11.0 in", T},
		{"front_disc_mm", "280", "front disc is 28 cm", T},
		{"axle_load_front_kg", "1050", "front axle load at least 2315 lb", T}, // 1050 kg are 2314.85 lb
		{"axle_load_front_kg", "1049", "front axle load at least 2315 lb", F},
		{"rim_width_in", "6.5", "rim width is 165 mm", T}, // 165.1 mm
		{"wheel_torque_nm", "110", "wheel fixing torque is 81 lbft", T},
	} {
		v := fit.Judge(parsed(t, c.rule), fit.Known{c.key: {Text: c.value, Source: "logbook"}})
		if v.Truth != c.want {
			t.Errorf("%s, and the car has %s: %s, want %s", c.rule, c.value, v.Truth, c.want)
		}
	}
}

func TestAProofSaysByWhatAConditionFails(t *testing.T) {
	for _, c := range []struct{ key, value, rule, by string }{
		{"front_disc_mm", "288", "front disc is 280 mm", "8 mm more than 280 mm"},
		{"front_disc_mm", "276.5", "front disc from 280 mm to 300 mm", "3.5 mm less than 280 mm"},
		{"front_disc_mm", "291", "front disc is one of 280 mm, 300 mm", "9 mm less than 300 mm"},
		{"front_disc_mm", "280", "front disc over 280 mm", "280 mm is not over 280 mm"},
		{"front_disc_mm", "283", "front disc over 11 in", "283 mm rounds to 11 in"},
		{"displacement_cc", "2149", "displacement is 2.0 l", "more than 2.0 l"},
		{"displacement_cc", "1995", "displacement is 2.0 l", "1995 cc rounds to 2.0 l"},
		{"built", "2019-08-31", "built from 2019-09", "one day before Sep 2019"},
		{"built", "2019-10-14", "built to 2019-08", "44 days after Aug 2019"},
		{"built", "2014-11", "built from 2015-03 to 2019-08", "about 3 months before Mar 2015"},
		{"built", "2009", "built from 2015-03", "about 5 years before Mar 2015"},
		{"built", "2019", "built after 2019", "2019 is not after 2019"},
		{"built", "2019", "built from 2019-03", "more of the date than 2019 must be known"},
		{"engine_code", "K9K 836", "engine code is K7A", "it is K9K 836"},
		{"tyre_size", "205/55 R16 91V", "tyre size is 205/55 R16 94V", "load index and speed symbol are 91V, not 94V"},
		{"tyre_size", "195/65 R15", "tyre size is 205/55 R16 94V", "it is 195/65 R15"},
		{"tyre_size", "205/55 R16", "tyre size is 205/55 R16 94V", "more of the size than 205/55 R16 must be read"},
		{"chassis_number", "1G4AH59H45G118341", "chassis number from 120000", "1659 before 120000"},
		{"chassis_number", "1G4AH59H45G118341", "chassis number from 5G000001 to 5G118000", "341 after 5G118000"},
		{"chassis_number", "118341", "chassis number is 1G4AH59H45G118341", "only the end of the number is known"},
		{"fuel", "", "fuel is diesel", "not known"},
		{"doors", "many", "doors is 5", "what is noted cannot be read as doors"},
	} {
		v := fit.Judge(parsed(t, c.rule), fit.Known{c.key: {Text: c.value, Source: "logbook"}})
		got := v.Conditions()
		if len(got) != 1 || got[0].By != c.by || !got[0].Carries || got[0].Key != c.key {
			t.Errorf("%s, and the car has %s: %+v, want %s", c.rule, c.value, got, c.by)
		}
	}
}

func TestTheVerdictRestsOnWhatDecidesIt(t *testing.T) {
	car := fit.Known{
		"engine_code": {Text: "K9K 836", Source: "read off the car"}, "doors": {Text: "5", Source: "read off the car"}, "gearbox": {Text: "automatic", Source: "logbook"},
	}
	for _, c := range []struct {
		rule    string
		truth   fit.Truth
		why     string
		carries []string
	}{
		{
			"engine code is K7A and doors is 5 and fuel is diesel", F,
			"engine code is K7A: this car has K9K 836, read off the car", []string{"engine code is K7A"},
		},
		{
			"doors is 5 and gearbox is not automatic", F,
			"gearbox is not automatic: this car has automatic, logbook", []string{"gearbox is automatic"},
		},
		{"doors is 3 or gearbox is manual", F, "doors is 3: this car has 5, read off the car; 2 more than 3; and 1 more", []string{"doors is 3", "gearbox is manual"}},
		{"doors is 5 or fuel is diesel", T, "doors is 5: this car has 5, read off the car", []string{"doors is 5"}},
		{"doors is 5 and engine code begins with K9K", T, "all 2 conditions that it rests on hold", []string{"doors is 5", "engine code begins with K9K"}},
		{"doors is 5 and fuel is diesel and gears is 6", U, "fuel is diesel: not known yet; and 1 more", []string{"fuel is diesel", "gears is 6"}},
		{"any car", T, "it is for any car", nil},
		{"no car", F, "it is for no car", nil},
		{"not any car", F, "it is for no car", nil},
	} {
		v := fit.Judge(parsed(t, c.rule), car)
		var carries []string
		for _, s := range v.Conditions() {
			if s.Carries {
				carries = append(carries, s.Text)
			}
		}
		if v.Truth != c.truth || v.Why != c.why || strings.Join(carries, "|") != strings.Join(c.carries, "|") || v.Rule != c.rule {
			t.Errorf("%s: %s, %q, resting on %q", c.rule, v.Truth, v.Why, carries)
		}
	}
}

func TestARuleThatSaysNothingSettlesNothing(t *testing.T) {
	var r fit.Rule
	v := fit.Judge(r, oracleCar)
	if v.Truth != U || v.Settle != nil || v.Why == "" || !fit.Not(r).IsZero() || !fit.All(r, r).IsZero() || r.String() != "" {
		t.Errorf("%+v", v)
	}
	if got := fit.All(r, parsed(t, "doors is 5")); got.String() != "doors is 5" {
		t.Errorf("%s", got)
	}
}

func TestTheTrustedSourceDecidesAndTheOthersAreShown(t *testing.T) {
	car := fit.Known{
		"engine_code": {Text: "K7A", Source: "read off the car", Rank: 0, Others: []fit.Said{said("K7B", "supplier", 3), said("K7A", "logbook", 2)}},
		"built":       {Text: "2019", Source: "maker's plate", Rank: 1, Others: []fit.Said{said("2019-03", "supplier", 3)}},
		"doors":       {Text: "5", Source: "read off the car", Rank: 0, Others: []fit.Said{said("3", "assumed", 4)}},
	}
	v := fit.Judge(parsed(t, "engine code is K7A and built is 2019 and (doors is 5 or doors is 3)"), car)
	if v.Truth != T || len(v.Disputed) != 2 {
		t.Fatalf("%+v", v)
	}
	e, d := v.Disputed[0], v.Disputed[1]
	if e.Key != "engine_code" || !e.Turns || len(e.Said) != 3 || e.Said[0] != said("K7A", "read off the car", 0) || e.Said[1] != said("K7A", "logbook", 2) || e.Said[2] != said("K7B", "supplier", 3) {
		t.Errorf("%+v", e)
	}
	if d.Key != "doors" || d.Turns {
		t.Errorf("%+v", d)
	}
	for _, s := range v.Conditions() {
		if want := s.Key != "built"; s.Disputed != want {
			t.Errorf("%s is disputed: %v", s.Text, s.Disputed)
		}
	}
}

func TestAFormMakesTheSameRuleAsTheNotation(t *testing.T) {
	for _, c := range []struct {
		key    string
		test   fit.Test
		values []string
		want   string
	}{
		{"engine_code", fit.Is, []string{"k7a", " K7B "}, "engine code is one of K7A, K7B"},
		{"built", fit.From, []string{"3/2015", ""}, "built from 2015-03"},
		{"built", fit.From, []string{"", "2019"}, "built to 2019"},
		{"power_kw", fit.From, []string{"110 PS", ""}, "power at least 110 PS"},
		{"centre_bore_mm", fit.Is, []string{"57,1"}, "centre bore is 57.1 mm"},
		{"displacement_cc", fit.Over, []string{"1,9 l"}, "displacement over 1.9 l"},
		{"pretensioners", fit.Is, []string{"front and rear"}, `belt pretensioners is "front and rear"`},
	} {
		r, err := fit.Compare(c.key, c.test, c.values...)
		if err != nil || r.String() != c.want || !parsed(t, c.want).Equal(r) {
			t.Errorf("%s %s %v is %s, %v, want %s", c.key, c.test, c.values, r, err, c.want)
		}
		if cond, ok := r.Condition(); !ok || cond.Key().Key != c.key || cond.Test() != c.test || len(cond.Values()) != len(c.values) {
			t.Errorf("%s comes apart as %+v", r, cond)
		}
	}
	for _, c := range []struct {
		key    string
		test   fit.Test
		values []string
	}{
		{"hat", fit.Is, []string{"red"}}, {"fuel", fit.Over, []string{"diesel"}}, {"fuel", fit.Is, nil}, {"fuel", fit.Is, []string{"steam"}},
		{"built", fit.From, []string{"", " "}}, {"built", fit.From, []string{"2019"}}, {"built", fit.From, []string{"2019", "2018"}}, {"doors", fit.Over, []string{"1", "2"}},
		{"power_kw", fit.Is, []string{"100", "110 hp"}}, {"power_kw", fit.Is, []string{"NaN"}}, {"power_kw", fit.Is, []string{"1e3 PS"}}, {"engine_code", fit.Is, make([]string, 500)},
	} {
		if r, err := fit.Compare(c.key, c.test, c.values...); err == nil || !r.IsZero() {
			t.Errorf("%s %s %v is taken as %s", c.key, c.test, c.values, r)
		}
	}
}
