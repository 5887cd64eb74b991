package reckonerweb

import (
	"strconv"
	"strings"

	"rampside/internal/length"
	"rampside/internal/tyre"
	"rampside/internal/wheel"
	"rampside/web/ui"
)

// mm reads a length in millimetres between two others; ok is false where the
// field is empty or wrong.
func mm(f *ui.Form, name string, low, high length.Micron) (l length.Micron, ok bool) {
	return between(f, name, low, high, length.Parse, " mm", length.Micron.Text)
}

func inch(f *ui.Form, name string, low, high length.Micron) (l length.Micron, ok bool) {
	return between(f, name, low, high, length.ParseInch, " in", wheel.InchText)
}

func between(f *ui.Form, name string, low, high length.Micron, parse func(string) (length.Micron, error), unit string, text func(length.Micron) string) (length.Micron, bool) {
	l := ui.Read(f, name, parse)
	if f.Problem(name) != "" || strings.TrimSpace(f.Get(name)) == "" {
		return 0, false
	}
	if l < low || l > high {
		f.Fail(name, "between %s and %s%s, please", text(low), text(high), unit)
		return 0, false
	}
	return l, true
}

// percent reads a figure in per cent between two others.
func percent(f *ui.Form, name string, low, high float64) (v float64, ok bool) {
	return number(f, name, low, high, "%")
}

func number(f *ui.Form, name string, low, high float64, unit string) (float64, bool) {
	s := strings.TrimSuffix(strings.ReplaceAll(f.Str(name, 20), ",", "."), unit)
	if strings.TrimSpace(s) == "" || f.Problem(name) != "" {
		return 0, false
	}
	l, err := length.Parse(s) // plain figures of three places; the unit is no matter
	v := l.MM()
	switch {
	case err != nil:
		f.Fail(name, "a figure, please, such as %s", trim(low+(high-low)/10, 1))
		return 0, false
	case v < low || v > high:
		f.Fail(name, "between %s and %s, please", trim(low, 3), trim(high, 3))
		return 0, false
	}
	return v, true
}

// size reads a tyre size.
func size(f *ui.Form, name string) (tyre.Size, bool) {
	s := ui.Read(f, name, tyre.Parse)
	return s, s.Width > 0
}

// fixed writes a figure with a number of places, trim without idle noughts,
// signed with its sign.
func fixed(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }

func trim(v float64, places int) string {
	t := fixed(v, places)
	if strings.Contains(t, ".") {
		t = strings.TrimSuffix(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" {
		return "0"
	}
	return t
}

func signed(v float64, places int) string {
	t := fixed(v, places)
	switch {
	case strings.Trim(t, "-0.") == "":
		return "0"
	case v > 0:
		return "+" + t
	}
	return t
}

// change is signed without idle noughts.
func change(v float64, places int) string {
	t := trim(v, places)
	if v > 0 && t != "0" {
		return "+" + t
	}
	return t
}

func step(label, value string) ui.Step { return ui.Step{Label: label, Value: value} }
func sum(label, value string) ui.Step  { return ui.Step{Label: label, Value: value, Sum: true} }
