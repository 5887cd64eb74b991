// Package tyre reads tyre sizes as they stand on the side wall and computes
// with them: diameters, rims, load and speed, and what another size does to a
// speedometer.
//
// Sources are named at each function. A maker's own data always come before
// what is computed here: a size says what a tyre is to be, not what this one
// measures.
package tyre

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rampside/internal/length"
)

// Form is the system in which a size is written.
type Form string

// The forms.
const (
	Metric    Form = "metric"    // 205/55 R16, LT235/85 R16, 155 R13
	Flotation Form = "flotation" // 31x10.50 R15LT: overall diameter by section width
	InchForm  Form = "inch"      // 5.60-15, 7.50 R16C
)

// Structure is how the casing is built.
type Structure string

// The structures (UN R30, paragraph 3.1.3).
const (
	Radial     Structure = "radial"
	BiasBelted Structure = "bias-belted"
	Diagonal   Structure = "diagonal"
)

// Size is a tyre as its side wall has it.
type Size struct {
	Form Form
	// Prefix is P, LT, T, ST or HL as written before the size; Use is C, CP or
	// LT as written after the rim.
	Prefix, Use string
	// Width is the nominal section width.
	Width length.Micron
	// Aspect is the section height as a percentage of the width. AspectStated
	// is false where the side wall has none and it was assumed.
	Aspect       int
	AspectStated bool
	// Overall is the diameter that a flotation size is named by; 0 in others.
	Overall   length.Micron
	Structure Structure
	// ZR marks a size for more than 240 km/h; RunFlat one with F in its code.
	ZR, RunFlat bool
	// Within is the speed symbol of an older size that has it before the R:
	// 155 SR13.
	Within string
	// Rim is the nominal rim diameter. RimCode is as written: 16, 22.5, or
	// 390 where it is in millimetres.
	Rim     length.Micron
	RimCode string
	// Service is the load index with the speed symbol; the zero Service where
	// the side wall's was not given. Second is the one in brackets after it.
	Service, Second Service
	// Marks is what stands after that, such as XL, M+S or 8PR.
	Marks []string

	// as is how the numbers were written, for String.
	width, aspect string
}

// Service is a service description: a load index for one wheel, another for
// twin wheels, and the speed symbol.
type Service struct {
	Given bool
	// Single is the load index, Dual that for twin wheels, -1 for none.
	Single, Dual int
	// Speed is the symbol, empty for none; Above marks one in brackets, (Y),
	// which means more than the symbol's speed.
	Speed string
	Above bool
}

func (s Service) String() string {
	if !s.Given {
		return ""
	}
	t := strconv.Itoa(s.Single)
	if s.Dual >= 0 {
		t += "/" + strconv.Itoa(s.Dual)
	}
	t += s.Speed
	if s.Above {
		return "(" + t + ")"
	}
	return t
}

// Symbol is the speed symbol, wherever the side wall has it; empty for none.
func (s Size) Symbol() string {
	if s.Service.Speed != "" {
		return s.Service.Speed
	}
	return s.Within
}

// Extra tells whether the tyre is marked as one for more load at higher
// pressure (XL, extra load, reinforced; HL for still more).
func (s Size) Extra() bool {
	for _, m := range s.Marks {
		if m == "XL" {
			return true
		}
	}
	return s.Prefix == "HL"
}

// Commercial tells whether the size is one for vans and trucks (UN R54 rather
// than R30).
func (s Size) Commercial() bool {
	return s.Use != "" || s.Prefix == "LT" || s.Form == Flotation || strings.HasSuffix(s.RimCode, ".5")
}

// Base is the size without service description and marks: "205/55 R16".
func (s Size) Base() string {
	code := s.structureCode()
	gap := " "
	if code == "-" {
		gap = ""
	}
	t := s.Prefix + s.width
	if s.aspect != "" {
		t += "/" + s.aspect
	}
	return t + gap + code + s.RimCode + s.Use
}

func (s Size) structureCode() string {
	switch s.Structure {
	case BiasBelted:
		return "B"
	case Diagonal:
		return "-"
	}
	code := s.Within + "R"
	if s.ZR {
		code = "ZR"
	}
	if s.RunFlat {
		code += "F"
	}
	return code
}

// String is the size as it is kept and compared: "205/55 R16 91V XL". Parse
// reads it back to the same.
func (s Size) String() string {
	t := s.Base()
	if s.Service.Given {
		t += " " + s.Service.String()
	}
	if s.Second.Given {
		t += " (" + s.Second.String() + ")"
	}
	for _, m := range s.Marks {
		t += " " + m
	}
	return t
}

// assumed are the aspect ratios of sizes that state none, each with what it
// may be off by. UN R30 and R54 list such sizes one by one; these come within
// the given error of those lists (from memory: 155 R13 578 mm, 175 R14 634,
// 5.60-15 650, 6.40-13 642).
const (
	aspectRadial   = 80  // 155 R13: 80 to 82
	aspectInch     = 95  // 5.60-15
	aspectTubeless = 85  // 8 R17.5, 11 R22.5
	aspectVanInch  = 102 // 7.50 R16C
)

// Doubt is the part of the diameter by which an assumed aspect ratio may be
// off: 0 where the side wall states it.
func (s Size) Doubt() float64 {
	if s.AspectStated {
		return 0
	}
	if s.Form == InchForm {
		return 0.03
	}
	return 0.015
}

// SectionHeight is the height of the side wall, exact: width times aspect
// ratio, or half of what a flotation size is larger than its rim.
func (s Size) SectionHeight() length.Micron {
	if s.Form == Flotation {
		return (s.Overall - s.Rim) / 2
	}
	return s.Width * length.Micron(s.Aspect) / 100
}

// Diameter is the overall diameter, exact: 25.4 mm for each inch of the rim
// plus two section heights.
func (s Size) Diameter() length.Micron {
	if s.Form == Flotation {
		return s.Overall
	}
	return s.Rim + 2*s.SectionHeight()
}

// CatalogueHeight is the section height to the nearest millimetre, as UN R30,
// paragraph 6.1.2.1, has it.
func (s Size) CatalogueHeight() int64 { return s.SectionHeight().Whole() }

// CatalogueRim is the nominal rim diameter in whole millimetres, d of UN R30,
// paragraph 2.23: 13 is 330, 14 356, 16 406, 17 432.
func (s Size) CatalogueRim() int64 { return s.Rim.Whole() }

// CatalogueDiameter is the overall diameter as makers' tables print it, in
// whole millimetres: D = d + 2 H of UN R30, paragraph 6.1.2.1, each rounded
// before. It differs from the exact one by 1 mm here and there. Of a flotation
// size it is the marking in millimetres; tables list the tyre itself some
// 12 mm smaller (UN R54, annex 5, from memory).
func (s Size) CatalogueDiameter() int64 {
	if s.Form == Flotation {
		return s.Overall.Whole()
	}
	return s.CatalogueRim() + 2*s.CatalogueHeight()
}

// Circumference is that of the exact diameter, in millimetres. A loaded tyre
// rolls some 2 to 4 % less in a turn, alike for sizes that are compared.
func (s Size) Circumference() float64 { return math.Pi * s.Diameter().MM() }

// TurnsPerKM is how often the tyre turns in a kilometre by its exact
// circumference, unloaded.
func (s Size) TurnsPerKM() float64 { return 1e6 / s.Circumference() }

// Limits of a new tyre's overall diameter against its size (UN R30, paragraph
// 6.1.4, from memory): 3 % of the section height less, 4 % more, and 8 % more
// of a diagonal one.
const (
	heightLeast        = 97
	heightMost         = 104
	heightMostDiagonal = 108
	heightPercentWhole = 100
)

// MakeRange is how small and how large a tyre of this size may be made: two
// makes of one size can differ by as much.
func (s Size) MakeRange() (least, most length.Micron) {
	top := length.Micron(heightMost)
	if s.Structure != Radial {
		top = heightMostDiagonal
	}
	h := 2 * s.SectionHeight()
	rim := s.Diameter() - h
	return rim + h*heightLeast/heightPercentWhole, rim + h*top/heightPercentWhole
}

// Words says what the size means, for somebody who reads it for the first
// time.
func (s Size) Words() string {
	rim := s.RimCode + " in rim"
	if s.Rim < 1000*length.MM && len(s.RimCode) == 3 {
		rim = s.RimCode + " mm rim"
	}
	if s.Form == Flotation {
		return fmt.Sprintf("%s mm over all, %s mm wide, %s, %s", s.Overall.Fixed(0), s.Width.Fixed(0), s.Structure, rim)
	}
	stated := fmt.Sprintf("side wall %d %% of that", s.Aspect)
	if !s.AspectStated {
		stated = fmt.Sprintf("side wall taken as %d %% of that, since none is stated", s.Aspect)
	}
	return fmt.Sprintf("%s mm wide, %s, %s, %s", s.Width.Fixed(0), stated, s.Structure, rim)
}
