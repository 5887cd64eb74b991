package fit_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"rampside/internal/fit"
)

// What people write, and the one way in which it is kept.
func TestARuleIsReadHoweverItIsWritten(t *testing.T) {
	for _, c := range []struct{ typed, kept string }{
		{
			"engine code is one of K7A, K7B and built from 2015-03 to 2019-08 and not gearbox is automatic",
			"engine code is one of K7A, K7B and built from 2015-03 to 2019-08 and gearbox is not automatic",
		},
		{"Engine code: k7a, K7B; Front disc: 280", "engine code is one of K7A, K7B and front disc diameter is 280 mm"},
		{"ENGINE_CODE = k7a", "engine code is K7A"},
		{"engine_code != K7A", "engine code is not K7A"},
		{"engine code is none of K7A, K7B", "engine code is not one of K7A, K7B"},
		{"engine code is not none of K7A, K7B", "engine code is one of K7A, K7B"},
		{"engine code is K7A, K7A", "engine code is K7A"},
		{"engine code starts with k7", "engine code begins with K7"},
		{"not engine code begins with K7", "not engine code begins with K7"},
		{"displacement is 2.0l", "displacement is 2.0 l"},
		{"capacity is 1995 CC", "displacement is 1995 cc"},
		{"power >= 110ps and power <= 100 kW", "power at least 110 PS and power at most 100 kW"},
		{"power is at least 110 bhp", "power at least 110 bhp"},
		{"doors more than 3", "doors over 3"},
		{"front axle load is not under 1.05 t", "not front axle load under 1.05 t"},
		{"front disc between 280 and 300.50", "front disc diameter from 280 mm to 300.5 mm"},
		{"rear drum is 9 in", "rear disc diameter is 9 in"},
		{"built from March 2015 on", "built from 2015-03"},
		{"built 14.3.2015", ""},
		{"built up to 14.3.2015", "built to 2015-03-14"},
		{"produced from 2015 until 8/2019", "built from 2015 to 2019-08"},
		{"built before 1 Jan 2016 or built after 2019", "built before 2016-01-01 or built after 2019"},
		{"built is 2015", "built is 2015"},
		{"vin from 118341", "chassis number from 118341"},
		{"chassis from 5000 to 9999", "chassis number from 005000 to 009999"},
		{"chassis is 5000", "chassis number is 5000"},
		{"pcd is 5 x 112", "stud pattern is 5x112"},
		{"tyre size is 205/55r16", "tyre size is 205/55 R16"},
		{"pretensioners is \"front and rear\"", "belt pretensioners is \"front and rear\""},
		{"engine code is \"K7 \"\"or\"\" more\"", "engine code is \"K7 \"\"OR\"\" MORE\""},
		{"with tow bar and without abs", "tow bar is not none and anti-lock brakes is no"},
		{"without tow bar and with abs", "tow bar is none and anti-lock brakes is yes"},
		{"((doors is 5))", "doors is 5"},
		{"(doors is 5 and fuel is diesel) and gears is 6", "doors is 5 and fuel is diesel and gears is 6"},
		{"doors is 5 and (fuel is diesel or gears is 6)", "doors is 5 and (fuel is diesel or gears is 6)"},
		{"not (doors is 5 or gears is 6)", "not (doors is 5 or gears is 6)"},
		{"not not doors is 5", "not doors is not 5"},
		{"any car", "any car"},
		{"fits any car", "any car"},
		{"not any car", "not any car"},
		{"no car or doors is 5", "no car or doors is 5"},
		{" doors\tis\n 5 ", "doors is 5"},
		{"refrigerant is none", "refrigerant is none"},
		{"engine code is \"K7A/K7B\"", "engine code is \"K7A/K7B\""},
		{"engine oil is 5W-30 ACEA A3/B4", "engine oil is 5W-30 ACEA A3/B4"},
		{"brake system is alpha 57", "brake system is ALPHA 57"},
		{"displacement is 0", "displacement is 0 cc"},
		{"displacement is 49 cc", "displacement is 49 cc"},
		{"type code is one of \"not a\", b", "type code is one of \"NOT A\", B"},
	} {
		r, err := fit.Parse(c.typed)
		if c.kept == "" {
			if err == nil {
				t.Errorf("%s was taken as %s", c.typed, r)
			}
			continue
		}
		if err != nil || r.String() != c.kept {
			t.Errorf("%s is kept as\n%s, %v, want\n%s", c.typed, r, err, c.kept)
			continue
		}
		if again := parsed(t, r.String()); !again.Equal(r) {
			t.Errorf("%s read again is %s", r, again)
		}
	}
}

// The place of each mistake is between the two bars.
func TestAMistakeIsShownWhereItIs(t *testing.T) {
	for _, c := range []struct{ typed, says string }{
		{"||", "please write a condition"},
		{"|engin code| is K7A", "did you mean engine code?"},
		{"|engine cod| is K7A", "did you mean engine code?"},
		{"|front disk diametre| is 280 mm", "did you mean front disc diameter?"},
		{"|flux capacitor| is 88", `"flux capacitor" is no fact in the list`},
		{"engine code is K7A or |K7B|", "for one of several values write: engine code is one of K7A, K7B"},
		{"engine code is K7A or |K7B| or K7C", "for one of several values write: engine code is one of K7A, K7B"},
		{"pretensioners is front and |rear|", `write "front and rear" in double quotes`},
		{"engine code is one of |K7A K7B|", "put commas between values, as in K7A, K7B"},
		{"engine code is none of |K7A K7B|", "put commas between values, as in K7A, K7B"},
		{"engine code: |k7a/k7b|", "put commas between values, as in K7A, K7B"},
		{"gearbox |not| automatic", `write "is not" here`},
		{"displacement |1968|", `say here what the displacement must be`},
		{"displacement is |2.0|", "write the unit, such as 2.0 l or 1968 cc"},
		{"|diesel| and doors is 5", "write what it is of: fuel is diesel"},
		{"|manual gearbox|", "write what it is of: gearbox is manual"},
		{"fuel: diesel|,| doors: 5", `join conditions by "and"`},
		{"engine code |K7A|", `say here what the engine code must be: "is", "is one of"`},
		{"engine code||", "say here what the engine code must be"},
		{"|is| K7A", "the name of a fact should come before"},
		{"engine code is||", "the value for engine code is missing"},
		{"engine code is |and| doors is 5", "the value for engine code is missing"},
		{"engine code is K7A,||", "the value for engine code is missing"},
		{"doors is 5 and||", "a condition is missing here at the end"},
		{"doors is 5 and |)|", "a condition should begin here"},
		{"|and| doors is 5", "the name of a fact should come before"},
		{"doors is 5 and doors is 3 |or| doors is 2", "put brackets round what belongs together"},
		{"doors is 5 or doors is 3 |and| doors is 2", "put brackets round what belongs together"},
		{"|(|doors is 5", "this bracket is not closed"},
		{"doors is 5|)|", "no bracket was opened"},
		{"doors is 5 |(|gears is 6)", `"and" or "or" is missing before this bracket`},
		{"(doors is 5) |gears| is 6", `"and", "or" or the end should come here`},
		{"fuel is |steam|", "fuel: one of these, please: petrol, diesel"},
		{"doors is |five|", "doors: a figure, please"},
		{"doors is |12|", "doors: between 1 and 7, please"},
		{"doors is |2.5|", "doors: a whole figure, please"},
		{"front disc is |280 kg|", "front disc diameter: a figure, please, in mm, cm or in"},
		{"displacement is 1|,|995 cc", "commas stand between values"},
		{"centre bore is 57|,|1", "commas stand between values"},
		{"power is |110 hp|", "hp may be either of two: write PS or bhp"},
		{"displacement is |20 l|", "between 0 and 12000 cc, please"},
		{"built from |soon|", "a date, please"},
		{"built |from 2019-08 to 2015-03|", "this ends at 2015-03 before it begins at 2019-08"},
		{"built between 2015 |or| 2016", `"between" goes on with "and"`},
		{"chassis |from 5G100000 to 5G000001|", "this ends at 5G000001 before it begins at 5G100000"},
		{"chassis |from 5G100000 to 100000|", "differ in length"},
		{"chassis from |5GX|", "end in figures"},
		{"fuel |begins with| d", "the fuel can only be compared so"},
		{"chassis |over| 5", "the chassis number can only be compared so"},
		{"engine code |from| K7A to K7C", "the engine code can only be compared so"},
		{"with |fuel|", "for what may be there or not"},
		{"with |fule|", "did you mean fuel?"},
		{`engine code is |"K7A|`, "these double quotes are not closed"},
		{"engine code is |K7\x07A|", "cannot be printed"},
		{"doors is 5 |\xff|", "this is not text"},
		{"doors is 5|,|gears is 6", "commas stand between values"},
		{"|=| 5", "the name of a fact should come before"},
		{"doors is 5 |=| 6", "can only follow the name of a fact"},
	} {
		before, rest, _ := strings.Cut(c.typed, "|")
		about, after, _ := strings.Cut(rest, "|")
		text := before + about + after
		_, err := fit.Parse(text)
		var bad *fit.SyntaxError
		if !errors.As(err, &bad) {
			t.Errorf("%q is taken, %v", text, err)
			continue
		}
		b, a, _ := bad.Split(text)
		if b != before || a != about || !strings.Contains(bad.Error(), c.says) {
			t.Errorf("%s\nis marked %s|%s| with %q, want %q", c.typed, b, a, bad.Message, c.says)
		}
	}
}

func TestARuleHasItsLimits(t *testing.T) {
	conditions := func(n int) string { return strings.Repeat("doors is 5 and ", n-1) + "doors is 5" }
	for _, c := range []struct {
		text string
		ok   bool
	}{
		{conditions(fit.MaxConditions), true},
		{conditions(fit.MaxConditions + 1), false},
		{strings.Repeat("(", 15) + "doors is 5" + strings.Repeat(")", 15), true},
		{strings.Repeat("(", 500) + "doors is 5" + strings.Repeat(")", 500), false},
		{strings.Repeat("not ", 500) + "doors is 5", false},
		{strings.Repeat("not ", 15) + "doors is 5", true},
		{"engine code is " + strings.Repeat("A", 81), false},
		{"doors is 5" + strings.Repeat(" ", fit.MaxText), false},
		{strings.Repeat("flux ", 1500), false},
	} {
		if _, err := fit.Parse(c.text); (err == nil) != c.ok {
			t.Errorf("%.60s… (%d bytes): %v", c.text, len(c.text), err)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"", "any car", "engine code is one of K7A, K7B and built from 2015-03 to 2019-08 and not gearbox is automatic",
		"(displacement is 2.0 l or power at least 110 PS) and without tow bar", "chassis number from 5G100000 to 6G002000",
		`engine code is "a ""b"""`, "front disc between 11 in and 300 mm", "tyre size is 205/55 R16 91V XL", "doors is 1,995", "((", "\xff", "not not no car",
		"wheel offset from -12.5 mm", "power is not one of 0.5 bhp, 3 PS; built: 2019", "is is is", "a: b", "engine code is K7A: B",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := fit.Parse(text)
		if err != nil {
			var bad *fit.SyntaxError
			if !errors.As(err, &bad) || bad.Message == "" || bad.At < 0 || bad.Len < 0 || bad.At+bad.Len > len(text) {
				t.Fatalf("%q: %#v", text, err)
			}
			if b, a, c := bad.Split(text); utf8.ValidString(text) && !(utf8.ValidString(b) && utf8.ValidString(a) && utf8.ValidString(c)) {
				t.Fatalf("%q is cut inside a character: %q %q", text, b, a)
			}
			return
		}
		kept := r.String()
		again, err := fit.Parse(kept)
		if err != nil || again.String() != kept {
			t.Fatalf("%q is kept as %q, read again %q, %v", text, kept, again, err)
		}
		v := fit.Judge(r, oracleCar)
		if v.Truth != fit.Decide(r, oracleCar) || v.Why == "" || v.Truth != fit.Unknown && v.Settle != nil {
			t.Fatalf("%q: %+v", kept, v)
		}
	})
}
