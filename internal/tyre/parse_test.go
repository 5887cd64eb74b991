package tyre

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestASideWallIsReadHoweverItIsWritten(t *testing.T) {
	for text, want := range map[string]string{
		"205/55 R16 91V":               "205/55 R16 91V",
		"205/55R1691V":                 "205/55 R16 91V",
		" 205 / 55 r 16  91 v ":        "205/55 R16 91V",
		"205/55/R16 91V":               "205/55 R16 91V",
		"205/55ZR16 91W XL":            "205/55 ZR16 91W XL",
		"245/40ZR18 (97Y) Extra Load":  "245/40 ZR18 (97Y) XL",
		"255/35 ZR19 96(Y)":            "255/35 ZR19 (96Y)",
		"225/45 R17 91W RFT M+S 3PMSF": "225/45 R17 91W RFT M+S 3PMSF",
		"225/45RF17 94Y":               "225/45 RF17 94Y",
		"HL245/40R19 101Y":             "HL245/40 R19 101Y",
		"P215/65R15 95H":               "P215/65 R15 95H",
		"T125/80D15 95M":               "T125/80-15 95M",
		"195/70R15C 104/102R":          "195/70 R15C 104/102R",
		"195/70R15C104/102R (98T)":     "195/70 R15C 104/102R (98T)",
		"215/65 R16 CP 109/107 R 8PR":  "215/65 R16CP 109/107R 8PR",
		"LT265/75R16 123/120Q":         "LT265/75 R16 123/120Q",
		"235/85R16LT 120/116S":         "235/85 R16LT 120/116S",
		"31x10.50R15LT 109S":           "31x10.50 R15LT 109S",
		"31×10,5 R15 LT":               "31x10.50 R15LT",
		"31X1050R15LT":                 "31x10.50 R15LT",
		"33X12.50-15":                  "33x12.50-15",
		"155R13":                       "155 R13",
		"155 SR13":                     "155 SR13",
		"185/70 HR14":                  "185/70 HR14",
		"195R14C 106/104Q":             "195 R14C 106/104Q",
		"165-13":                       "165-13",
		"5.60-15":                      "5.60-15",
		"6.00x16":                      "6.00-16",
		"7.50 R16C 122/120 L":          "7.50 R16C 122/120L",
		"6.5-16C":                      "6.50-16C",
		"11R22.5 148/145M":             "11 R22.5 148/145M",
		"295/80R22.5 152/148M":         "295/80 R22.5 152/148M",
		"220/55VR390":                  "220/55 VR390",
		"165/80 B 15 87H":              "165/80 B15 87H",
		"145/70R12 69S TL":             "145/70 R12 69S TL",
	} {
		s, err := Parse(text)
		if err != nil || s.String() != want {
			t.Errorf("Parse(%q) = %q, %v, want %q", text, s, err, want)
			continue
		}
		if back, err := Parse(s.String()); err != nil || back.String() != want {
			t.Errorf("%q is read back as %q, %v", want, back, err)
		}
	}
}

func TestThePartsOfASizeAreWhatTheySay(t *testing.T) {
	s, err := Parse("195/70R15C 104/102R (98T) 8PR")
	if err != nil || s.Form != Metric || s.Width.MM() != 195 || s.Aspect != 70 || !s.AspectStated || s.Structure != Radial || s.Rim.Inches() != 15 ||
		s.Service != (Service{true, 104, 102, "R", false}) || s.Second != (Service{true, 98, -1, "T", false}) || !s.Commercial() || s.Extra() ||
		!slices.Equal(s.Marks, []string{"8PR"}) {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Parse("31x10.50R15LT 109S")
	if err != nil || s.Form != Flotation || s.Overall.MM() != 787.4 || s.Width.MM() != 266.7 || s.Rim.MM() != 381 || s.Aspect != 76 || !s.Commercial() {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Parse("5.60-15")
	if err != nil || s.Form != InchForm || s.Width.MM() != 142.24 || s.AspectStated || s.Structure != Diagonal || s.Service.Given || s.Commercial() || s.Doubt() == 0 {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Parse("205/55 ZR16 (91W) XL")
	if err != nil || !s.ZR || !s.Service.Above || !s.Extra() || s.Symbol() != "W" || s.Doubt() != 0 {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err := Parse("155SR13"); err != nil || s.Symbol() != "S" || s.Service.Given {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err := Parse("220/55 R390"); err != nil || s.Rim.MM() != 390 {
		t.Errorf("%+v, %v", s, err)
	}
}

func TestWhatIsNoTyreSizeIsRefusedWithTheReason(t *testing.T) {
	for text, want := range map[string]string{
		"": ErrEmpty.Error(), "   ": ErrEmpty.Error(), "banana": ErrSize.Error(), "205": ErrSize.Error(), "205/55": ErrSize.Error(),
		"205/55 R16 91V lovely": `"LOVELY" is not part`, "205/55 R16 280V": "between 0 and 279", "195/70R15C 102/104R": "not higher than the first",
		"205/55 R45": "a rim of 8 to 30", "205/55 R5": "a rim of 8 to 30", "999/55 R16": "between 75 and 455", "205/15 R16": "between 20 and 110",
		"20x10.50R22": "larger than the rim", "205/55 R16 91I": "is not part", "205/55 R16 91V 90V 89V": "is not part",
		strings.Repeat("2", 500): ErrSize.Error(), "205/55\x00R16": ErrSize.Error(), "<b>205/55 R16</b>": ErrSize.Error(),
	} {
		s, err := Parse(text)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Parse(%.40q) = %q, %v, want %q", text, s, err, want)
		}
	}
}

func TestASizeTypedInHasteIsRead(t *testing.T) {
	for text, want := range map[string]string{
		"205 55 16": "205/55 R16", "205/55/16": "205/55 R16", "205 55 R16 91V": "205/55 R16 91V", "205-55-16": "205/55 R16", "205-55R16": "205/55 R16", "205.55.16": "205/55 R16",
		"2055516": "205/55 R16", "2055516 91v": "205/55 R16 91V", `205/55 16"`: "205/55 R16", "195/70/15c 104/102r": "195/70 R15C 104/102R", "205/55 R16.": "205/55 R16",
		// These are what they were: a diagonal tyre, and sizes without an aspect ratio.
		"205/55-16": "205/55-16", "165-13 82S": "165-13 82S", "155R13": "155 R13", "165 SR15": "165 SR15", "31*10.50 R15": "31x10.50 R15",
	} {
		if s, err := Parse(text); err != nil || s.String() != want {
			t.Errorf("%q is read as %q, %v, want %q", text, s, err, want)
		}
	}
	if _, err := Parse("205/55 R16 91V *"); err == nil || !strings.Contains(err.Error(), `"*" is not part`) {
		t.Errorf("a maker's star: %v", err)
	}
	for _, text := range []string{"205 55", "20555", "205551", "205551699", "205/5/16", "205/55/45", "205 10 16", "205/55/1"} {
		if s, err := Parse(text); err == nil {
			t.Errorf("%q is read as %q", text, s)
		}
	}
}

func TestAServiceDescriptionIsReadOnItsOwn(t *testing.T) {
	for text, want := range map[string]Service{
		"91V": {true, 91, -1, "V", false}, "104/102 R": {true, 104, 102, "R", false}, "(100Y)": {true, 100, -1, "Y", true}, "100(Y)": {true, 100, -1, "Y", true},
		"91": {true, 91, -1, "", false}, "139A8": {true, 139, -1, "A8", false}, "0A1": {true, 0, -1, "A1", false},
	} {
		if got, err := ParseService(text); err != nil || got != want {
			t.Errorf("%q is %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "V", "V91", "280V", "91I", "91VV", "102/104R", "1234", "91V 92V"} {
		if got, err := ParseService(text); err == nil || got.Given {
			t.Errorf("%q is %+v", text, got)
		}
	}
	if _, err := ParseService("x"); !errors.Is(err, ErrService) {
		t.Error(err)
	}
}

var anySize = rapid.Custom(func(t *rapid.T) string {
	symbols, _ := Symbols()
	s := rapid.SampledFrom([]string{"", "P", "LT"}).Draw(t, "prefix") +
		rapid.StringMatching(`(1[0-9]5|2[0-9]5|3[0-9]5)/(25|30|35|40|45|50|55|60|65|70|75|80)( R| ZR|-)(1[0-9]|2[0-4])`).Draw(t, "size")
	if rapid.Bool().Draw(t, "service") {
		s += " " + Service{true, rapid.IntRange(0, LoadIndexMost).Draw(t, "index"), -1, rapid.SampledFrom(symbols).Draw(t, "symbol"), false}.String()
	}
	return s
})

func TestWritingAndReadingASizeAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anySize.Draw(t, "size")
		s, err := Parse(text)
		if err != nil || s.String() != text {
			t.Fatalf("%q is read as %q, %v", text, s, err)
		}
		if close, err := Parse(strings.ToLower(strings.ReplaceAll(text, " R", "R"))); err != nil || close.String() != text {
			t.Fatalf("%q without a blank is %q, %v", text, close, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"205/55 R16 91V", "31x10.50R15LT", "5.60-15", "195/70R15C 104/102R (98T) 8PR", "11R22.5", "155SR13", "\xff", "220/55 R390 ((9", "X"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text)
		if err != nil {
			return
		}
		back, err := Parse(s.String())
		if err != nil || back.String() != s.String() || back.Diameter() != s.Diameter() {
			t.Fatalf("%q gives %q, which is read back as %q, %v", text, s, back, err)
		}
		if s.Diameter() <= s.Rim || s.CatalogueDiameter() < 200 || s.TurnsPerKM() <= 0 {
			t.Fatalf("%q is a tyre of %v on %v", text, s.Diameter(), s.Rim)
		}
	})
}
