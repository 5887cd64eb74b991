package floorweb

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

var errTorque = errors.New("a torque in Nm, please, such as 120")

// readTorque reads newton metres as people write them: 120, 110.5, "120 Nm".
func readTorque(s string) (float64, error) {
	s = strings.TrimSpace(strings.TrimSuffix(strings.ToLower(s), "nm"))
	n, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) || strings.ContainsAny(s, "xp_") {
		return 0, errTorque
	}
	if n == 0 {
		return 0, errTorque // nothing at all is an empty field
	}
	return math.Round(n*10) / 10, nil
}

// torque writes newton metres without needless noughts.
func torque(nm float64) string { return strconv.FormatFloat(nm, 'f', -1, 64) }
