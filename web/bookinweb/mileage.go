package bookinweb

import (
	"errors"
	"strconv"
	"strings"

	"rampside/internal/jobcard"
)

// mileage is what the clock shows, in miles or km.
type mileage struct {
	N    int
	Unit string // empty when none was written
}

var errMileage = errors.New("the figures on the clock, please, such as 48,210, or 77,500 km")

// parseMileage reads 48210, 48,210, "48 210" and the same with mi, miles or
// km behind, so that no second field has to be passed.
func parseMileage(s string) (mileage, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	m := mileage{}
	for _, u := range []struct{ suffix, unit string }{
		{"kilometres", "km"}, {"kms", "km"}, {"km", "km"}, {"miles", "miles"}, {"mi", "miles"}, {"m", "miles"},
	} {
		if rest, ok := strings.CutSuffix(s, u.suffix); ok {
			s, m.Unit = strings.TrimSpace(rest), u.unit
			break
		}
	}
	s = strings.NewReplacer(" ", "", ",", "").Replace(s)
	if s == "" || len(s) > 9 || strings.Trim(s, "0123456789") != "" {
		return mileage{}, errMileage
	}
	n, err := strconv.Atoi(s)
	if err != nil || n > jobcard.MaxMiles {
		return mileage{}, errors.New("at most 3,000,000, please")
	}
	m.N = n
	return m, nil
}
