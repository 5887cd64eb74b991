// Package length keeps lengths as whole micrometres, so that widths given in
// inches, ratios in per cent and measurements in millimetres add up exactly
// and a margin of nought is nought.
package length

import (
	"errors"
	"strconv"
	"strings"
)

// Micron is a length in micrometres; it may be below zero, as an offset or a
// margin is.
type Micron int64

// Units of length. An inch is exactly 25.4 mm.
const (
	MM   Micron = 1000
	Inch Micron = 25400
	// Most is the greatest length this package reads: ten metres.
	Most = 10_000 * MM
)

// Errors of Parse, fit to stand beside the field.
var (
	ErrEmpty  = errors.New("enter a figure, such as 57.1")
	ErrFigure = errors.New("a figure, please, such as 57.1")
	ErrExact  = errors.New("at most three figures after the point, please")
	ErrLong   = errors.New("the largest length is 10,000 mm")
)

// Float makes a length of a figure in millimetres, to the nearest micrometre;
// for figures that a program gives. Beyond Most it stays there.
func Float(mm float64) Micron {
	um := mm * 1000
	switch {
	case um >= float64(Most):
		return Most
	case um <= float64(-Most):
		return -Most
	case um < 0:
		return Micron(um - 0.5)
	case um >= 0:
		return Micron(um + 0.5)
	}
	return 0 // not a number
}

// MM is the length in millimetres.
func (l Micron) MM() float64 { return float64(l) / 1000 }

// Inches is the length in inches.
func (l Micron) Inches() float64 { return float64(l) / float64(Inch) }

// Abs is the length without its sign.
func (l Micron) Abs() Micron {
	if l < 0 {
		return -l
	}
	return l
}

// Whole is the length to the nearest whole millimetre, half away from zero.
func (l Micron) Whole() int64 { return int64(l.to(MM) / MM) }

func (l Micron) to(unit Micron) Micron {
	if l < 0 {
		return -((-l + unit/2) / unit * unit)
	}
	return (l + unit/2) / unit * unit
}

// Text writes the length in millimetres with no more places than it needs, of
// three at most, and without the unit: "112.75", "-1.5", "634.3".
func (l Micron) Text() string { return text(int64(l), 3, 0) }

// String is Text with the unit.
func (l Micron) String() string { return l.Text() + " mm" }

// Fixed writes the length in millimetres to a number of places of three at
// most, rounded half away from zero, without the unit.
func (l Micron) Fixed(places int) string {
	units := [...]Micron{1000, 100, 10, 1}
	return text(int64(l.to(units[places])), 3, places)
}

// Signed is Text with its sign, "+2.7", and "0" for nought.
func (l Micron) Signed() string {
	if l > 0 {
		return "+" + l.Text()
	}
	return l.Text()
}

// text writes n, which counts thousandths, with at least least places.
func text(n int64, places, least int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := strconv.FormatInt(n, 10)
	if len(s) <= places {
		s = strings.Repeat("0", places+1-len(s)) + s
	}
	whole, frac := s[:len(s)-places], s[len(s)-places:]
	for len(frac) > least && strings.HasSuffix(frac, "0") {
		frac = frac[:len(frac)-1]
	}
	if frac == "" {
		return sign + whole
	}
	return sign + whole + "." + frac
}

// Parse reads a length in millimetres as people type it: "57.1", "57,1 mm",
// "-12", "+35". A comma is a point, since nobody writes a thousand here.
func Parse(s string) (Micron, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, ErrEmpty
	}
	s = strings.TrimSpace(strings.TrimSuffix(strings.ToLower(s), "mm"))
	return parse(s, MM)
}

// ParseInch reads a length in inches: "7", "6.5", "6½", `10.50"`.
func ParseInch(s string) (Micron, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, ErrEmpty
	}
	s = strings.ToLower(s)
	for _, unit := range []string{"inches", "inch", "in", "\"", "″"} {
		s = strings.TrimSuffix(s, unit)
	}
	s = strings.TrimSpace(s)
	if whole, ok := strings.CutSuffix(s, "½"); ok {
		s = strings.TrimSpace(whole) + ".5"
	}
	return parse(s, Inch)
}

// parse reads a plain figure of at most three places in a unit.
func parse(s string, unit Micron) (Micron, error) {
	s = strings.ReplaceAll(s, "−", "-")
	sign := Micron(1)
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		sign, s = -1, rest
	} else {
		s = strings.TrimPrefix(s, "+")
	}
	s = strings.Replace(strings.TrimSpace(s), ",", ".", 1)
	whole, frac, point := strings.Cut(s, ".")
	if !digits(whole) || !digits(frac) || whole == "" || point && frac == "" {
		return 0, ErrFigure
	}
	if len(frac) > 3 {
		if strings.TrimRight(frac[3:], "0") != "" {
			return 0, ErrExact
		}
		frac = frac[:3]
	}
	if len(strings.TrimLeft(whole, "0")) > 6 {
		return 0, ErrLong
	}
	n, err := strconv.ParseInt(whole+(frac + "000")[:3], 10, 64)
	if err != nil {
		return 0, ErrFigure
	}
	// Thousandths of an inch are 25.4 micrometres: to the nearest one.
	l := (Micron(n)*unit + 500) / 1000
	if l > Most {
		return 0, ErrLong
	}
	return sign * l, nil
}

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}
