package fact_test

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/fact"
)

// The figures are those that NIST Special Publication 811, appendix B.8 gives,
// there to seven places where a factor is not exact: horsepower (550 ft lbf/s)
// 7.456 999 E+02 W, horsepower (metric) 7.354 988 E+02 W, pound 4.535 924 E-01
// kg, inch 2.54 E-02 m, foot pound-force 1.355 818 J, ounce 2.834 952 E-02 kg,
// mile per hour 1.609 344 km/h (from memory; the definitions give them too).
func TestUnitsTurnIntoOneAnotherByThePublishedFactors(t *testing.T) {
	for _, c := range []struct{ key, unit, one string }{
		{"power_kw", "bhp", "0.7456999"},
		{"power_kw", "ps", "0.7354988"},
		{"kerb_mass_kg", "lbs", "0.4535924"},
		{"front_disc_mm", "inches", "25.4000000"},
		{"wheel_torque_nm", "lb-ft", "1.3558179"},
		{"refrigerant_g", "oz", "28.3495231"},
		{"displacement_cc", "litre", "1000.0000000"},
		{"top_speed_kmh", "mph", "1.6093440"},
		{"rim_width_in", "mm", "0.0393701"},
	} {
		u, ok := key(t, c.key).UnitOf(c.unit)
		if !ok || u.Factor == nil || u.Factor.FloatString(7) != c.one || u.Source == "" {
			t.Errorf("one %s in %s is %+v, want %s", c.unit, c.key, u, c.one)
		}
	}
	for _, c := range []struct{ key, unit string }{{"power_kw", "hp"}, {"power_kw", "kg"}, {"doors", "mm"}, {"fuel", "l"}} {
		if u, ok := key(t, c.key).UnitOf(c.unit); ok {
			t.Errorf("%s takes %s as %+v", c.key, c.unit, u)
		}
	}
	if u, ok := key(t, "power_kw").UnitOf("KW"); !ok || u.Factor != nil {
		t.Errorf("the unit of its own is %+v, %v", u, ok)
	}
}

func TestAFigureIsReadToTheLastMillionth(t *testing.T) {
	for s, want := range map[string]fact.Millionth{
		"0": 0, "1995": 1995 * fact.One, "57.1": 57_100_000, "-12.5": -12_500_000, "+4": 4_000_000, "0.000001": 1, "99999999.999999": 99_999_999_999_999,
	} {
		if got, err := fact.Millionths(s); err != nil || got != want {
			t.Errorf("%s is read as %d, %v", s, got, err)
		}
	}
	for _, s := range []string{"", "-", ".", "1.", ".5", "1e3", "1,000", "123456789", "0.1234567", "1 ", "٣", "--1", "1.2.3"} {
		if got, err := fact.Millionths(s); err == nil {
			t.Errorf("%q is read as %d", s, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		m := fact.Millionth(rapid.Int64Range(-99_999_999_999_999, 99_999_999_999_999).Draw(t, "m"))
		if got, err := fact.Millionths(m.String()); err != nil || got != m {
			t.Fatalf("%d is written %s and read as %d, %v", m, m, got, err)
		}
		r, ok := new(big.Rat).SetString(m.String())
		if !ok || r.Cmp(big.NewRat(int64(m), int64(fact.One))) != 0 {
			t.Fatalf("%d is written %s", m, m)
		}
	})
}

func TestAPartOfADateMeansAllItsDays(t *testing.T) {
	for _, c := range []struct {
		value, from, to string
	}{
		{"2019", "2019-01-01", "2019-12-31"},
		{"2020-02", "2020-02-01", "2020-02-29"},
		{"2100-02", "2100-02-01", "2100-02-28"},
		{"2019-12", "2019-12-01", "2019-12-31"},
		{"1969-12-31", "1969-12-31", "1969-12-31"},
		{"1885", "1885-01-01", "1885-12-31"},
	} {
		from, to, ok := fact.Days(c.value)
		if !ok || fact.Day(from) != c.from || fact.Day(to) != c.to {
			t.Errorf("%s runs from %s to %s, %v", c.value, fact.Day(from), fact.Day(to), ok)
		}
	}
	for _, s := range []string{"", "19", "2019-", "2019-3", "2019-13", "2019-00", "2019-02-30", "2019-02-3", "2019x02", "2019-02-030", "soon"} {
		if from, to, ok := fact.Days(s); ok {
			t.Errorf("%q runs from %d to %d", s, from, to)
		}
	}
}

func TestALessExactValueAgreesWithAMoreExactOne(t *testing.T) {
	for _, c := range []struct {
		key, a, b string
		want      bool
	}{
		{"built", "2019", "2019-03", true},
		{"built", "2019-03", "2019-03-14", true},
		{"built", "2019-03", "2019-04", false},
		{"tyre_size", "205/55 R16", "205/55 R16 91V", true},
		{"tyre_size", "205/55 R16 91V", "205/55 R16 94V", false},
		{"chassis_number", "118341", "1G4AH59H45G118341", true},
		{"chassis_number", "118342", "1G4AH59H45G118341", false},
		{"engine_code", "K7", "K7A", false},
		{"airbags", "1", "12", false},
	} {
		k := key(t, c.key)
		if k.Agree(c.a, c.b) != c.want || k.Agree(c.b, c.a) != c.want || k.Finer(c.b, c.a) != c.want || k.Finer(c.a, c.b) {
			t.Errorf("%s: %s and %s: %v", c.key, c.a, c.b, k.Agree(c.a, c.b))
		}
	}
}
