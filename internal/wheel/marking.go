// Package wheel reads the marks cast into wheels and computes how a wheel
// stands on its hub: back and front spacing, stud circle, and its room over a
// brake.
//
// Sources are named at each function. A measurement on the car comes before
// every figure computed here.
package wheel

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/length"
)

// Marking is what is cast into a wheel. Zero fields were not given, except
// where a Has field says so.
type Marking struct {
	// Width is the rim's between its flanges, Diameter its nominal one.
	Width, Diameter length.Micron
	// Flange is the form of the flanges, such as J; Humps those of the beads,
	// such as H2.
	Flange, Humps string
	// Offset is that of the mounting face from the rim's middle, outward above
	// zero (ET).
	Offset    length.Micron
	HasOffset bool
	Pattern   Pattern
	// Bore is the centre bore.
	Bore length.Micron
	// Left is what could not be read.
	Left []string
}

// Pattern is the number of fixings and the diameter of their circle.
type Pattern struct {
	Holes  int
	Circle length.Micron
}

// Given tells whether the pattern is whole.
func (p Pattern) Given() bool { return p.Holes > 0 && p.Circle > 0 }

func (p Pattern) String() string {
	if !p.Given() {
		return ""
	}
	return strconv.Itoa(p.Holes) + "x" + p.Circle.Text()
}

// Errors of Parse and ParsePattern, fit to stand beside the field.
var (
	ErrEmpty   = errors.New("enter what is cast into the wheel, such as 7Jx17 H2 ET45 5x112 57.1")
	ErrMarking = errors.New("nothing of this reads as a wheel's marking; they look like 7Jx17 H2 ET45 5x112 57.1")
	ErrPattern = errors.New("the number of fixings by the diameter of their circle, please, such as 5x112")
)

const markingMax = 120

func (m Marking) check() error {
	switch {
	case m.Width != 0 && (m.Width < 2*length.Inch || m.Width > 16*length.Inch):
		return fmt.Errorf("a rim between 2 and 16 inches wide, please; %s were read", inchText(m.Width))
	case m.Diameter != 0 && (m.Diameter < 10*length.Inch || m.Diameter > 30*length.Inch):
		return fmt.Errorf("a rim of 10 to 30 inches, please; %s were read", inchText(m.Diameter))
	case m.HasOffset && m.Offset.Abs() > 150*length.MM:
		return fmt.Errorf("an offset between -150 and 150 mm, please; %s were read", m.Offset.Text())
	case m.Bore != 0 && (m.Bore < 30*length.MM || m.Bore > 300*length.MM):
		return fmt.Errorf("a centre bore between 30 and 300 mm, please; %s were read", m.Bore.Text())
	case m.Pattern.Holes != 0 && (m.Pattern.Holes < 3 || m.Pattern.Holes > 12):
		return fmt.Errorf("3 to 12 fixings, please; %d were read", m.Pattern.Holes)
	case m.Pattern.Circle != 0 && (m.Pattern.Circle < 60*length.MM || m.Pattern.Circle > 400*length.MM):
		return fmt.Errorf("a stud circle between 60 and 400 mm, please; %s were read", m.Pattern.Circle.Text())
	}
	return nil
}

// String is the marking in one order: "7Jx17 H2 ET45 5x112 57.1". Parse reads
// it back to the same, but for what was Left.
func (m Marking) String() string {
	var t []string
	switch {
	case m.Width > 0 && m.Diameter > 0:
		t = append(t, inchText(m.Width)+m.Flange+"x"+inchText(m.Diameter))
	case m.Width > 0:
		t = append(t, inchText(m.Width)+cmp.Or(m.Flange, "J"))
	case m.Diameter > 0:
		t = append(t, inchText(m.Diameter)+"\"")
	}
	if m.Humps != "" {
		t = append(t, m.Humps)
	}
	if m.HasOffset {
		t = append(t, "ET"+m.Offset.Text())
	}
	switch p := m.Pattern; {
	case p.Given():
		t = append(t, p.String())
	case p.Circle > 0:
		t = append(t, "PCD "+p.Circle.Text())
	case p.Holes > 0:
		t = append(t, strconv.Itoa(p.Holes)+"H")
	}
	if m.Bore > 0 {
		t = append(t, "CB "+m.Bore.Text())
	}
	return strings.Join(t, " ")
}

// Missing names what a wheel's marking has and this one has not, in words.
func (m Marking) Missing() []string {
	var t []string
	for _, c := range []struct {
		gone bool
		what string
	}{{m.Width == 0, "rim width"}, {m.Diameter == 0, "rim diameter"}, {!m.HasOffset, "offset"}, {!m.Pattern.Given(), "stud pattern"}, {m.Bore == 0, "centre bore"}} {
		if c.gone {
			t = append(t, c.what)
		}
	}
	return t
}

var patternForm = regexp.MustCompile(`^(\d{1,2}) ?[X/-] ?(\d{1,3}(?:[.,]\d{1,3})?) ?(MM|")?$`)

// ParsePattern reads a stud pattern on its own: "5x112", "4/100", `5x4.5"`.
func ParsePattern(text string) (Pattern, error) {
	t := signs.Replace(strings.ToUpper(strings.TrimSpace(text)))
	if len(t) > markingMax {
		return Pattern{}, ErrPattern
	}
	g := patternForm.FindStringSubmatch(t)
	if g == nil {
		return Pattern{}, ErrPattern
	}
	unit := length.MM
	if g[3] == "\"" || g[3] == "" && len(strings.SplitN(g[2], ".", 2)[0]) == 1 {
		unit = length.Inch
	}
	p := Pattern{number(g[1]), hundredths(figure(g[2], unit))}
	if p.Holes < 3 || p.Holes > 12 || p.Circle < 60*length.MM || p.Circle > 400*length.MM {
		return Pattern{}, ErrPattern
	}
	return p, nil
}

// inchText writes a length in inches as wheels have it: 7, 6.5, 22.5.
func inchText(l length.Micron) string {
	t := strconv.FormatFloat(l.Inches(), 'f', 2, 64)
	return strings.TrimSuffix(strings.TrimRight(t, "0"), ".")
}

// InchText writes a length in inches as wheels have it: 7, 6.5, 22.5.
func InchText(l length.Micron) string { return inchText(l) }

// hundredths is the nearest hundredth of a millimetre, which is what a stud
// circle is given to: 4.75 in is 120.65.
func hundredths(l length.Micron) length.Micron { return (l + 5) / 10 * 10 }

func number(s string) int {
	n, _ := strconv.Atoi(s) // two digits at most
	return n
}

// figure reads what a form has matched, so it cannot be wrong.
func figure(s string, unit length.Micron) length.Micron {
	var l length.Micron
	if unit == length.Inch {
		l, _ = length.ParseInch(s)
	} else {
		l, _ = length.Parse(s)
	}
	return l
}

// KnownCircles are stud circles that cars have, in millimetres, for telling
// which one a measurement means (common practice, no published source).
func KnownCircles() []length.Micron { return slices.Clone(knownCircles) }

var knownCircles = []length.Micron{
	95_250, 98_000, 100_000, 101_600, 105_000, 107_950, 108_000, 110_000, 112_000, 114_300, 115_000, 118_000, 120_000, 120_650, 127_000, 130_000, 135_000,
	139_700, 140_000, 150_000, 160_000, 165_100, 170_000, 180_000, 190_500, 200_000, 205_000, 275_000, 335_000,
}
