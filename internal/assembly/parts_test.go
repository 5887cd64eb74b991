package assembly

import (
	"testing"

	"rampside/internal/fit"
)

func TestDiscCaliperAndPads(t *testing.T) {
	disc := func(mm string) Item {
		return item("disc", Disc, "axle", "front", "disc_mm", mm, "disc_kind", "vented", "disc_thickness_mm", "25", "disc_least_mm", "22", "stud_pattern", "5x112", "centre_bore_mm", "65", "ring_mm", "52")
	}
	found := Check([]Item{disc("312")}, car())
	for _, what := range []string{"disc diameter", "disc kind", "stud pattern", "centre bore", "disc thickness"} {
		want(t, of(t, found, "disc", what), fit.True)
	}
	want(t, of(t, Check([]Item{disc("288")}, car()), "disc", "disc diameter"), fit.False, "288 mm across, the car has 312 mm")
	want(t, of(t, Check([]Item{item("disc", Disc, "disc_mm", "312")}, car()), "disc", "disc diameter"), fit.Unknown)
	caliper := item("caliper", Caliper, "axle", "front", "disc_mm", "288", "disc_thickness_most_mm", "24", "brake_system", "Kestrel K1")
	pads := item("pads", Pads, "axle", "front", "brake_system", "kestrel-k2", "pad_height_mm", "54")
	found = Check([]Item{disc("312"), caliper, pads}, car())
	want(t, of(t, Check([]Item{pads}, car()), "pads", "brake system"), fit.True)
	want(t, of(t, found, "pads", "brake system"), fit.False, "Kestrel K1")
	want(t, of(t, found, "pads", "lining on the disc"), fit.False, "54 mm high")
	n := 0
	for _, c := range found {
		if c.Between("disc") && c.Between("caliper") {
			n++
			want(t, c, fit.False)
		}
		if c.Fact == "disc diameter" && c.B.ID == "" {
			t.Error("a disc with its own caliper is held to the car's old disc")
		}
	}
	if n != 2 {
		t.Errorf("%d collisions of disc and caliper, want diameter and thickness", n)
	}
	worn := disc("312")
	worn.Props["disc_thickness_mm"] = "21.9"
	want(t, of(t, Check([]Item{worn}, car()), "disc", "disc thickness"), fit.False, "below its least")
}

func TestFluidsAreOfTheRightKind(t *testing.T) {
	for _, c := range []struct {
		kind       Kind
		key, value string
		over       []string
		truth      fit.Truth
	}{
		{BrakeFluid, "brake_fluid", "DOT 4", nil, fit.True}, {BrakeFluid, "brake_fluid", "DOT 5.1", nil, fit.True}, {BrakeFluid, "brake_fluid", "DOT 3", nil, fit.False},
		{BrakeFluid, "brake_fluid", "DOT 5", nil, fit.False}, {BrakeFluid, "brake_fluid", "mineral", nil, fit.False}, {BrakeFluid, "brake_fluid", "", nil, fit.Unknown},
		{BrakeFluid, "brake_fluid", "DOT 4", []string{"brake_fluid", ""}, fit.Unknown},
		{Refrigerant, "refrigerant", "R134a", nil, fit.True}, {Refrigerant, "refrigerant", "R1234yf", nil, fit.False}, {Refrigerant, "refrigerant", "R134a", []string{"refrigerant", ""}, fit.Unknown},
		{EngineOil, "engine_oil", "5W-30 ACEA C3", nil, fit.True}, {EngineOil, "engine_oil", "5w30 C3", nil, fit.True}, {EngineOil, "engine_oil", "10W-40 C3", nil, fit.False},
		{EngineOil, "engine_oil", "5W-30 A3/B4", nil, fit.Unknown}, {Coolant, "coolant", "OAT", []string{"coolant", "OAT"}, fit.True}, {Coolant, "coolant", "OAT", nil, fit.Unknown},
	} {
		found := Check([]Item{item("bottle", c.kind, c.key, c.value)}, car(c.over...))
		if len(found) != 1 || found[0].Truth != c.truth {
			t.Errorf("%s %q: %+v, want %v", c.kind, c.value, found, c.truth)
		}
	}
	found := Check([]Item{item("one", BrakeFluid, "brake_fluid", "DOT 4"), item("two", BrakeFluid, "brake_fluid", "DOT 5")}, car())
	n := 0
	for _, c := range found {
		if c.Between("one") && c.Between("two") {
			n++
			want(t, c, fit.False, "must not mix")
		}
	}
	if n != 1 {
		t.Errorf("%d collisions of two fluids", n)
	}
}

func TestFixingsOfTheWrongThreadOrSeat(t *testing.T) {
	bolts := item("bolts", Fixing, "wheel_fixing", "bolt", "wheel_thread", "M12x1.5", "wheel_seat", "cone")
	found := Check([]Item{bolts, wheelOf("wheel_seat", "cone")}, car())
	want(t, of(t, found, "bolts", "thread"), fit.False, "M14x1.5")
	want(t, of(t, found, "bolts", "bolt or nut"), fit.True)
	want(t, of(t, found, "bolts", "seat of the fixings"), fit.True)
	found = Check([]Item{bolts}, car())
	want(t, of(t, found, "bolts", "seat of the fixings"), fit.False, "ball")
	if found := Check([]Item{item("bolts", Fixing)}, car("wheel_fixing", "", "wheel_thread", "", "wheel_seat", "")); len(found) != 0 {
		t.Errorf("of nothing known much is said: %+v", found)
	}
}
