package tyre

import (
	"math"
	"testing"

	"rampside/internal/length"
)

// Rows of the series as printed in annex II of the French arrêté of 24 October
// 1994 and on traders' pages; 59 is 243 in all but that copy.
func TestPublishedLoadIndices(t *testing.T) {
	for index, want := range map[int]float64{
		0: 45, 1: 46.2, 2: 47.5, 3: 48.7, 4: 50, 5: 51.5, 7: 54.5, 11: 61.5, 19: 77.5, 20: 80, 25: 92.5, 27: 97.5, 28: 100, 30: 106, 35: 121, 39: 136,
		40: 140, 50: 190, 53: 206, 54: 212, 58: 236, 59: 243, 60: 250, 61: 257, 63: 272, 65: 290, 67: 307, 70: 335, 75: 387, 77: 412, 79: 437,
		80: 450, 82: 475, 84: 500, 86: 530, 88: 560, 89: 580, 90: 600, 91: 615, 92: 630, 93: 650, 94: 670, 95: 690, 96: 710, 97: 730, 98: 750, 99: 775,
		100: 800, 101: 825, 102: 850, 104: 900, 108: 1000, 109: 1030, 112: 1120, 115: 1215, 117: 1285, 119: 1360, 120: 1400, 121: 1450, 125: 1650,
		130: 1900, 132: 2000, 133: 2060, 139: 2430, 140: 2500, 141: 2575, 143: 2725, 147: 3075, 150: 3350, 159: 4375, 165: 5150, 168: 5600, 200: 14000, 279: 136000,
	} {
		if got, ok := LoadOf(index); !ok || got.KG() != want {
			t.Errorf("index %d carries %v, want %v kg", index, got, want)
		}
	}
	for _, index := range []int{-1, 280, 1 << 40} {
		if _, ok := LoadOf(index); ok {
			t.Errorf("there is a load index %d", index)
		}
	}
}

// Eighty indices are ten times the load, and each step is the same part more,
// but for what rounding does to the figures.
func TestTheSeriesOfLoadIndicesIsOne(t *testing.T) {
	for i := range LoadIndexMost {
		step := float64(loads[i+1]) / float64(loads[i])
		if step < 1.018 || step > 1.041 {
			t.Errorf("from index %d to the next is %.4f", i, step)
		}
	}
	for i := 80; i <= LoadIndexMost; i++ {
		if off := math.Abs(float64(loads[i]) - 10*float64(loads[i-80])); off > 0.0045*float64(loads[i]) {
			t.Errorf("index %d carries %d, ten times the one eighty before is %d", i, loads[i], 10*loads[i-80])
		}
	}
}

func TestTheLowestIndexForALoad(t *testing.T) {
	for kg, want := range map[float64]int{0: 0, 45: 0, 45.1: 1, 615: 91, 615.5: 92, 600: 90, 601: 91, 136000: 279} {
		if got, ok := IndexFor(kg); !ok || got != want {
			t.Errorf("%v kg want index %d, not %d", kg, want, got)
		}
	}
	if _, ok := IndexFor(136001); ok {
		t.Error("there is an index for any load")
	}
}

// Annex I of the French arrêté of 24 October 1994: Q 160 to V 240 with H 210.
func TestPublishedSpeedSymbols(t *testing.T) {
	for symbol, want := range map[string]int{
		"Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300, "L": 120, "N": 140, "A8": 40, "B": 50, "h": 210,
	} {
		if got, ok := SpeedOf(symbol); !ok || got != want {
			t.Errorf("%s is %d, want %d km/h", symbol, got, want)
		}
	}
	for _, symbol := range []string{"", "I", "O", "X", "Z", "ZR", "A9"} {
		if _, ok := SpeedOf(symbol); ok {
			t.Errorf("there is a symbol %q", symbol)
		}
	}
	for kmh, want := range map[float64]string{190: "T", 191: "U", 205: "H", 211: "V", 300: "Y", 4: "A1"} {
		if got, ok := SymbolFor(kmh); !ok || got != want {
			t.Errorf("%v km/h want %s, not %s", kmh, want, got)
		}
	}
	if _, ok := SymbolFor(301); ok {
		t.Error("there is a symbol for any speed")
	}
	symbols, kmh := Symbols()
	for i := 1; i < len(kmh); i++ {
		if kmh[i] <= kmh[i-1] {
			t.Errorf("%s is no faster than %s", symbols[i], symbols[i-1])
		}
	}
}

// UN R30, paragraph 2.30, from memory: V carries 91 % at 240, W and Y 85 % at
// their speed.
// ZR is for more than 240 km/h, and so is a symbol in brackets for more than
// its speed (UN R30, paragraph 2.29, and makers' words on (Y)).
func TestASymbolForMoreThanItsSpeed(t *testing.T) {
	for text, want := range map[string]int{"ZR": 240, "zr ": 240, "(Y)": 300, "(w)": 270} {
		if _, kmh, above, err := ParseSymbol(text); err != nil || kmh != want || !above {
			t.Errorf("%q: %d, %v, %v", text, kmh, above, err)
		}
	}
	if s, kmh, above, err := ParseSymbol(" h"); err != nil || s != "H" || kmh != 210 || above {
		t.Errorf("H: %q, %d, %v, %v", s, kmh, above, err)
	}
	for _, text := range []string{"", "I", "Z", "(V)", "(Y", "Y)", "VR", "()"} {
		if s, _, _, err := ParseSymbol(text); err == nil {
			t.Errorf("%q is read as %q", text, s)
		}
	}
}

func TestLessIsCarriedNearTheSpeedOfTheSymbol(t *testing.T) {
	for _, c := range []struct {
		symbol string
		kmh    float64
		part   float64
		ok     bool
	}{
		{"V", 210, 1, true}, {"V", 220, 0.97, true}, {"V", 240, 0.91, true}, {"V", 241, 0, false}, {"W", 240, 1, true}, {"W", 270, 0.85, true},
		{"Y", 270, 1, true}, {"Y", 300, 0.85, true}, {"H", 210, 1, true}, {"T", 200, 0, false}, {"?", 10, 0, false},
	} {
		if part, ok := HighSpeedLoad(c.symbol, c.kmh); ok != c.ok || math.Abs(part-c.part) > 1e-9 {
			t.Errorf("%s at %v: %v, %v", c.symbol, c.kmh, part, ok)
		}
	}
}

func TestAnAxleCarriesWhatItsTyresDo(t *testing.T) {
	s, err := ParseService("104/102R")
	if err != nil {
		t.Fatal(err)
	}
	if l, ok := s.AxleLoad(false); !ok || l.KG() != 1800 {
		t.Errorf("two wheels carry %v", l)
	}
	if l, ok := s.AxleLoad(true); !ok || l.KG() != 3400 {
		t.Errorf("four carry %v", l)
	}
	if s.Words() != "900 kg a tyre, 850 kg each as twin wheels, up to 170 km/h" {
		t.Error(s.Words())
	}
	if s, _ := ParseService("91V"); s.Words() != "615 kg a tyre, up to 240 km/h" {
		t.Error(s.Words())
	}
	if l, ok := (Service{true, 91, -1, "V", false}).AxleLoad(true); ok {
		t.Errorf("a tyre without an index for twin wheels carries %v as one", l)
	}
}

// UN R39, paragraph 5.3, with the ranges that the press prints for it.
func TestPublishedSpeedometerRanges(t *testing.T) {
	for v2, most := range map[float64]float64{50: 59, 70: 81, 90: 103, 100: 114, 110: 125, 130: 147} {
		low, high := SpeedometerRange(v2)
		if low != v2 || math.Abs(high-most) > 1e-9 {
			t.Errorf("at %v it may show %v to %v, want to %v", v2, low, high, most)
		}
		if !SpeedometerRight(v2, v2) || !SpeedometerRight(most, v2) || SpeedometerRight(v2-0.1, v2) || SpeedometerRight(most+0.1, v2) {
			t.Errorf("the ends at %v", v2)
		}
	}
}

func TestASpeedometerAfterAChangeOfTyres(t *testing.T) {
	change := func(from, to string) Change { return Change{size(t, from), size(t, to)} }
	for _, c := range []struct {
		from, to string
		want     SpeedometerAnswer
	}{
		{"205/55 R16", "205/55 R16", SpeedometerSame}, {"205/55 R16", "225/45 R17", SpeedometerSame}, {"205/55 R16", "205/60 R16", SpeedometerAsk},
		{"205/55 R16", "205/50 R16", SpeedometerAsk}, {"175/65 R14", "31x10.50R15LT", SpeedometerWrong}, {"31x10.50R15LT", "175/65 R14", SpeedometerWrong},
	} {
		if got := change(c.from, c.to).Speedometer(); got != c.want {
			t.Errorf("%s to %s: %v, want %v", c.from, c.to, got, c.want)
		}
	}
	// 3.24 % larger: one that reads true would read too little, one that
	// over-reads by 4 % is right.
	c := change("205/55 R16", "205/60 R16")
	if c.SpeedometerWith(0) || !c.SpeedometerWith(4) || c.SpeedometerWith(25) {
		t.Errorf("%.2f %%: with 0 %v, with 4 %v", c.Percent(), c.SpeedometerWith(0), c.SpeedometerWith(4))
	}
	low, high := c.OverReading(80)
	if math.Abs(low-c.Percent()) > 1e-9 || !SpeedometerRight(c.Reads(80, low), 80) || !SpeedometerRight(c.Reads(80, high), 80) ||
		SpeedometerRight(c.Reads(80, low-0.1), 80) || SpeedometerRight(c.Reads(80, high+0.1), 80) {
		t.Errorf("between %v and %v", low, high)
	}
}

// Regulation 27: 1.6 passes and 1.5 fails; cuts up to 25 mm or a tenth.
func TestTreadAndCutsByLaw(t *testing.T) {
	for um, want := range map[int64]bool{1600: true, 1599: false, 1500: false, 8000: true} {
		if got := TreadLegal(length.Micron(um), false); got != want {
			t.Errorf("%d: %v", um, got)
		}
	}
	if !TreadLegal(1000, true) || TreadLegal(999, true) {
		t.Error("heavy vehicles and motor cycles have 1 mm")
	}
	if CutLimit(length.Micron(205_000)).MM() != 25 || CutLimit(length.Micron(295_000)).MM() != 29.5 {
		t.Error("cuts")
	}
}
