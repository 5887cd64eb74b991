package fact

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

func (k Key) number(v string) (string, error) {
	s := strings.ToLower(strings.ReplaceAll(v, " ", ""))
	s = strings.TrimSuffix(s, strings.ToLower(k.Unit))
	if k.Key == "wheel_offset_mm" {
		s = strings.TrimPrefix(s, "et")
	}
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") && len(s)-strings.Index(s, ",") != 4 {
		s = strings.Replace(s, ",", ".", 1) // 57,1; 1,995 stays what a thousand is written like
	}
	s = strings.ReplaceAll(s, ",", "")
	if !plainNumber.MatchString(s) {
		return "", fmt.Errorf("a figure, please%s", unitHint(k.Unit))
	}
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || n < k.Low || n > k.High {
		return "", fmt.Errorf("between %s and %s%s, please", figure(k.Low), figure(k.High), spaced(k.Unit))
	}
	if k.Key == "displacement_cc" && n > 0 && n < litresBelow {
		return "", errors.New("in cc, please, as the logbook has it: 1998 rather than 2.0")
	}
	if _, frac, _ := strings.Cut(s, "."); len(strings.TrimRight(frac, "0")) > k.Decimals {
		if k.Decimals == 0 {
			return "", fmt.Errorf("a whole figure, please%s", unitHint(k.Unit))
		}
		return "", fmt.Errorf("at most %d decimal places, please", k.Decimals)
	}
	return figure(n), nil
}

// litresBelow is the displacement below which a figure is taken to have been
// meant in litres: no engine of so few cc moves a car.
const litresBelow = 16

var plainNumber = regexp.MustCompile(`^[+-]?\d{1,8}(?:\.\d{1,6})?$`)

func figure(n float64) string {
	if n == 0 {
		return "0" // and not -0
	}
	return strconv.FormatFloat(n, 'f', -1, 64)
}

func spaced(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

func unitHint(unit string) string {
	if unit == "" {
		return ""
	}
	return ", in " + unit
}

// Millionth is a figure counted in millionths of its unit: exact, and quick to
// compare.
type Millionth int64

// One is a whole unit.
const One Millionth = 1_000_000

// ErrFigure says that a text is no plain figure.
var ErrFigure = errors.New("a figure, please")

// Millionths reads a plain decimal figure of at most 8 digits before the point
// and 6 after it; the error is ErrFigure.
func Millionths(s string) (Millionth, error) {
	sign, digits := Millionth(1), s
	if digits != "" && (digits[0] == '-' || digits[0] == '+') {
		if digits[0] == '-' {
			sign = -1
		}
		digits = digits[1:]
	}
	whole, frac, dot := strings.Cut(digits, ".")
	if len(whole) == 0 || len(whole) > 8 || len(frac) > 6 || dot && frac == "" {
		return 0, ErrFigure
	}
	var n Millionth
	for i := range len(whole) {
		if whole[i] < '0' || whole[i] > '9' {
			return 0, ErrFigure
		}
		n = n*10 + Millionth(whole[i]-'0')
	}
	for i := range 6 {
		d := byte('0')
		if i < len(frac) {
			d = frac[i]
		}
		if d < '0' || d > '9' {
			return 0, ErrFigure
		}
		n = n*10 + Millionth(d-'0')
	}
	return sign * n, nil
}

// String writes the figure without idle noughts.
func (m Millionth) String() string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	s := sign + strconv.FormatInt(int64(m/One), 10)
	if rest := m % One; rest != 0 {
		s += "." + strings.TrimRight(fmt.Sprintf("%06d", int64(rest)), "0")
	}
	return s
}
