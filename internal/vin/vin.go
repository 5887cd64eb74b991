// Package vin reads vehicle identification numbers: their form, their parts,
// and what the check digit and the model year say.
//
// Structure: ISO 3779 and ISO 3780. Check digit and model year: 49 CFR 565.15
// of the United States, which bind vehicles made for North America only.
// Elsewhere a maker may use those positions for something else, so that a
// check digit that does not fit is a note and never a refusal.
package vin

import (
	"errors"
	"fmt"
	"strings"
)

// Length is how many characters a VIN has.
const Length = 17

// Errors of Parse, fit to stand beside the field.
var (
	ErrEmpty  = errors.New("enter the VIN, 17 characters")
	ErrOdd    = errors.New("a VIN has only the letters A to Z and figures")
	ErrLetter = errors.New("the letters I, O and Q never stand in a VIN: perhaps it is a 1 or a 0")
)

// LengthError says how many characters were given in place of 17.
type LengthError struct{ Got int }

func (e LengthError) Error() string {
	return fmt.Sprintf("a VIN has 17 characters, and this has %d", e.Got)
}

// VIN is a vehicle identification number that is right in form.
type VIN struct {
	// Text is all 17 characters in upper case.
	Text string
	// WMI says who made it (characters 1 to 3), VDS what it is (4 to 9) and
	// VIS which one it is (10 to 17).
	WMI, VDS, VIS string
	// Region is the part of the world of the first character; empty for 0,
	// which is not given out.
	Region Region
	// CheckOK tells whether character 9 is the check digit, and CheckExpected
	// is what it would be: 0 to 9 or X.
	CheckOK       bool
	CheckExpected string
	// YearCandidates are the model years that character 10 can stand for,
	// earlier first: one for a car or light vehicle of the United States, two
	// for others, none when it is no year. Outside North America it need not
	// stand for the year at all.
	YearCandidates []int
	// Notes is what deserves a second look, in plain words.
	Notes []string
}

// Region is a part of the world as the first character of a VIN tells it.
type Region string

// The regions (ISO 3780, from memory).
const (
	Africa       Region = "Africa"
	Asia         Region = "Asia"
	Europe       Region = "Europe"
	NorthAmerica Region = "North America"
	Oceania      Region = "Oceania"
	SouthAmerica Region = "South America"
)

// Parse reads a VIN. Blanks, hyphens, case and the stars stamped at its ends
// do not matter. The error is ErrEmpty, ErrOdd, ErrLetter or a LengthError;
// everything else that looks wrong is a note.
func Parse(s string) (VIN, error) {
	text := Normalise(s)
	if text == "" {
		return VIN{}, ErrEmpty
	}
	if len(text) > 10*Length {
		return VIN{}, LengthError{len(text)}
	}
	for _, r := range text {
		if (r < 'A' || r > 'Z') && (r < '0' || r > '9') {
			return VIN{}, ErrOdd
		}
	}
	if len(text) != Length {
		return VIN{}, LengthError{len(text)}
	}
	if strings.ContainsAny(text, "IOQ") {
		return VIN{}, ErrLetter
	}
	v := VIN{
		Text: text,
		WMI:  text[:3], VDS: text[3:9], VIS: text[9:],
		Region:         region(text[0]),
		YearCandidates: years(text),
	}
	v.CheckExpected, _ = CheckDigit(text)
	v.CheckOK = text[8:9] == v.CheckExpected
	v.Notes = v.notes()
	return v, nil
}

func (v VIN) notes() []string {
	var notes []string
	if !v.CheckOK {
		if v.Region == NorthAmerica {
			notes = append(notes, "character 9 should be "+v.CheckExpected+
				": on a vehicle made for North America one of the characters is wrong, so read it again")
		} else {
			notes = append(notes, "character 9 would be "+v.CheckExpected+
				" as a check digit: outside North America makers need not use one, so only read it again")
		}
	}
	if v.Region == NorthAmerica && len(v.YearCandidates) == 0 {
		notes = append(notes, "character 10 stands for no model year: read it again")
	}
	if v.Region == "" {
		notes = append(notes, "no maker's code begins with 0: read it again")
	}
	return notes
}

// Normalise takes out blanks, hyphens and stars and turns the rest into upper
// case, for storing and for finding part of a VIN.
func Normalise(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ' || r == '\t' || r == '\r' || r == '\n' || r == '\u00a0' || r == '-' || r == '*':
			return -1
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return r
	}, s)
}

// Key is Normalise with the letters that never stand in a VIN turned into the
// figures they are mistaken for, for a search by part of one.
func Key(s string) string {
	return strings.NewReplacer("I", "1", "O", "0", "Q", "0").Replace(Normalise(s))
}

func region(c byte) Region {
	switch {
	case c >= 'A' && c <= 'H':
		return Africa
	case c >= 'J' && c <= 'R':
		return Asia
	case c >= 'S' && c <= 'Z':
		return Europe
	case c >= '1' && c <= '5':
		return NorthAmerica
	case c == '6' || c == '7':
		return Oceania
	case c == '8' || c == '9':
		return SouthAmerica
	}
	return ""
}
