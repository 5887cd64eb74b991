package vehicle

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/fact"
	"rampside/internal/plate"
	"rampside/internal/vin"
)

// Hint is what mark and VIN suggest of a car. It is worked out each time it is
// shown and never noted as a fact: outside North America a maker may use the
// characters of a VIN for something else, and a mark may be moved to another
// car.
type Hint struct {
	// Label is what it is about, Says what is suggested.
	Label, Says string
	// Why says how that follows, and how far it is to be trusted.
	Why string
}

// Hints are those of a car, where year is the present one: a model year that
// is further off than the next cannot be meant.
func Hints(v Vehicle, year int) []Hint {
	var out []Hint
	if n, err := vin.Parse(v.VIN); err == nil {
		out = vinHints(n, year)
	}
	if m, err := plate.Parse(v.MarkShown); err == nil {
		if age, ok := m.Age(); ok {
			out = append(out, Hint{
				"First registered", issued(age) + " or later",
				"marks like " + m.Display + " were first issued then; one may be put on a newer car, not on an older one",
			})
		}
	}
	return out
}

func vinHints(n vin.VIN, year int) []Hint {
	out := []Hint{{"Maker's code", n.WMI, "characters 1 to 3 of the VIN (ISO 3780)"}}
	if n.Region != "" {
		out = append(out, Hint{"Region", string(n.Region), "character 1 of the VIN: where its maker is at home (ISO 3780)"})
	}
	if years := possible(n.YearCandidates, year); len(years) > 0 {
		why := "character 10 of the VIN (49 CFR 565.15)"
		if n.Region != vin.NorthAmerica {
			why += "; outside North America a maker need not put the year there"
		}
		out = append(out, Hint{"Model year", strings.Join(years, " or "), why})
	}
	check := Hint{"Check digit", "it is right", "character 9 of the VIN, from all the others (49 CFR 565.15): read without a slip"}
	if !n.CheckOK {
		check.Says = fmt.Sprintf("it would be %s, and is %s", n.CheckExpected, n.Text[8:9])
		check.Why = "character 9 of the VIN: outside North America a maker need not use one, so only read it again"
		if n.Region == vin.NorthAmerica {
			check.Why = "character 9 of the VIN (49 CFR 565.15): one of the characters was read wrong"
		}
	}
	return append(out, check)
}

// possible leaves out years that are still to come.
func possible(years []int, now int) []string {
	var out []string
	for _, y := range years {
		if y <= now+1 {
			out = append(out, strconv.Itoa(y))
		}
	}
	return out
}

func issued(a plate.Age) string {
	if a.Month == 0 {
		return strconv.Itoa(a.Year)
	}
	return fmt.Sprintf("%s %d", a.Month, a.Year)
}

// Unknown are the facts that nobody has noted of a car, the easiest to read
// first. Its VIN is its chassis number.
func Unknown(known []Known, vin string) []fact.Key {
	var out []fact.Key
	for _, k := range fact.Vocabulary() {
		noted := slices.ContainsFunc(known, func(n Known) bool { return n.Key.Key == k.Key })
		if !noted && (k.Key != chassisNumber || vin == "") {
			out = append(out, k)
		}
	}
	slices.SortStableFunc(out, func(a, b fact.Key) int { return a.Where.Ease() - b.Where.Ease() })
	return out
}

// chassisNumber is the fact that a VIN tells.
const chassisNumber = "chassis_number"
