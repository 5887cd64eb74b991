package fact

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// tyre is a size as the side wall has it: width, aspect, construction and rim,
// then load index and speed symbol (UN Regulations 30 and 54), or the older
// forms without an aspect (155 R13, 5.60-15). C and LT mark van tyres.
var tyre = regexp.MustCompile(`^(\d{2,3}|\d\.\d{2})(?:/(\d{2,3}))?(Z?R|B|D|-)(\d{2}(?:\.\d)?)(C|LT)?((?:\d{2,3}(?:/\d{2,3})?[A-Z]\d?)?)(XL|RF|EXTRALOAD)?$`)

func tyreSize(v string) (string, error) {
	m := tyre.FindStringSubmatch(strings.ReplaceAll(strings.ToUpper(v), " ", ""))
	if m == nil {
		return "", errors.New("a tyre size as on the side wall, please, such as 205/55 R16 91V")
	}
	out := m[1]
	if m[2] != "" {
		out += "/" + m[2]
	}
	if m[3] != "-" {
		out += " "
	}
	out += m[3] + m[4] + m[5]
	for _, rest := range m[6:] {
		if rest != "" {
			out += " " + rest
		}
	}
	return out, nil
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
