package api

import (
	"fmt"
	"slices"
	"testing"

	"rampside/internal/fact"
	"rampside/internal/vehicle"
)

func TestProgramsReadTheVocabularyWithWhereAndHow(t *testing.T) {
	s := newSite(t)
	choices := as[Choices](s.get("posy", "/choices"), 200)
	if len(choices.Facts) != len(fact.Vocabulary()) {
		t.Fatalf("%d facts", len(choices.Facts))
	}
	find := func(key FactName) FactKind {
		i := slices.IndexFunc(choices.Facts, func(k FactKind) bool { return k.Key == key })
		if i < 0 {
			t.Fatalf("no %s", key)
		}
		return choices.Facts[i]
	}
	power := find("power_kw")
	if power.Kind != "number" || power.Name != "power" || !slices.Contains(power.Units, "PS") || power.Low == nil || *power.High != 1500 || power.Decimals != 1 || power.Ease != 0 || power.Where != fact.AtLogbook {
		t.Errorf("%+v", power)
	}
	if disc := find("front_disc_mm"); len(disc.Cautions) != 3 || disc.Ease <= power.Ease || disc.How == "" {
		t.Errorf("%+v", disc)
	}
	if fuel := find("fuel"); fuel.Kind != "choice" || len(fuel.Options) == 0 || fuel.Low != nil {
		t.Errorf("%+v", fuel)
	}
}

func TestProgramsSeeHintsStandingsAndWhatIsNotKnown(t *testing.T) {
	s := newSite(t)
	at := fmt.Sprintf("/vehicles/%d", s.Car)
	before := len(as[VehicleRecord](s.get("posy", at), 200).Unknown)
	as[Fact](s.put("posy", at+"/facts/built/plate", obj{"value": "3/2019"}), 200)
	as[Fact](s.put("posy", at+"/facts/built/supplier", obj{"value": "2019"}), 200)
	as[Fact](s.put("posy", at+"/facts/built/assumed", obj{"value": "2020"}), 200)
	got := as[VehicleRecord](s.get("posy", at), 200)
	if len(got.Hints) < 4 || got.Hints[0].About != "Maker's code" || got.Hints[0].Why == "" {
		t.Errorf("hints %+v", got.Hints)
	}
	if len(got.Unknown) != before-1 || slices.Contains(got.Unknown, "built") || slices.Contains(got.Unknown, "chassis_number") {
		t.Errorf("unknown %v", got.Unknown)
	}
	var standings []vehicle.Standing
	for _, f := range got.Facts[0].All {
		standings = append(standings, f.Standing)
	}
	if !slices.Equal(standings, []vehicle.Standing{vehicle.GoneBy, vehicle.Coarser, vehicle.Contradicts}) {
		t.Errorf("they stand %v", standings)
	}
	s.put("posy", at+"/facts/chassis_number/car", obj{"value": "118341"}).problem(422, "invalid")
}
