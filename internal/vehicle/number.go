package vehicle

import (
	"errors"
	"regexp"
	"strings"
)

var vinForm = regexp.MustCompile(`^[A-HJ-NPR-Z0-9]{17}$`)

// readVIN gives a VIN as it is kept, and what is unusual about it.
func readVIN(s string) (v string, notes []string, err error) {
	v = strings.ToUpper(strings.Join(strings.Fields(s), ""))
	if !vinForm.MatchString(v) {
		return "", nil, errors.New("a VIN has 17 letters and figures, never I, O or Q")
	}
	return v, nil, nil
}
