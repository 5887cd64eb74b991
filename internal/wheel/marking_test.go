package wheel

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/length"
)

// The first is published with its meaning in a list of wheels; the second is
// the usual form; the others are common practice, no published source.
func TestAWheelsMarkingIsReadInAnyOrder(t *testing.T) {
	for text, want := range map[string]string{
		"17 4H PCD 114.3 7J ET34 C/B:73":        "7Jx17 ET34 4x114.3 CB 73",
		"17x7.5 +45 5x114.3":                    "7.5x17 ET45 5x114.3",
		"8Jx18 IS 43 LK 112/5":                  "8Jx18 ET43 5x112",
		"6Jx15 4H 100 ET38 54.1":                "6Jx15 ET38 4x100 CB 54.1",
		"6Jx16 6H 139.7 108":                    "6Jx16 6x139.7 CB 108",
		"7Jx17 H2 ET45 5x112 57.1":              "7Jx17 H2 ET45 5x112 CB 57.1",
		"7JX17H2 ET 45 5X112 CB 57.1":           "7Jx17 H2 ET45 5x112 CB 57.1",
		"17x7.5J ET+35 5/114.3 CB67.1":          "7.5Jx17 ET35 5x114.3 CB 67.1",
		"7½Jx16":                                "7.5Jx16",
		"4½J x 15":                              "4.5Jx15",
		"8.5J x 19 EH2+ ET 35 5/112 NB 66.6":    "8.5Jx19 EH2+ ET35 5x112 CB 66.6",
		"7Jx16x50":                              "7Jx16 ET50",
		"15 ⨯ 6 J":                              "6Jx15",
		"13 x 5.50 B":                           "5.5Bx13",
		"6Jx15 ET-12 6x139.7 CB 110":            "6Jx15 ET-12 6x139.7 CB 110",
		"8x17 ET45 5x112 57.1":                  "8x17 ET45 5x112 CB 57.1",
		"8x17 ET45":                             "8x17 ET45",
		"5x4.5\"":                               "5x114.3",
		"LK 5/120 ML 72,6":                      "5x120 CB 72.6",
		"ET 38":                                 "ET38",
		"6J ET45":                               "6J ET45",
		"7JJx15 H2 IS38 PCD 5x100 C/BORE: 54.1": "7JJx15 H2 ET38 5x100 CB 54.1",
		"5x112":                                 "5x112",
		"7Jx17 offset 0":                        "7Jx17 ET0",
	} {
		m, err := Parse(text)
		if err != nil || m.String() != want || len(m.Left) != 0 {
			t.Errorf("Parse(%q) = %q, left %q, %v; want %q", text, m, m.Left, err, want)
			continue
		}
		if back, err := Parse(m.String()); err != nil || back.String() != want {
			t.Errorf("%q is read back as %q, %v", want, back, err)
		}
	}
}

func TestThePartsOfAMarkingAreWhatTheySay(t *testing.T) {
	m, err := Parse("17 4H PCD 114.3 7J ET34 C/B:73")
	if err != nil || m.Diameter != 17*length.Inch || m.Width != 7*length.Inch || m.Flange != "J" || m.Pattern != (Pattern{4, 114_300}) ||
		!m.HasOffset || m.Offset.MM() != 34 || m.Bore.MM() != 73 || len(m.Missing()) != 0 {
		t.Errorf("%+v, %v", m, err)
	}
	m, err = Parse("7Jx17 made in an invented place")
	if err != nil || m.Width != 7*length.Inch || len(m.Left) == 0 || strings.Join(m.Missing(), ", ") != "offset, stud pattern, centre bore" {
		t.Errorf("%+v, missing %q, %v", m, m.Missing(), err)
	}
}

func TestWhatIsNoMarkingIsRefusedWithTheReason(t *testing.T) {
	for text, want := range map[string]string{
		"": ErrEmpty.Error(), "  ": ErrEmpty.Error(), "banana": ErrMarking.Error(), strings.Repeat("7Jx17 ", 50): ErrMarking.Error(),
		"7Jx17 ET400": "an offset between", "17Jx18": "16 inches wide", "7Jx45": "10 to 30", "CB 5": "a centre bore between", "14H": "3 to 12 fixings",
		"<script>": ErrMarking.Error(), "\x00\xff": ErrMarking.Error(),
	} {
		if m, err := Parse(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Parse(%.30q) = %+v, %v, want %q", text, m, err, want)
		}
	}
}

func TestAStudPatternIsReadOnItsOwn(t *testing.T) {
	for text, want := range map[string]string{
		"5x112": "5x112", "5X112 mm": "5x112", "4/100": "4x100", "5-114,3": "5x114.3", `5x4.5"`: "5x114.3", "5x4.5": "5x114.3", " 6×139.7 ": "6x139.7", "5 x 120.65": "5x120.65",
	} {
		if p, err := ParsePattern(text); err != nil || p.String() != want {
			t.Errorf("%q is %q, %v, want %q", text, p, err, want)
		}
	}
	for _, text := range []string{"", "112", "5x", "x112", "2x112", "13x112", "5x1120", "5x50", "5x112x3", "five"} {
		if p, err := ParsePattern(text); !errors.Is(err, ErrPattern) || p.Given() {
			t.Errorf("%q is %q, %v", text, p, err)
		}
	}
}

func TestWritingAndReadingAMarkingAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Marking{
			Width: length.Micron(rapid.IntRange(8, 23).Draw(t, "width")) * length.Inch / 2, Diameter: length.Micron(rapid.IntRange(12, 24).Draw(t, "diameter")) * length.Inch,
			Flange: "J", Humps: rapid.SampledFrom([]string{"", "H2", "EH2"}).Draw(t, "humps"),
			Offset: length.Micron(rapid.IntRange(-300, 600).Draw(t, "offset")) * 100, HasOffset: true,
			Pattern: Pattern{rapid.IntRange(3, 10).Draw(t, "holes"), length.Micron(rapid.IntRange(950, 2100).Draw(t, "circle")) * 100},
			Bore:    length.Micron(rapid.IntRange(4000, 16000).Draw(t, "bore")) * 10,
		}
		got, err := Parse(m.String())
		if err != nil || got.String() != m.String() || len(got.Left) != 0 {
			t.Fatalf("%q is read back as %q, left %q, %v", m, got, got.Left, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"17 4H PCD 114.3 7J ET34 C/B:73", "7Jx17 H2 ET45 5x112 57.1", "5x4.5\"", "7½J", "\xff", "ET--5", "PCD", "17 17 17 17 17"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := Parse(text)
		if err != nil {
			return
		}
		if back, err := Parse(m.String()); m.String() != "" && (err != nil || back.String() != m.String()) {
			t.Fatalf("%q gives %q, which is read back as %q, %v", text, m, back, err)
		}
	})
}
