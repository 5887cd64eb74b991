package vehicle

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"rampside/internal/apperr"
)

// factMax is the most characters that a value takes.
const factMax = 80

// Clean checks a value and gives it in the one form in which it is kept and
// compared: figures without unit or idle noughts, choices in the vocabulary's
// words, codes in capitals, dates as 2019-03-14, 2019-03 or 2019. The error's
// message is at the field "value".
func (k FactKey) Clean(value string) (string, error) {
	f := apperr.Fields{}
	v := f.Line("value", value, factMax)
	if err := f.Err(); err != nil {
		return "", err
	}
	if v == "" {
		return "", apperr.Field("value", "please give the %s", strings.ToLower(k.Label))
	}
	switch k.Kind {
	case Number:
		return k.number(v)
	case Choice:
		return k.choice(v)
	case Date:
		return partDate(v)
	case Tyre:
		return tyreSize(v)
	case Pattern:
		return studPattern(v)
	}
	return strings.ToUpper(v), nil
}

func (k FactKey) number(v string) (string, error) {
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
		return "", apperr.Field("value", "a figure, please%s", unitHint(k.Unit))
	}
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || n < k.Low || n > k.High {
		return "", apperr.Field("value", "between %s and %s%s, please", figure(k.Low), figure(k.High), spaced(k.Unit))
	}
	if _, frac, _ := strings.Cut(s, "."); len(strings.TrimRight(frac, "0")) > k.Decimals {
		if k.Decimals == 0 {
			return "", apperr.Field("value", "a whole figure, please%s", unitHint(k.Unit))
		}
		return "", apperr.Field("value", "at most %d decimal places, please", k.Decimals)
	}
	return figure(n), nil
}

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

// choice takes an option in any case, or the only one that begins with what
// was typed.
func (k FactKey) choice(v string) (string, error) {
	var near []string
	for _, o := range k.Options {
		if strings.EqualFold(o, v) {
			return o, nil
		}
		if strings.HasPrefix(strings.ToLower(o), strings.ToLower(v)) {
			near = append(near, o)
		}
	}
	if len(near) == 1 {
		return near[0], nil
	}
	return "", apperr.Field("value", "one of these, please: %s", strings.Join(k.Options, ", "))
}

var dateForms = []struct{ layout, kept string }{
	{"2006-01-02", "2006-01-02"}, {"2/1/2006", "2006-01-02"}, {"2.1.2006", "2006-01-02"}, {"2 Jan 2006", "2006-01-02"},
	{"2 January 2006", "2006-01-02"}, {"2006-01", "2006-01"}, {"1/2006", "2006-01"}, {"1.2006", "2006-01"},
	{"Jan 2006", "2006-01"}, {"January 2006", "2006-01"}, {"2006", "2006"},
}

func partDate(v string) (string, error) {
	for _, d := range dateForms {
		if t, err := time.Parse(d.layout, v); err == nil && t.Year() >= 1885 && t.Year() <= 2199 {
			return t.Format(d.kept), nil
		}
	}
	return "", apperr.Field("value", "a date, please, such as 14/3/2019, or 3/2019 or 2019 where no more is known")
}

// tyre is a size as the side wall has it: width, aspect, construction and rim,
// then load index and speed symbol (UN Regulations 30 and 54), or the older
// forms without an aspect (155 R13, 5.60-15). C and LT mark van tyres.
var tyre = regexp.MustCompile(`^(\d{2,3}|\d\.\d{2})(?:/(\d{2,3}))?(Z?R|B|D|-)(\d{2}(?:\.\d)?)(C|LT)?((?:\d{2,3}(?:/\d{2,3})?[A-Z]\d?)?)(XL|RF|EXTRALOAD)?$`)

func tyreSize(v string) (string, error) {
	m := tyre.FindStringSubmatch(strings.ReplaceAll(strings.ToUpper(v), " ", ""))
	if m == nil {
		return "", apperr.Field("value", "a tyre size as on the side wall, please, such as 205/55 R16 91V")
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
	bad := apperr.Field("value", "the number of fixings by the diameter of their circle, please, such as 5x112")
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

// Agree tells whether two cleaned values can both be true: they are equal, or
// one is the less exact form of the other (2019 and 2019-03; a tyre size with
// and without its load index).
func (k FactKey) Agree(a, b string) bool {
	if a == b {
		return true
	}
	if len(a) > len(b) {
		a, b = b, a
	}
	switch k.Kind {
	case Date:
		return strings.HasPrefix(b, a+"-")
	case Tyre:
		return strings.HasPrefix(b, a+" ")
	}
	return false
}

// Shown is a cleaned value as a page writes it, with its unit.
func (k FactKey) Shown(value string) string {
	if k.Kind == Date {
		for _, d := range []struct{ kept, shown string }{{"2006-01-02", "2 Jan 2006"}, {"2006-01", "Jan 2006"}} {
			if t, err := time.Parse(d.kept, value); err == nil {
				return t.Format(d.shown)
			}
		}
		return value
	}
	return value + spaced(k.Unit)
}
