package fit_test

import (
	"fmt"
	"testing"

	"rampside/internal/fit"
)

// sixtyParts are the rules of a large card: 60 parts with 400 conditions, of
// which a car that is known as well as most leaves some open.
func sixtyParts(b *testing.B) []fit.Rule {
	b.Helper()
	all := []string{
		"engine code is one of K7A, K7B, K9K %d", "displacement is 2.0 l", "power from 100 PS to %d PS", "built from 2015-01 to 2019-08", "fuel is diesel",
		"gearbox is not automatic", "chassis number from 5G%06d to 6G900000", "front disc diameter is 280 mm", "stud pattern is 5x112", "tyre size is 205/55 R16 91V",
		"(doors is 5 or body is estate)", "not (suspension is air and ride height is lowered)", "front axle load at most 1.1 t", "driven axle is front", "connector pins is %d",
	}
	var rules []fit.Rule
	conditions, next := 0, 0
	for part := range 60 {
		rule := fit.Rule{}
		for want := 400 * (part + 1) / 60; conditions < want; next++ {
			text := all[next%len(all)]
			switch next % len(all) {
			case 0, 6:
				text = fmt.Sprintf(text, part)
			case 2:
				text = fmt.Sprintf(text, 140+part)
			case 3:
				text = fmt.Sprintf("built from 2015-%02d to 2019-08", 1+part%12)
			case 14:
				text = fmt.Sprintf(text, 2+part)
			}
			c, err := fit.Parse(text)
			if err != nil {
				b.Fatalf("%s: %v", text, err)
			}
			rule = fit.All(rule, c)
			conditions += len(c.Conditions())
		}
		rules = append(rules, rule)
	}
	b.Logf("%d parts, %d conditions", len(rules), conditions)
	return rules
}

var benchCar = fit.Known{
	"engine_code":     {Text: "K7A", Source: "read off the car", Others: []fit.Said{{Text: "K7B", Source: "supplier", Rank: 3}}},
	"displacement_cc": {Text: "1995", Source: "logbook"}, "power_kw": {Text: "81", Source: "logbook"}, "built": {Text: "2016", Source: "logbook"},
	"fuel": {Text: "diesel", Source: "logbook"}, "gearbox": {Text: "manual", Source: "logbook"}, "chassis_number": {Text: "1G4AH59H45G118341", Source: "VIN"},
	"tyre_size": {Text: "205/55 R16", Source: "read off the car"}, "body": {Text: "estate", Source: "logbook"},
}

// BenchmarkSixtyParts judges a whole card, with proofs and what to read.
func BenchmarkSixtyParts(b *testing.B) {
	rules := sixtyParts(b)
	for b.Loop() {
		for _, r := range rules {
			fit.Judge(r, benchCar)
		}
	}
}

// BenchmarkSixtyPartsFromText reads the rules as well.
func BenchmarkSixtyPartsFromText(b *testing.B) {
	var texts []string
	for _, r := range sixtyParts(b) {
		texts = append(texts, r.String())
	}
	for b.Loop() {
		for _, text := range texts {
			r, err := fit.Parse(text)
			if err != nil {
				b.Fatal(err)
			}
			fit.Judge(r, benchCar)
		}
	}
}
