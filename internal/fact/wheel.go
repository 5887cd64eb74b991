package fact

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"rampside/internal/tyre"
)

// tyreSize is a size in the one form in which it is kept.
func tyreSize(v string) (string, error) {
	s, err := tyre.Parse(v)
	if err != nil {
		return "", err
	}
	return s.String(), nil
}

var pattern = regexp.MustCompile(`^(\d{1,2})[X×/*](\d{2,3}(?:[.,]\d{1,2})?)$`)

func studPattern(v string) (string, error) {
	m := pattern.FindStringSubmatch(strings.ToUpper(strings.TrimSuffix(strings.ReplaceAll(strings.ToLower(v), " ", ""), "mm")))
	bad := errors.New("the number of fixings by the diameter of their circle, please, such as 5x112")
	if m == nil {
		return "", bad
	}
	holes, _ := strconv.Atoi(m[1]) // two digits at most
	circle, err := strconv.ParseFloat(strings.Replace(m[2], ",", ".", 1), 64)
	if err != nil || holes < 3 || holes > 12 || circle < 80 || circle > 400 {
		return "", bad
	}
	return fmt.Sprintf("%dx%s", holes, figure(circle)), nil
}
