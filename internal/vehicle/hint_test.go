package vehicle_test

import (
	"slices"
	"testing"

	"rampside/internal/fact"
	"rampside/internal/vehicle"
)

// The VINs are published samples: of 49 CFR 565, of public test suites, and one
// European from memory; see package vin.
func TestMarkAndVINGiveHints(t *testing.T) {
	for _, c := range []struct {
		mark, vin string
		want      []string
	}{
		{"", "1G4AH59H45G118341", []string{"Maker's code: 1G4", "Region: North America", "Model year: 2005", "Check digit: it is right"}},
		{"", "1G4AH59H55G118341", []string{"Maker's code: 1G4", "Region: North America", "Model year: 2005", "Check digit: it would be 4, and is 5"}},
		{"", "WVWZZZ1JZ3W386752", []string{"Maker's code: WVW", "Region: Europe", "Model year: 2003", "Check digit: it would be 9, and is Z"}},
		{"", "WVWZZZ1JZAW386752", []string{"Maker's code: WVW", "Region: Europe", "Model year: 1980 or 2010", "Check digit: it would be 2, and is Z"}},
		{"BD12 SMR", "", []string{"First registered: March 2012 or later"}},
		{"A123 ABC", "", []string{"First registered: 1983 or later"}},
		{"ABC 123", "", nil},
	} {
		var got []string
		for _, h := range vehicle.Hints(vehicle.Vehicle{MarkShown: c.mark, VIN: c.vin}, 2026) {
			got = append(got, h.Label+": "+h.Says)
			if h.Why == "" {
				t.Errorf("%s: does not say how it follows", h.Label)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s %s hints at %q, want %q", c.mark, c.vin, got, c.want)
		}
	}
	if got := vehicle.Hints(vehicle.Vehicle{VIN: "WVWZZZ1JZ3W386752"}, 2032); got[2].Says != "2003 or 2033" {
		t.Errorf("in 2032: %s", got[2].Says)
	}
}

func TestWhatNobodyNotedComesEasiestFirst(t *testing.T) {
	known := vehicle.Weigh([]vehicle.Fact{{Key: "displacement_cc", Value: "1995", Source: vehicle.FromLogbook}})
	all := vehicle.Unknown(known, "")
	if !slices.IsSortedFunc(all, func(a, b fact.Key) int { return a.Where.Ease() - b.Where.Ease() }) || len(all) != len(fact.Vocabulary())-1 {
		t.Errorf("%d in the order %v", len(all), all)
	}
	if with := vehicle.Unknown(known, "1G4AH59H45G118341"); len(with) != len(all)-1 {
		t.Errorf("with a VIN the chassis number is still asked for")
	}
}

func TestEachSourceStandsSomewhereToTheBest(t *testing.T) {
	known := vehicle.Weigh([]vehicle.Fact{
		{Key: "built", Value: "2019-03", Source: vehicle.FromPlate}, {Key: "built", Value: "2019", Source: vehicle.FromLogbook},
		{Key: "built", Value: "2019-03-14", Source: vehicle.FromSupplier}, {Key: "built", Value: "2020", Source: vehicle.Assumed},
		{Key: "built", Value: "2019-03", Source: vehicle.FromCar},
	})[0]
	var got []vehicle.Standing
	for _, f := range known.All {
		got = append(got, known.Standing(f))
	}
	if want := []vehicle.Standing{vehicle.GoneBy, vehicle.Agrees, vehicle.Coarser, vehicle.Finer, vehicle.Contradicts}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
