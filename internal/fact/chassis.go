package fact

import (
	"errors"
	"strings"

	"rampside/internal/vin"
)

// chassis takes a whole VIN, the end of one, or the shorter number of an older
// car. Blanks, hyphens and case do not matter, as in a VIN.
func chassis(v string) (string, error) {
	s := vin.Normalise(v)
	if len(s) < 3 || len(s) > vin.Length {
		return "", errors.New("a chassis number, please: the VIN's 17 characters, or its end of 3 or more")
	}
	for _, c := range []byte(s) {
		if (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return "", errors.New("a chassis number has only the letters A to Z and figures")
		}
	}
	if len(s) == vin.Length && strings.ContainsAny(s, "IOQ") {
		return "", vin.ErrLetter
	}
	return s, nil
}
