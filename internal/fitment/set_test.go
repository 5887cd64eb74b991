package fitment_test

import (
	"errors"
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func (b *bench) props(id jobcard.PartID, kind string, pairs ...string) {
	b.t.Helper()
	props := map[string]string{}
	for i := 0; i < len(pairs); i += 2 {
		props[pairs[i]] = pairs[i+1]
	}
	p := b.look(id)
	rule := ""
	if p.Put != nil {
		rule = p.Put.Rule
	}
	_, err := b.fit.Put(b.t.Context(), b.Posy, fitment.PutInput{PartID: id, Version: p.PutVersion(), Rule: rule, Kind: kind, Props: props})
	b.OK(err)
}

// clash finds what a part has to agree on with something.
func clash(t *testing.T, p fitment.PartFit, label string) fitment.Clash {
	t.Helper()
	var all []string
	for _, c := range p.Last.Clashes {
		all = append(all, c.Label)
		if c.Label == label {
			return c
		}
	}
	t.Fatalf("%s is not checked for %s, but for %v", p.Name, label, all)
	return fitment.Clash{}
}

// A barrel of 160.5 mm over a caliper of 159.0 mm leaves 1.5 mm where 3 mm are
// to stay free: it misses by 1.5 mm (worked by hand), measured to nothing.
func TestAWheelThatMissesTheCaliperNamesBothAndTheMillimetres(t *testing.T) {
	b := newBench(t)
	b.know("front_caliper_radius_mm", "159", vehicle.FromCar)
	id := b.part("Alloy wheel, 15 in", "AW-15")
	b.props(id, "wheel", "axle", "front", "barrel_radius_mm", "160.5", "measured_to_mm", "0")
	p := b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
	c := clash(t, p, "wheel over brake")
	if c.Truth != fit.False || c.Margin == "" || !strings.Contains(c.Says, "Alloy wheel, 15 in") || !strings.Contains(c.Says+c.Names[1], "front brake") {
		t.Errorf("%+v", c)
	}
	if !strings.Contains(c.Margin, "-1.5 mm") {
		t.Errorf("the margin is %s", c.Margin)
	}
}

func TestChangingOnePartChecksTheSetAgain(t *testing.T) {
	b := newBench(t)
	wheel, tyre := b.part("Alloy wheel", "AW-7"), b.part("Tyre", "TY-1")
	b.props(wheel, "wheel", "axle", "front", "rim_width_in", "7", "rim_diameter_in", "16")
	b.props(tyre, "tyre", "axle", "front", "tyre_size", "205/55 R17 91V")
	w, p := b.look(wheel), b.look(tyre)
	if w.Verdict != jobcard.DoesNotFit || p.Verdict != jobcard.DoesNotFit {
		t.Fatalf("a 17 inch tyre on a 16 inch rim: the wheel %s, the tyre %s", w.Verdict, p.Verdict)
	}
	named := false
	for _, c := range p.Last.Clashes {
		named = named || c.Truth == fit.False && len(c.Parts) == 2 && strings.Contains(c.Says, "Alloy wheel") && strings.Contains(c.Says, "Tyre")
	}
	if !named {
		t.Errorf("no conflict names both: %+v", p.Last.Clashes)
	}
	b.props(tyre, "tyre", "axle", "front", "tyre_size", "205/55 R16 91V")
	if w, p = b.look(wheel), b.look(tyre); w.Verdict == jobcard.DoesNotFit || p.Verdict == jobcard.DoesNotFit {
		t.Errorf("with the right tyre: the wheel %s, %s; the tyre %s, %s", w.Verdict, w.Last.Why, p.Verdict, p.Last.Why)
	}
	// Gone from the set, the wheel is judged without it.
	b.props(tyre, "tyre", "axle", "front", "tyre_size", "205/55 R17 91V")
	_, err := b.Cards.StrikePart(t.Context(), b.Desk, jobcard.StrikeInput{PartID: tyre, Version: b.look(tyre).Version, Reason: "wrong size"})
	b.OK(err)
	if w = b.look(wheel); w.Verdict == jobcard.DoesNotFit {
		t.Errorf("struck out, the tyre still counts: %s", w.Last.Why)
	}
}

func TestATyreIndexTooLowForTheAxleDoesNotFit(t *testing.T) {
	b := newBench(t)
	b.know("axle_load_rear_kg", "1900", vehicle.FromPlate)
	id := b.part("Tyre 215/65 R16 98H", "TY-2156516")
	b.props(id, "tyre", "axle", "rear", "tyre_size", "215/65 R16 98H") // 98 carries 750 kg, two of them 1500 (UN R30, annex 4)
	p := b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
	if !strings.Contains(p.Last.Why, "750 kg") || !strings.Contains(p.Last.Why, "950 kg") {
		t.Errorf("%s", p.Last.Why)
	}
}

func TestPropertiesThatAreNoneOfTheKindAreRefusedAtTheirField(t *testing.T) {
	b := newBench(t)
	id := b.part("Wheel", "W-1")
	for name, in := range map[string]fitment.PutInput{
		"kind":                {Kind: "flux capacitor"},
		"props.tyre_size":     {Kind: "wheel", Props: map[string]string{"tyre_size": "205/55 R16"}},
		"props.rim_width_in":  {Kind: "wheel", Props: map[string]string{"rim_width_in": "wide"}},
		"props.wheel_marking": {Kind: "wheel", Props: map[string]string{"wheel_marking": "round"}},
		"props.disc_mm":       {Kind: "brake disc", Props: map[string]string{"disc_mm": "9000"}},
		"props.brake_fluid":   {Kind: "brake fluid", Props: map[string]string{"brake_fluid": "DOT 9"}},
		"rule":                {Rule: "engine layout is"},
		"box_words":           {BoxWords: "a\x00b"},
	} {
		in.PartID = id
		_, err := b.fit.Put(t.Context(), b.Posy, in)
		var e *apperr.Error
		if !errors.As(err, &e) || e.Fields[name] == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
