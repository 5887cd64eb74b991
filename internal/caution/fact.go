package caution

import (
	"slices"
	"strconv"
	"strings"
)

// ForFact gives the cautions that a fact about a car calls for, such as fuel:
// hybrid. Keys and values are read without regard to case, and of a key only
// the words count, not what joins them. Most facts call for none.
func ForFact(key, value string) []Key {
	key = strings.Join(words(key), " ")
	has := words(value)
	switch key {
	case "fuel", "fuel type", "propulsion":
		var keys []Key
		if anyOf(has, "electric", "electricity", "hybrid", "phev", "hev", "mhev", "bev", "ev", "hydrogen") {
			keys = append(keys, HighVoltage)
		}
		if anyOf(has, "lpg", "cng", "lng", "gas", "hydrogen") {
			keys = append(keys, Fuel)
		}
		return keys
	case "high voltage", "traction voltage":
		// Above 60 V of direct current (UN Regulation 100, definition of high voltage).
		if len(has) > 0 {
			if volts, err := strconv.Atoi(has[0]); err == nil && volts > 60 {
				return []Key{HighVoltage}
			}
		}
	case "airbag", "airbags", "belt tensioners", "pretensioners":
		if len(has) > 0 && !anyOf(has, "none", "no", "0", "not") {
			return []Key{Airbag}
		}
	case "refrigerant", "air conditioning", "air con":
		if len(has) > 0 && !anyOf(has, "none", "no", "not") {
			return []Key{Refrigerant}
		}
	case "suspension":
		if anyOf(has, "air", "pneumatic") {
			return []Key{Lifting}
		}
	case "built", "build date", "build year", "first registered", "year":
		if y := year(has); y > 0 && y < asbestosYear {
			return []Key{Dust}
		}
	}
	return nil
}

// asbestosYear is when asbestos in vehicles ended (HSE, motor vehicle repair:
// asbestos).
const asbestosYear = 1999

// words parts s at everything but letters and digits, in lower case.
func words(s string) []string {
	const most = 200 // characters; a fact is a few words
	if len(s) > most {
		s = s[:most]
	}
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
}

func anyOf(has []string, want ...string) bool {
	return slices.ContainsFunc(has, func(w string) bool { return slices.Contains(want, w) })
}

// year finds the first word of four figures that can be a year.
func year(has []string) int {
	for _, w := range has {
		if n, err := strconv.Atoi(w); err == nil && len(w) == 4 && n >= 1885 && n < 2200 {
			return n
		}
	}
	return 0
}
