package tyre

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/length"
)

// ErrSize is what is said of something that is no tyre size.
var ErrSize = errors.New("a tyre size as on the side wall, please, such as 205/55 R16 91V")

// ErrEmpty is what is said of nothing.
var ErrEmpty = errors.New("enter the tyre size, such as 205/55 R16 91V")

// sizeMax is the most characters that a side wall's size takes.
const sizeMax = 80

// The forms of a size at the head of what was typed. Rims of whole millimetres
// are those that were made.
var (
	metricForm = regexp.MustCompile(`^(P|LT|ST|T|HL)? ?(\d{2,3}) ?/ ?(\d{2,3}) ?/? ?(ZRF|ZR|RF|[QSTUHV]R|R|D|B|-) ?(315|340|365|390|415|440|450|460|480|490|500|520|540|\d{1,2}(?:\.5)?)(?: ?(CP|C|LT))?`)
	plainForm  = regexp.MustCompile(`^(\d{3}) ?([QSTUHV]R|ZR|R|-) ?(\d{2})(?: ?(C|LT))?`)
	// As it is said and typed in haste, without the letter: 205 55 16,
	// 205/55/16, 205-55 R16, 2055516. Every such tyre is a radial by now.
	hastyForm = regexp.MustCompile(`^(P|LT)? ?(\d{3})(?: ?[ /.-] ?([2-9]\d) ?(?:[ /.-] ?R?|R) ?|([2-9]\d))([12]\d)(C\b|\b)"?`)
	floatForm = regexp.MustCompile(`^(LT)? ?(\d{2}(?:\.\d{1,2})?) ?X ?(\d{1,2}(?:\.\d{1,2})?|\d{3,4}) ?(ZR|R|D|B|-) ?(\d{2}(?:\.5)?)(?: ?(LT|C))?`)
	inchForm  = regexp.MustCompile(`^(\d{1,2}\.\d{1,2}|\d{1,2}(?:R| R)) ?(R|D|B|-|X)? ?(\d{1,2}(?:\.5)?)(?: ?(C|LT))?`)

	serviceForm = regexp.MustCompile(`^(\()?(\d{1,3})(?: ?/ ?(\d{1,3}))?(?: ?(?:(\([WY]\))|(A[1-8]|[B-HJ-NP-WY])(?:\b|$))|(?:\b|$))\)?`)
)

// Parse reads a size as a side wall has it. Case and blanks do not matter, and
// neither does the sign between inches; a service description, also a second
// one in brackets, and the usual marks may follow.
func Parse(text string) (Size, error) {
	t := tidy(text)
	switch {
	case t == "":
		return Size{}, ErrEmpty
	case len(t) > sizeMax:
		return Size{}, ErrSize
	}
	s, rest, err := sizeAt(t)
	if err != nil {
		return Size{}, err
	}
	if err := s.readRest(rest); err != nil {
		return Size{}, err
	}
	return s, s.check()
}

var oddSigns = strings.NewReplacer("×", "X", "⨯", "X", ",", ".", "–", "-", "—", "-", "−", "-", "\u00a0", " ", "\\", "/", "EXTRA LOAD", "XL", "EXTRALOAD", "XL", "REINFORCED", "XL", "REINF", "XL", "RUN FLAT", "RFT", "RUNFLAT", "RFT")

// starred is a star for the cross between two figures; elsewhere it is a
// maker's mark.
var starred = regexp.MustCompile(`(\d) ?\* ?(\d)`)

func tidy(text string) string {
	t := oddSigns.Replace(strings.ToUpper(strings.Join(strings.Fields(text), " ")))
	return strings.Trim(starred.ReplaceAllString(t, "${1}X$2"), " .;")
}

// sizeAt reads the size itself and gives what comes after it.
func sizeAt(t string) (s Size, rest string, err error) {
	if m := metricForm.FindStringSubmatch(t); m != nil {
		s = Size{Form: Metric, Prefix: m[1], Use: m[6], width: m[2], aspect: m[3], RimCode: m[5], AspectStated: true}
		s.Width, s.Aspect = length.Micron(number(m[2]))*length.MM, number(m[3])
		s.structure(m[4])
		return s, t[len(m[0]):], s.rim()
	}
	if m := hastyForm.FindStringSubmatch(t); m != nil {
		aspect := m[3] + m[4]
		s = Size{Form: Metric, Prefix: m[1], Use: m[6], width: m[2], aspect: aspect, RimCode: m[5], AspectStated: true, Structure: Radial}
		s.Width, s.Aspect = length.Micron(number(m[2]))*length.MM, number(aspect)
		return s, t[len(m[0]):], s.rim()
	}
	if m := floatForm.FindStringSubmatch(t); m != nil {
		s = Size{Form: Flotation, Prefix: m[1], Use: m[6], RimCode: m[5], AspectStated: true}
		section := m[3]
		if len(section) > 2 && !strings.Contains(section, ".") {
			section = section[:len(section)-2] + "." + section[len(section)-2:]
		}
		if whole, frac, ok := strings.Cut(section, "."); ok {
			section = whole + "." + (frac + "0")[:2]
		}
		s.width = m[2] + "x" + section
		s.Overall, s.Width = inches(m[2]), inches(section)
		s.structure(m[4])
		if err := s.rim(); err != nil {
			return Size{}, "", err
		}
		if s.Width > 0 {
			s.Aspect = int((100*(s.Overall-s.Rim)/2 + s.Width/2) / s.Width)
		}
		return s, t[len(m[0]):], nil
	}
	if m := plainForm.FindStringSubmatch(t); m != nil {
		s = Size{Form: Metric, Use: m[4], width: m[1], RimCode: m[3], Aspect: aspectRadial}
		s.Width = length.Micron(number(m[1])) * length.MM
		s.structure(m[2])
		return s, t[len(m[0]):], s.rim()
	}
	if m := inchForm.FindStringSubmatch(t); m != nil {
		return inchSize(t, m)
	}
	return Size{}, "", ErrSize
}

func inchSize(t string, m []string) (Size, string, error) {
	s := Size{Form: InchForm, Use: m[4], RimCode: m[3], Aspect: aspectInch}
	width, code := m[1], m[2]
	if w, ok := strings.CutSuffix(width, "R"); ok { // 11 R22.5
		if code != "" {
			return Size{}, "", ErrSize
		}
		width, code = strings.TrimSpace(w), "R"
	} else {
		whole, frac, _ := strings.Cut(width, ".")
		width = whole + "." + (frac + "0")[:2]
	}
	if code == "" {
		return Size{}, "", ErrSize
	}
	s.width, s.Width = width, inches(width)
	if code == "X" {
		code = "-"
	}
	s.structure(code)
	switch {
	case strings.HasSuffix(s.RimCode, ".5"):
		s.Aspect = aspectTubeless
	case s.Use != "":
		s.Aspect = aspectVanInch
	}
	return s, t[len(m[0]):], s.rim()
}

func (s *Size) structure(code string) {
	switch code {
	case "D", "-":
		s.Structure = Diagonal
		return
	case "B":
		s.Structure = BiasBelted
		return
	}
	s.Structure = Radial
	s.ZR = strings.HasPrefix(code, "Z")
	s.RunFlat = strings.HasSuffix(code, "F")
	if len(code) == 2 && !s.ZR && !s.RunFlat { // 155SR13: the symbol within the size
		s.Within = code[:1]
	}
}

func (s *Size) rim() error {
	if len(s.RimCode) == 3 && !strings.Contains(s.RimCode, ".") {
		s.Rim = length.Micron(number(s.RimCode)) * length.MM
		return nil
	}
	s.Rim = inches(s.RimCode)
	if s.Rim < 8*length.Inch || s.Rim > 30*length.Inch {
		return errors.New("a rim of 8 to 30 inches, please, as on the side wall after the R")
	}
	return nil
}

// marks are what may follow the service description, by what is kept of it.
var marks = map[string]string{
	"XL": "XL", "RF": "XL", "EL": "XL", "HL": "HL", "SL": "SL", "M+S": "M+S", "M&S": "M+S", "MS": "M+S", "M/S": "M+S", "3PMSF": "3PMSF", "TL": "TL", "TUBELESS": "TL",
	"TT": "TT", "RFT": "RFT", "ROF": "RFT", "SSR": "RFT", "ZP": "RFT", "SEAL": "SEAL", "FP": "FP", "FR": "FR", "MFS": "MFS", "POR": "POR", "ET": "ET", "FRT": "FRT",
}

var plies = regexp.MustCompile(`^\d{1,2} ?PR\b`)
var loadRange = regexp.MustCompile(`^(?:LR|LOAD RANGE) ?([B-N])\b`)

func (s *Size) readRest(rest string) error {
	s.Service, s.Second = Service{Dual: -1}, Service{Dual: -1}
	for rest = strings.TrimSpace(rest); rest != ""; rest = strings.TrimSpace(rest) {
		if m := plies.FindString(rest); m != "" {
			s.addMark(strings.ReplaceAll(m, " ", ""))
			rest = rest[len(m):]
			continue
		}
		if m := loadRange.FindStringSubmatch(rest); m != nil {
			s.addMark("LR" + m[1])
			rest = rest[len(m[0]):]
			continue
		}
		if m := serviceForm.FindStringSubmatch(rest); m != nil && !s.Second.Given {
			v, err := serviceOf(m)
			if err != nil {
				return err
			}
			// In brackets, the first one means more than the symbol's speed,
			// and a second one is another pair that the tyre may be used at.
			if s.Service.Given {
				s.Second = v
			} else {
				v.Above = v.Above || m[1] != "" && v.Speed != ""
				s.Service = v
			}
			rest = rest[len(m[0]):]
			continue
		}
		word, after, _ := strings.Cut(rest, " ")
		kept, ok := marks[word]
		if !ok {
			return fmt.Errorf("%.12q is not part of a tyre size here; leave it out, please", word)
		}
		s.addMark(kept)
		rest = after
	}
	return nil
}

func (s *Size) addMark(m string) {
	if !slices.Contains(s.Marks, m) {
		s.Marks = append(s.Marks, m)
	}
}

func serviceOf(m []string) (Service, error) {
	v := Service{Given: true, Single: number(m[2]), Dual: -1, Speed: m[5]}
	if m[4] != "" {
		v.Speed, v.Above = m[4][1:2], true
	}
	if m[3] != "" {
		v.Dual = number(m[3])
	}
	if v.Single > LoadIndexMost || v.Dual > LoadIndexMost {
		return v, fmt.Errorf("a load index lies between 0 and %d", LoadIndexMost)
	}
	if v.Dual > v.Single {
		return v, errors.New("the second load index is for twin wheels and is not higher than the first")
	}
	return v, nil
}

func (s Size) check() error {
	low, high := 75*length.MM, 455*length.MM
	switch {
	case s.Width < low || s.Width > high:
		return errors.New("a width between 75 and 455 mm, please, as on the side wall")
	case s.Form == Metric && s.AspectStated && (s.Aspect < 20 || s.Aspect > 110):
		return errors.New("an aspect ratio between 20 and 110, please: it stands after the stroke")
	case s.Form == Flotation && (s.Overall <= s.Rim+50*length.MM || s.Overall > 54*length.Inch):
		return errors.New("the first figure is the diameter of the tyre in inches, larger than the rim")
	}
	return nil
}

// number reads figures that the form has counted.
func number(s string) int {
	n, _ := strconv.Atoi(s) // three digits at most
	return n
}

// inches reads a figure of at most two places, exactly.
func inches(s string) length.Micron {
	whole, frac, _ := strings.Cut(s, ".")
	n := number(whole)*100 + number((frac + "00")[:2])
	return length.Micron(n) * length.Inch / 100
}
