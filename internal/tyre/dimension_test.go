package tyre

import (
	"math"
	"testing"

	"rampside/internal/length"
)

func size(t testing.TB, text string) Size {
	t.Helper()
	s, err := Parse(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return s
}

// 205/55 R16 631.9 and 225/45 R17 634.3 as tyre traders print them; 175/65 R14
// 583.1 in an open table of sizes for a classic car (583, 618, 578, 596, 590,
// 609 and 602 in whole millimetres for the others of it); catalogue figures as
// the rule of UN R30, paragraph 6.1.2, gives them and makers print them.
func TestPublishedDiameters(t *testing.T) {
	for _, c := range []struct {
		size      string
		exact     string
		catalogue int64
	}{
		{"205/55 R16", "631.9", 632}, {"225/45 R17", "634.3", 634}, {"195/65 R15", "634.5", 635}, {"175/65 R14", "583.1", 584},
		{"225/50 R16", "631.4", 632}, {"185/70 R14", "614.6", 616}, {"225/40 R18", "637.2", 637}, {"275/30 R19", "647.6", 649},
	} {
		s := size(t, c.size)
		if s.Diameter().Text() != c.exact || s.CatalogueDiameter() != c.catalogue {
			t.Errorf("%s is %s mm, %d in a catalogue; want %s and %d", c.size, s.Diameter().Text(), s.CatalogueDiameter(), c.exact, c.catalogue)
		}
	}
	for name, want := range map[string]int64{
		"175/65R14": 583, "175/75R14": 618, "185/60R14": 578, "185/65R14": 596, "195/60R14": 590, "195/65R14": 609, "205/60R14": 602,
	} {
		if got := size(t, name).Diameter().Whole(); got != want {
			t.Errorf("%s is %d mm, want %d", name, got, want)
		}
	}
}

// d of UN R30, paragraph 2.23, from memory.
func TestRimsInWholeMillimetres(t *testing.T) {
	for code, want := range map[string]int64{
		"10": 254, "12": 305, "13": 330, "14": 356, "15": 381, "16": 406, "17": 432, "18": 457, "19": 483, "20": 508, "21": 533, "22": 559,
		"17.5": 445, "19.5": 495, "22.5": 572,
	} {
		if got := size(t, "205/55 R"+code).CatalogueRim(); got != want {
			t.Errorf("%s in is %d mm, want %d", code, got, want)
		}
	}
}

// UN R30 and R54, annex 5, from memory: the sizes that state no aspect ratio.
func TestSizesWithoutAnAspectRatioComeCloseToTheirTable(t *testing.T) {
	for name, want := range map[string]float64{
		"155 R13": 578, "165 R13": 596, "145 R13": 566, "175 R14": 634, "165 R15": 646, "185 R14C": 650, "195 R14C": 666,
		"5.60-15": 650, "6.40-13": 642, "5.20-10": 508, "5.60-13": 600, "8 R17.5": 784, "7.50 R16C": 802, "6.50 R16C": 742,
	} {
		s := size(t, name)
		if off := math.Abs(s.Diameter().MM()/want - 1); s.AspectStated || off > s.Doubt() {
			t.Errorf("%s is taken for %s mm, %.1f %% off its table's %v", name, s.Diameter().Text(), 100*off, want)
		}
	}
}

func TestAFlotationSizeIsNamedByItsDiameter(t *testing.T) {
	s := size(t, "31x10.50R15LT")
	if s.Diameter().Text() != "787.4" || s.SectionHeight().Text() != "203.2" || s.CatalogueDiameter() != 787 {
		t.Errorf("%v, %v, %d", s.Diameter(), s.SectionHeight(), s.CatalogueDiameter())
	}
}

func TestATurnOfATyreComesToItsCircumference(t *testing.T) {
	s := size(t, "205/55 R16")
	if got := s.Circumference(); math.Abs(got-1985.1724) > 0.001 { // pi times 631.9
		t.Errorf("%v", got)
	}
	if got := s.TurnsPerKM(); math.Abs(got-503.7346) > 0.001 {
		t.Errorf("%v", got)
	}
}

// +0.38 % computed from the exact diameters 631.9 and 634.3.
func TestAChangeOfSizeInPerCent(t *testing.T) {
	c := Change{size(t, "205/55 R16"), size(t, "225/45 R17")}
	if got := c.Percent(); math.Abs(got-0.3798) > 0.0001 {
		t.Errorf("%v", got)
	}
	if got := c.TrueSpeed(100); math.Abs(got-100.3798) > 0.0001 {
		t.Errorf("%v", got)
	}
	back := Change{c.To, c.From}
	if math.Abs(c.Ratio()*back.Ratio()-1) > 1e-12 {
		t.Error("there and back is not where it began")
	}
}

func TestTwoMakesOfASizeMayDiffer(t *testing.T) {
	least, most := size(t, "205/55 R16").MakeRange()
	if least.Text() != "625.135" || most.Text() != "640.92" {
		t.Errorf("%v to %v", least, most)
	}
	if _, most := size(t, "5.60-15").MakeRange(); most.MM() <= size(t, "5.60-15").Diameter().MM()*1.02 {
		t.Errorf("a diagonal tyre may grow to %v only", most)
	}
}

// Measuring rims as a tyre trader publishes them.
func TestPublishedMeasuringRims(t *testing.T) {
	for name, want := range map[string]float64{
		"P175/75R14": 5, "P195/75R15": 5.5, "P215/75R15": 6, "P235/75R15": 6.5, "P225/75R15": 6, "P225/70R15": 6.5, "P225/65R16": 6.5,
		"P225/60R15": 6.5, "P225/55R15": 7, "P225/50R15": 7, "P225/45R17": 7.5, "P225/40R18": 8,
	} {
		if got := size(t, name).Rims().Measuring.Inches(); got != want {
			t.Errorf("%s is measured on %v in, want %v", name, got, want)
		}
	}
}

// The narrowest approved rims of ETRTO's table of the 80 series; the range of
// 195/65 R15 as a public table has it (5.5 to 7); the others from memory.
func TestPublishedRangesOfRims(t *testing.T) {
	for name, want := range map[string]float64{
		"115/80R15": 3, "125/80R13": 3, "135/80R13": 3.5, "145/80R13": 3.5, "155/80R13": 4, "165/80R13": 4, "175/80R13": 4.5, "185/80R14": 4.5,
		"195/80R15": 5, "205/80R16": 5, "215/80R15": 5.5, "235/80R16": 6,
	} {
		if got := size(t, name).Rims().Narrowest.Inches(); got != want {
			t.Errorf("%s takes rims from %v in, want %v", name, got, want)
		}
	}
	for name, want := range map[string][2]float64{
		"195/65R15": {5.5, 7}, "205/55R16": {5.5, 7.5}, "225/45R17": {7, 8.5}, "225/40R18": {7.5, 9}, "255/35R19": {8.5, 10}, "175/65R14": {5, 6}, "185/60R14": {5, 6.5},
	} {
		if got := size(t, name).Rims(); got.Narrowest.Inches() != want[0] || got.Widest.Inches() != want[1] {
			t.Errorf("%s takes rims from %v to %v in, want %v", name, got.Narrowest.Inches(), got.Widest.Inches(), want)
		}
	}
}

func TestARimIsWithinTheRangeAtItsEdgeOrOutside(t *testing.T) {
	r := size(t, "205/55R16").Rims()
	for inches, want := range map[float64]RimAnswer{4.5: RimOutside, 5: RimAtEdge, 5.5: RimWithin, 6.5: RimWithin, 7.5: RimWithin, 8: RimAtEdge, 8.5: RimOutside} {
		if got := r.Take(length.Float(inches * 25.4)); got != want {
			t.Errorf("%v in: %v, want %v", inches, got, want)
		}
	}
}

// 195/65 R15 is 201 mm wide and 225/50 R17 233 mm on their measuring rims of 6
// and 7 in (makers' tables, from memory); 0.2 in wider for half an inch more
// of rim, as a tyre maker's page has it.
func TestATyreGrowsWiderWithItsRim(t *testing.T) {
	for _, c := range []struct {
		size string
		rim  float64
		want float64
	}{{"195/65R15", 6, 201}, {"225/50R17", 7, 233}, {"225/45R17", 7.5, 225}, {"205/55R16", 6.5, 214}} {
		if got := size(t, c.size).WidthOn(length.Float(c.rim * 25.4)).MM(); got != c.want {
			t.Errorf("%s is %v mm wide on %v in, want %v", c.size, got, c.rim, c.want)
		}
	}
	s := size(t, "255/50R16")
	wide, narrow := s.WidthOn(length.Float(9.5*25.4)), s.WidthOn(7*length.Inch)
	if got := (wide - narrow).Inches(); math.Abs(got-1) > 0.03 {
		t.Errorf("2.5 in more of rim make it %.3f in wider", got)
	}
}
