package fitment

import (
	"fmt"
	"testing"

	"rampside/internal/fit"
	"rampside/internal/jobcard"
)

// A card of 60 parts with 420 conditions between them, and four parts that are
// checked as a set: parsed, judged and proved, as when a fact changes.
func BenchmarkACardOfSixtyPartsAndFourHundredConditions(b *testing.B) {
	var subjects []subject
	conditions := 0
	for i := range 60 {
		rule := fmt.Sprintf("engine code is one of K%dA, K%dB and built from 2015-03 to 2019-08 and gearbox is not automatic and "+
			"(displacement from 1500 to 1700 or fuel is diesel) and front disc diameter is 280 mm and not tow bar is fixed", i, i)
		r, err := fit.Parse(rule)
		if err != nil {
			b.Fatal(err)
		}
		conditions += len(r.Conditions())
		put := &Put{Rule: rule, Kind: "other", Holds: true}
		switch i {
		case 0, 1:
			put.Kind, put.Props = "wheel", map[string]string{"axle": "front", "wheel_marking": "7Jx16 ET45 5x112 57.1"}
		case 2, 3:
			put.Kind, put.Props = "tyre", map[string]string{"axle": "front", "tyre_size": "205/55 R16 91V"}
		}
		subjects = append(subjects, subject{part: jobcard.Part{ID: jobcard.PartID(i + 1), Name: fmt.Sprintf("Part %d", i)}, put: put})
	}
	if conditions < 400 {
		b.Fatalf("only %d conditions", conditions)
	}
	known := fit.Known{
		"engine_code": {Text: "K7A", Source: "car"}, "displacement_cc": {Text: "1598", Source: "logbook", Rank: 2},
		"gearbox": {Text: "manual", Source: "car"}, "stud_pattern": {Text: "5x112", Source: "car"}, "tyre_size": {Text: "205/55 R16 91V", Source: "car"},
	}
	for b.Loop() {
		clashes := clashesOf(subjects, known)
		told := 0
		for _, s := range subjects {
			if judge(s, known, clashes).Reasoned {
				told++
			}
		}
		if told != len(subjects) {
			b.Fatalf("%d judged", told)
		}
	}
}
