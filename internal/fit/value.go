package fit

import (
	"errors"
	"fmt"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"rampside/internal/fact"
)

// value is one value of a condition: as it is written, and what it means.
type value struct {
	text string
	// from and to are the least and the greatest that it means: millionths of
	// the fact's unit, or days.
	from, to int64
	// serial is the number that a chassis bound ends in, digits how many
	// figures that has.
	serial int64
	digits int
}

func (v *value) written() string {
	if v == nil {
		return ""
	}
	return v.text
}

// lead is what stands before the serial of a chassis bound.
func (v *value) lead() string { return v.text[:len(v.text)-v.digits] }

func newValue(k *fact.Key, test Test, text string) (value, error) {
	if k.Kind == fact.Number {
		return newFigure(k, text)
	}
	clean, err := k.Clean(text)
	if err != nil {
		return value{}, err
	}
	v := value{text: clean}
	switch {
	case k.Kind == fact.Date:
		from, to, ok := fact.Days(clean)
		if !ok {
			return value{}, errors.New("a date, please")
		}
		v.from, v.to = int64(from), int64(to)
	case k.Kind == fact.Chassis && test == From:
		return newBound(clean)
	}
	return v, nil
}

// serialDigits is how many figures a bare serial number is taken to have: the
// last six characters of a VIN (common practice, no published source; ISO 3779
// asks only that the last four be figures).
const serialDigits = 6

// newBound reads the bound of a range of chassis numbers: figures, with or
// without what stands before them in the car's number.
func newBound(text string) (value, error) {
	v := value{text: text}
	for v.digits < len(text) && isDigit(text[len(text)-1-v.digits]) {
		v.digits++
	}
	if v.digits == 0 {
		return value{}, errors.New("a range of chassis numbers runs between numbers that end in figures")
	}
	if v.digits == len(text) && v.digits < serialDigits {
		v.text = strings.Repeat("0", serialDigits-v.digits) + text
		v.digits = serialDigits
	}
	v.serial, _ = strconv.ParseInt(v.text[len(v.text)-v.digits:], 10, 64) // 17 figures at most
	return v, nil
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

var written = regexp.MustCompile(`^([+-]?\d{1,8}(?:[.,]\d{1,6})?)\s*(.*)$`)

// newFigure reads a figure with or without its unit.
func newFigure(k *fact.Key, text string) (value, error) {
	m := written.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	if m == nil {
		return value{}, wantFigure(k)
	}
	u, ok := k.UnitOf(m[2])
	switch {
	case strings.EqualFold(m[2], "hp") && k.Unit == "kW":
		return value{}, errors.New("hp may be either of two: write PS or bhp, or kW")
	case !ok:
		return value{}, wantFigure(k)
	case u.Factor == nil:
		clean, err := k.Clean(m[1])
		if err != nil && strings.Contains(m[1], ".") && k.Unit == "cc" {
			return value{}, errors.New("write the unit, such as 2.0 l or 1968 cc")
		}
		if err != nil {
			return value{}, err
		}
		n, err := fact.Millionths(clean)
		if err != nil {
			return value{}, wantFigure(k)
		}
		v := value{text: clean, from: int64(n), to: int64(n)}
		if k.Unit != "" {
			v.text += " " + k.Unit
		}
		return v, nil
	}
	return converted(k, u, strings.Replace(m[1], ",", ".", 1))
}

func wantFigure(k *fact.Key) error {
	names := []string{}
	if k.Unit != "" {
		names = append(names, k.Unit)
	}
	for _, u := range k.Units() {
		names = append(names, u.Name)
	}
	switch len(names) {
	case 0:
		return errors.New("a figure, please")
	case 1:
		return errors.New("a figure, please, in " + names[0])
	}
	last := len(names) - 1
	return errors.New("a figure, please, in " + strings.Join(names[:last], ", ") + " or " + names[last])
}

// converted reads a figure in another unit than the fact's own: it means all
// that rounds to it, half a step up, at the decimals it is written with.
func converted(k *fact.Key, u fact.Unit, figure string) (value, error) {
	n, ok := new(big.Rat).SetString(figure)
	if !ok {
		return value{}, wantFigure(k)
	}
	_, frac, _ := strings.Cut(figure, ".")
	half := new(big.Rat).Quo(big.NewRat(1, 2), new(big.Rat).SetInt(pow10(len(frac))))
	from := millionths(new(big.Rat).Sub(n, half), u.Factor)
	to := millionths(new(big.Rat).Add(n, half), u.Factor) - 1
	if low, high := int64(k.Low*float64(fact.One)), int64(k.High*float64(fact.One)); to < low || from > high {
		return value{}, fmt.Errorf("between %v and %v %s, please", k.Low, k.High, k.Unit)
	}
	return value{text: n.FloatString(len(frac)) + " " + u.Name, from: from, to: to}, nil
}

// millionths is the least whole number of millionths that is not less than n
// times the factor.
func millionths(n, factor *big.Rat) int64 {
	r := new(big.Rat).Mul(new(big.Rat).Mul(n, factor), big.NewRat(int64(fact.One), 1))
	q, rem := new(big.Int).DivMod(r.Num(), r.Denom(), new(big.Int))
	if rem.Sign() > 0 {
		q.Add(q, big.NewInt(1))
	}
	return q.Int64() // eight digits, by at most a thousand, in millionths
}

func pow10(n int) *big.Int { return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil) }
