package assembly

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/fact"
	"rampside/internal/fit"
)

// The car of these tests is invented; its measurements are those of a common
// size of hatchback.
func car(over ...string) map[string]string {
	c := map[string]string{
		"stud_pattern": "5x112", "centre_bore_mm": "57.1", "rim_width_in": "7", "rim_diameter_in": "16", "wheel_offset_mm": "45", "tyre_size": "205/55 R16 91V",
		"axle_load_front_kg": "1080", "axle_load_rear_kg": "950", "load_index": "91", "speed_symbol": "H", "front_disc_mm": "312", "front_disc_kind": "vented",
		"front_caliper_radius_mm": "195", "front_caliper_reach_mm": "40", "brake_system": "Kestrel K2", "brake_fluid": "DOT 4", "refrigerant": "R134a",
		"engine_oil": "5W-30 C3", "wheel_fixing": "bolt", "wheel_thread": "M14x1.5", "wheel_seat": "ball",
	}
	for i := 0; i+1 < len(over); i += 2 {
		if over[i+1] == "" {
			delete(c, over[i])
			continue
		}
		c[over[i]] = over[i+1]
	}
	return c
}

func item(id string, kind Kind, props ...string) Item {
	it := Item{ID: id, Name: "the " + id, Kind: kind, Props: map[string]string{}}
	for i := 0; i+1 < len(props); i += 2 {
		it.Props[props[i]] = props[i+1]
	}
	return it
}

// of is the one collision on a fact that a part is in.
func of(t *testing.T, found []Collision, id, what string) Collision {
	t.Helper()
	var out []Collision
	for _, c := range found {
		if c.Between(id) && c.Fact == what {
			out = append(out, c)
		}
	}
	if len(out) != 1 {
		t.Fatalf("%d collisions of %s on %s among %d", len(out), id, what, len(found))
	}
	c := out[0]
	if c.Says == "" || c.Formula == "" && len(c.Measure) == 0 || c.Truth == fit.Unknown && len(c.Measure) == 0 {
		t.Errorf("%s on %s says %q, by %q, to be measured %v", id, what, c.Says, c.Formula, c.Measure)
	}
	return c
}

func want(t *testing.T, c Collision, truth fit.Truth, says ...string) {
	t.Helper()
	if c.Truth != truth {
		t.Errorf("%s on %s is %v: %s", c.A.Name, c.Fact, c.Truth, c.Says)
	}
	for _, s := range says {
		if !strings.Contains(c.Says, s) {
			t.Errorf("%s on %s says %q, without %q", c.A.Name, c.Fact, c.Says, s)
		}
	}
}

func wheelOf(props ...string) Item {
	return item("wheel", Wheel, append([]string{"axle", "front", "wheel_marking", "7Jx16 H2 ET45 5x112 57.1"}, props...)...)
}

func TestAWheelLikeTheCarsOwnFits(t *testing.T) {
	found := Check([]Item{wheelOf("barrel_radius_mm", "199", "spoke_mm", "45", "measured_to_mm", "0.2", "wheel_load_kg", "600")}, car())
	for _, what := range []string{"stud pattern", "centre bore", "offset and width", "wheel's load rating", "rim diameter", "tyre on rim width", "wheel over brake"} {
		want(t, of(t, found, "wheel", what), fit.True)
	}
	if Of(found, "wheel") != fit.True || len(found) != 7 {
		t.Errorf("%d collisions, %v", len(found), Of(found, "wheel"))
	}
}

func TestAWheelThatMissesTheCaliperByOneAndAHalfMillimetres(t *testing.T) {
	c := of(t, Check([]Item{wheelOf("barrel_radius_mm", "196.5", "spoke_mm", "45", "measured_to_mm", "0.1")}, car()), "wheel", "wheel over brake")
	want(t, c, fit.False, "only 1.5 mm of air at the barrel", "3 mm have to stay free", "1.5 mm short")
	if c.Margin == nil || *c.Margin != (Margin{"-1.5", "mm", "0.2", "0.141"}) || len(c.Steps) < 8 {
		t.Errorf("margin %+v, %d steps", c.Margin, len(c.Steps))
	}
	c = of(t, Check([]Item{wheelOf("barrel_radius_mm", "193.5", "spoke_mm", "45", "measured_to_mm", "0.1")}, car()), "wheel", "wheel over brake")
	want(t, c, fit.False, "1.5 mm too near", "to turn at all")
}

func TestATightWheelSaysWhatToMeasure(t *testing.T) {
	c := of(t, Check([]Item{wheelOf("barrel_radius_mm", "198.5", "spoke_mm", "50")}, car()), "wheel", "wheel over brake")
	want(t, c, fit.Unknown, "tight", "3.5 mm of air at the barrel, give or take 1 mm")
	if len(c.Measure) < 3 || !strings.Contains(c.Measure[0], "inside caliper gauge") {
		t.Errorf("%q", c.Measure)
	}
	c = of(t, Check([]Item{wheelOf()}, car()), "wheel", "wheel over brake")
	want(t, c, fit.Unknown, "only estimated")
	c = of(t, Check([]Item{wheelOf("barrel_radius_mm", "199")}, car("front_caliper_radius_mm", "")), "wheel", "wheel over brake")
	want(t, c, fit.Unknown, "not all that it takes is measured")
	if len(c.Read) != 1 || c.Read[0] != "front_caliper_radius_mm" {
		t.Errorf("%q", c.Read)
	}
	c = of(t, Check([]Item{wheelOf("barrel_radius_mm", "205")}, car()), "wheel", "wheel over brake")
	want(t, c, fit.Unknown, "clears", "at the spokes it is not measured")
}

func TestACaliperOfTheSetIsTheOneTheWheelHasToClear(t *testing.T) {
	big := item("caliper", Caliper, "axle", "front", "caliper_radius_mm", "199", "caliper_reach_mm", "40", "disc_mm", "340")
	c := of(t, Check([]Item{wheelOf("barrel_radius_mm", "199.5", "spoke_mm", "50"), big}, car()), "wheel", "wheel over brake")
	want(t, c, fit.False, "the caliper")
	if c.B.ID != "caliper" || !c.Between("caliper") {
		t.Errorf("it is with %+v", c.B)
	}
	rear := big
	rear.Props = map[string]string{"axle": "rear", "caliper_radius_mm": "250"}
	c = of(t, Check([]Item{wheelOf("barrel_radius_mm", "199.5", "spoke_mm", "50"), rear}, car()), "wheel", "wheel over brake")
	want(t, c, fit.True) // the front's own stays
}

func TestChangingOnePartChecksTheSetAnew(t *testing.T) {
	items := []Item{wheelOf("stud_pattern", "5x108"), item("tyre", Tyre, "axle", "front", "tyre_size", "205/55 R16 91V")}
	want(t, of(t, Check(items, car()), "wheel", "stud pattern"), fit.False)
	found := Recheck(items, car(), wheelOf())
	want(t, of(t, found, "wheel", "stud pattern"), fit.True)
	if items[0].Props["stud_pattern"] != "5x108" {
		t.Error("the set that was handed in is changed")
	}
	if found := Recheck(items, car(), item("new", Tyre, "axle", "rear", "tyre_size", "205/55 R16 91V")); Of(found, "new") == fit.False || len(found) <= len(Check(items, car())) {
		t.Error("a part is not added")
	}
}

func TestHubPatternBoreAndOffset(t *testing.T) {
	for _, c := range []struct {
		props []string
		fact  string
		truth fit.Truth
		says  string
	}{
		{[]string{"stud_pattern", "5x108"}, "stud pattern", fit.False, "4 mm apart"},
		{[]string{"stud_pattern", "4x112"}, "stud pattern", fit.False, "4 holes"},
		{[]string{"centre_bore_mm", "56.6"}, "centre bore", fit.False, "does not go on"},
		{[]string{"centre_bore_mm", "57.2"}, "centre bore", fit.True, "centred"},
		{[]string{"centre_bore_mm", "73.1"}, "centre bore", fit.Unknown, "spigot ring"},
		{[]string{"centre_bore_mm", "73.1", "spigot_ring_mm", "57.1"}, "centre bore", fit.True, "centred"},
		{[]string{"centre_bore_mm", "73.1", "spigot_ring_mm", "56.1"}, "centre bore", fit.False, "ring"},
		{[]string{"rim_width_in", "8"}, "offset and width", fit.Unknown, "+12.7 mm further in and +12.7 mm further out"},
		{[]string{"wheel_offset_mm", "35"}, "offset and width", fit.Unknown, "-10 mm further in and +10 mm further out"},
	} {
		want(t, of(t, Check([]Item{wheelOf(c.props...)}, car()), "wheel", c.fact), c.truth, c.says)
	}
}

// 8x17 ET45 against 9x17 ET35 is 2.7 mm further in and 22.7 further out (a
// public worked example).
func TestARoomMeasuredOnTheCarSettlesTheOffset(t *testing.T) {
	check := func(over ...string) Collision {
		own := append([]string{"rim_width_in", "8", "wheel_offset_mm", "45"}, over...)
		return of(t, Check([]Item{wheelOf("rim_width_in", "9", "wheel_offset_mm", "35")}, car(own...)), "wheel", "offset and width")
	}
	want(t, check(), fit.Unknown, "+2.7 mm further in and +22.7 mm further out")
	want(t, check("wheel_room_inner_mm", "10", "wheel_room_outer_mm", "25"), fit.True)
	want(t, check("wheel_room_inner_mm", "10", "wheel_room_outer_mm", "20"), fit.False, "2.7 mm of that is not there")
	want(t, check("wheel_room_inner_mm", "2"), fit.False, "0.7 mm")
	c := check("wheel_room_inner_mm", "10", "wheel_room_outer_mm", "25")
	if c.Margin == nil || c.Margin.Text != "2.3" {
		t.Errorf("margin %+v", c.Margin)
	}
}

func TestATyreWhoseIndexIsTooLow(t *testing.T) {
	tyreOf := func(size string) []Collision {
		return Check([]Item{item("tyre", Tyre, "axle", "front", "tyre_size", size)}, car())
	}
	want(t, of(t, tyreOf("205/55 R16 91V"), "tyre", "load index"), fit.True)
	c := of(t, tyreOf("205/55 R16 87H"), "tyre", "load index")
	want(t, c, fit.False, "load index 87, the car needs 91", "70 kg a tyre too little")
	if c.Margin.Text != "-70" { // 545 against 615
		t.Errorf("margin %+v", c.Margin)
	}
	want(t, of(t, tyreOf("205/55 R16 87H"), "tyre", "load of the axle"), fit.True, "545 kg") // half of 1080 is 540
	want(t, of(t, tyreOf("205/55 R16 86H"), "tyre", "load of the axle"), fit.False, "10 kg too little")
	want(t, of(t, tyreOf("205/55 R16 91T"), "tyre", "speed symbol"), fit.False, "T for 190 km/h")
	want(t, of(t, tyreOf("205/55 R16 91H"), "tyre", "speed symbol"), fit.True)
	want(t, of(t, tyreOf("205/55 R16 91U"), "tyre", "speed symbol"), fit.False) // U is 200, H 210
	want(t, of(t, tyreOf("205/55 R16 91T M+S"), "tyre", "speed symbol"), fit.Unknown, "snow tyre")
	want(t, of(t, tyreOf("205/55 R16"), "tyre", "load index"), fit.Unknown)
	want(t, of(t, Check([]Item{item("tyre", Tyre)}, car()), "tyre", "load index"), fit.Unknown)
	bare := of(t, Check([]Item{item("tyre", Tyre, "axle", "rear", "tyre_size", "205/55 R16 91V")}, car("load_index", "", "axle_load_rear_kg", "")), "tyre", "load index")
	want(t, bare, fit.Unknown)
	if strings.Join(bare.Read, " ") != "load_index axle_load_rear_kg" {
		t.Errorf("%q", bare.Read)
	}
}

func TestATyreOnARim(t *testing.T) {
	check := func(size, marking string, props ...string) []Collision {
		return Check([]Item{
			item("tyre", Tyre, append([]string{"axle", "front", "tyre_size", size}, props...)...),
			item("wheel", Wheel, "axle", "front", "wheel_marking", marking),
		}, car())
	}
	want(t, of(t, check("205/55 R16 91V", "7Jx16"), "tyre", "tyre on rim width"), fit.True)
	want(t, of(t, check("205/55 R16 91V", "9Jx16"), "tyre", "tyre on rim width"), fit.False, "5.5 to 7.5 in")
	want(t, of(t, check("205/55 R16 91V", "8Jx16"), "tyre", "tyre on rim width"), fit.Unknown, "half an inch beyond")
	want(t, of(t, check("205/55 R16 91V", "8Jx16", "rim_low_in", "5.5", "rim_high_in", "7.5"), "tyre", "tyre on rim width"), fit.False)
	want(t, of(t, check("205/55 R16 91V", "8Jx16", "rim_low_in", "5.5", "rim_high_in", "8"), "tyre", "tyre on rim width"), fit.True)
	c := of(t, check("225/45 R17 94W", "7Jx16"), "tyre", "rim diameter")
	want(t, c, fit.False, "for a rim of 17 and the rim is one of 16")
	if c.A.ID != "tyre" || c.B.ID != "wheel" {
		t.Errorf("it names %s and %s", c.A.Name, c.B.Name)
	}
	// A tyre alone is for the rim that stays.
	want(t, of(t, Check([]Item{item("tyre", Tyre, "tyre_size", "225/45 R17 94W")}, car()), "tyre", "rim diameter"), fit.False)
	// A wheel alone is for the tyre that stays.
	want(t, of(t, Check([]Item{wheelOf("rim_diameter_in", "17")}, car()), "wheel", "rim diameter"), fit.False)
}

func TestTheSpeedometerAfterAChangeOfSize(t *testing.T) {
	check := func(size string, over ...string) Collision {
		return of(t, Check([]Item{item("tyre", Tyre, "axle", "front", "tyre_size", size)}, car(over...)), "tyre", "rolling circumference")
	}
	want(t, check("225/45 R17 91V"), fit.True, "+0.38 %")
	want(t, check("205/60 R16 92H"), fit.Unknown, "+3.24 %", "over-reads by +3.2 to")
	want(t, check("205/60 R16 92H", "speedometer_over_percent", "4"), fit.True, "stays right")
	want(t, check("205/60 R16 92H", "speedometer_over_percent", "1"), fit.False, "would be wrong")
	want(t, check("31x10.50 R15LT 109S"), fit.False, "whatever it shows now")
	want(t, check("205/55 R16 91V", "tyre_size", ""), fit.Unknown)
}

func TestTyresAndWheelsOfOneAxleAreAlike(t *testing.T) {
	two := func(x, y, axle string) []Collision {
		return Check([]Item{item("left", Tyre, "axle", "front", "tyre_size", x), item("right", Tyre, "axle", axle, "tyre_size", y)}, car())
	}
	want(t, of(t, two("205/55 R16 91V", "205/55 R16 91V", "front"), "right", "tyres of one axle"), fit.True)
	want(t, of(t, two("205/55 R16 91V", "205/60 R16 92V", "front"), "right", "tyres of one axle"), fit.False)
	want(t, of(t, two("165 R13", "165-13", "front"), "right", "tyres of one axle"), fit.False, "diagonal")
	for _, c := range two("205/55 R16 91V", "205/60 R16 92V", "rear") {
		if c.Fact == "tyres of one axle" {
			t.Error("front and rear are one axle")
		}
	}
	found := Check([]Item{item("left", Wheel, "axle", "rear", "wheel_marking", "7Jx16 ET45"), item("right", Wheel, "axle", "rear", "wheel_marking", "7Jx16 ET35")}, car())
	want(t, of(t, found, "left", "wheels of one axle"), fit.False, "+10 mm further in")
}

func TestWhatIsOnTheCarIsNotCheckedAgainstItself(t *testing.T) {
	items := []Item{wheelOf("stud_pattern", "4x100"), item("tyre", Tyre, "axle", "front", "tyre_size", "225/45 R17 94W")}
	for i := range items {
		items[i].OnCar = true
	}
	if found := Check(items, car()); len(found) != 0 {
		t.Errorf("%+v", found)
	}
	items[1].OnCar = false
	want(t, of(t, Check(items, car()), "tyre", "rim diameter"), fit.False)
}

func TestEveryPropertyIsOneThatCanBeReadAndKept(t *testing.T) {
	for _, k := range Kinds() {
		if !k.Valid() {
			t.Errorf("%s is no kind", k)
		}
		seen := map[string]bool{}
		for _, p := range Properties(k) {
			if seen[p.Key] || p.Key == "" || p.Label == "" || p.How == "" || p.Where != OnPart || p.Kind == fact.Choice && len(p.Options) < 2 || p.Kind == fact.Number && p.High <= p.Low {
				t.Errorf("%s: %+v", k, p)
			}
			seen[p.Key] = true
			if got, ok := PropertyOf(k, p.Key); !ok || got.Label != p.Label {
				t.Errorf("%s of %s is not found", p.Key, k)
			}
		}
	}
	if Kind("spoon").Valid() || len(Properties("spoon")) != 0 {
		t.Error("a spoon is a kind")
	}
	if v, err := must(Wheel, "stud_pattern").Clean("5 X 112"); err != nil || v != "5x112" {
		t.Errorf("%q, %v", v, err)
	}
	if v, err := must(Tyre, "tyre_size").Clean("31x10.5R15lt"); err != nil || v != "31x10.50 R15LT" {
		t.Errorf("%q, %v", v, err)
	}
}

func must(k Kind, key string) fact.Key { p, _ := PropertyOf(k, key); return p }

func TestEveryFactThatIsAskedForIsInTheVocabulary(t *testing.T) {
	var items []Item
	for _, k := range Kinds() {
		for _, axle := range []string{"front", "rear"} {
			items = append(items, item(string(k)+axle, k, "axle", axle, "tyre_size", "195/65 R15", "disc_mm", "300", "brake_system", "X", "wheel_seat", "cone", "centre_bore_mm", "60"))
		}
	}
	asked := 0
	for _, c := range Check(items, nil) {
		for _, key := range c.Read {
			asked++
			if _, ok := fact.KeyOf(key); !ok {
				t.Errorf("%s asks for %q", c.Fact, key)
			}
		}
		if c.Truth == fit.Unknown && len(c.Measure) == 0 {
			t.Errorf("%s of %s cannot be told and nothing would help: %s", c.Fact, c.A.Name, c.Says)
		}
	}
	if asked < 10 {
		t.Errorf("only %d facts are asked for", asked)
	}
}

// Any words in any property give an answer and never a fault, and the order of
// the parts changes neither how many there are nor what they say.
func TestAnyWordsInAnyPropertyAreAnswered(t *testing.T) {
	value := rapid.OneOf(rapid.SampledFrom([]string{"", "front", "rear", "205/55 R16 91V", "31x10.50R15LT", "5x112", "7", "-5", "57.1", "DOT 4", "bolt", "7Jx16 ET45 5x112 57.1"}), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		var items []Item
		for i := range rapid.IntRange(1, 5).Draw(t, "items") {
			k := rapid.SampledFrom(Kinds()).Draw(t, "kind")
			it := Item{ID: string(rune('a' + i)), Name: "part " + string(rune('a'+i)), Kind: k, OnCar: rapid.Bool().Draw(t, "on car"), Props: map[string]string{}}
			for _, p := range Properties(k) {
				it.Props[p.Key] = value.Draw(t, p.Key)
			}
			items = append(items, it)
		}
		known := map[string]string{}
		for _, k := range fact.Vocabulary() {
			if k.Where == fact.WheelOff || k.Where == fact.AtWheel {
				known[k.Key] = value.Draw(t, k.Key)
			}
		}
		found := Check(items, known)
		for _, c := range found {
			if c.A.ID == "" || c.Says == "" || c.Fact == "" {
				t.Fatalf("%+v", c)
			}
		}
		back := make([]Item, len(items))
		for i, it := range items {
			back[len(items)-1-i] = it
		}
		if again := Check(back, known); len(again) != len(found) {
			t.Fatalf("%d collisions one way round, %d the other", len(found), len(again))
		}
	})
}

func BenchmarkCheck(b *testing.B) {
	var items []Item
	for i := range 60 {
		k := Kinds()[i%len(Kinds())]
		items = append(items, item(string(k)+string(rune('a'+i)), k, "axle", []string{"front", "rear"}[i%2], "tyre_size", "205/55 R16 91V", "wheel_marking", "7Jx16 ET45 5x112 57.1"))
	}
	c := car()
	for b.Loop() {
		Check(items, c)
	}
}
