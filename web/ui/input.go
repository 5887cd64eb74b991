package ui

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/a-h/templ"
	"github.com/google/uuid"
)

// Input is what one field shows. Form.Field makes one with what was typed and
// what was wrong with it; the methods say more about it and give it back.
type Input struct {
	Name     string
	Label    string
	Value    string
	Hint     string
	Problem  string
	Required bool

	kind     string
	mode     string
	complete string
	max      int
	lines    int
	optional bool
	focus    bool
	short    bool
	suggest  []string
	extra    templ.Attributes
}

// Option is one choice of a Select or RadioGroup.
type Option struct {
	Value string
	Label string
	Hint  string
}

// OptionsOf makes choices whose words are their values.
func OptionsOf[T ~string](words ...T) []Option {
	out := make([]Option, len(words))
	for i, w := range words {
		out[i] = Option{Value: string(w), Label: sentence(string(w))}
	}
	return out
}

// Field gives the input of a field with what was typed into it. It works on a
// nil form, for a page nobody has posted yet.
func (f *Form) Field(name, label string) Input {
	full := name
	if f != nil {
		full = f.prefix + name
	}
	return Input{Name: full, Label: label, Value: f.Get(name), Problem: f.Problem(name)}
}

// Of sets the value to show where nothing was typed yet.
func (in Input) Of(value string) Input {
	if in.Value == "" && in.Problem == "" {
		in.Value = value
	}
	return in
}

// Kind sets the type of the input, such as date, tel, email or password.
func (in Input) Kind(kind string) Input { in.kind = kind; return in }

// Must says that the field has to be filled in.
func (in Input) Must() Input { in.Required = true; return in }

// IfKnown marks the field as one that may stay empty.
func (in Input) IfKnown() Input { in.optional = true; return in }

// Say sets the hint below the field.
func (in Input) Say(hint string) Input { in.Hint = hint; return in }

// Max sets the most characters the browser lets in; the reader's own limit
// still decides.
func (in Input) Max(n int) Input { in.max = n; return in }

// Lines sets the height of a TextArea.
func (in Input) Lines(n int) Input { in.lines = n; return in }

// Focus puts the cursor here when the page opens. One to a page.
func (in Input) Focus() Input { in.focus = true; return in }

// Short is for a figure, a time or a mark: a narrow field with figures that
// line up.
func (in Input) Short() Input { in.short = true; return in }

// Digits asks a tablet for its number keys.
func (in Input) Digits() Input { in.mode = "numeric"; in.short = true; return in }

// Decimal asks a tablet for its number keys with a point.
func (in Input) Decimal() Input { in.mode = "decimal"; in.short = true; return in }

// Complete names what a browser may fill in by itself, such as
// current-password, name or tel.
func (in Input) Complete(what string) Input { in.complete = what; return in }

// Suggest offers values without insisting on them.
func (in Input) Suggest(values []string) Input { in.suggest = values; return in }

// With adds an attribute, such as data-find.
func (in Input) With(name, value string) Input {
	in.extra = maps.Clone(in.extra)
	if in.extra == nil {
		in.extra = templ.Attributes{}
	}
	in.extra[name] = value
	return in
}

func (in Input) id() string { return fieldID(in.Name) }

func fieldID(name string) string { return "f-" + strings.ReplaceAll(name, ".", "-") }

// pickers are the kinds whose field shows nothing at all unless its value has
// this form.
var pickers = map[string]string{"date": "2006-01-02", "time": "15:04", "datetime-local": "2006-01-02T15:04", "month": "2006-01"}

// typ gives the kind of the field; one that could not show what was typed is a
// plain one, so that it is kept.
func (in Input) typ() string {
	if in.kind == "" {
		return "text"
	}
	if layout, ok := pickers[in.kind]; ok && in.Value != "" {
		if _, err := time.Parse(layout, in.Value); err != nil {
			return "text"
		}
	}
	return in.kind
}

func (in Input) rows() int { return max(2, in.lines) }

func (in Input) ticked() bool { return in.Value == "yes" || in.Value == "on" || in.Value == "true" }

func (in Input) wrapClass() string {
	class := "field"
	if in.short {
		class += " short"
	}
	if in.Problem != "" {
		class += " wrong"
	}
	return class
}

func (in Input) attrs() templ.Attributes {
	a := in.groupAttrs()
	if in.Required {
		a["required"] = true
	}
	if in.focus {
		a["autofocus"] = true
	}
	if in.max > 0 {
		a["maxlength"] = strconv.Itoa(in.max)
	}
	for name, v := range map[string]string{"inputmode": in.mode, "autocomplete": in.complete} {
		if v != "" {
			a[name] = v
		}
	}
	if in.complete == "" && in.kind != "checkbox" {
		a["autocomplete"] = "off"
	}
	if len(in.suggest) > 0 {
		a["list"] = in.id() + "-list"
	}
	maps.Copy(a, in.extra)
	return a
}

func (in Input) groupAttrs() templ.Attributes {
	a := templ.Attributes{}
	var by []string
	if in.Hint != "" {
		by = append(by, in.id()+"-hint")
	}
	if in.Problem != "" {
		by = append(by, in.id()+"-problem")
		a["aria-invalid"] = "true"
	}
	if len(by) > 0 {
		a["aria-describedby"] = strings.Join(by, " ")
	}
	return a
}

type problemLine struct{ Field, Message string }

func (f *Form) problemLines() []problemLine {
	if f == nil || (len(f.Fields) == 0 && f.Summary == "" && f.fatal == nil) {
		return nil
	}
	lines := []problemLine{{}}
	for _, name := range f.wrongFields() {
		label, ok := f.labels[name]
		if !ok {
			label = fieldLabel(name)
		}
		lines = append(lines, problemLine{name, label + ": " + f.Fields[name]})
	}
	return lines
}

// wrongFields lists the fields with a message: as they were found, then what a
// handler put into Fields by itself.
func (f *Form) wrongFields() []string {
	names := slices.Clone(*f.order)
	for _, name := range slices.Sorted(maps.Keys(f.Fields)) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

func (f *Form) summary() string {
	switch {
	case f.fatal != nil:
		return messageOf(f.fatal)
	case f.Summary != "":
		return f.Summary
	case len(f.Fields) == 1:
		return "one field needs another look"
	}
	return strconv.Itoa(len(f.Fields)) + " fields need another look"
}

// Sentence begins a remark with a capital and ends it with a stop.
func Sentence(s string) string { return sentence(s) }

// sentence begins a message with a capital and ends it with a stop.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	s = string(unicode.ToUpper(r)) + s[n:]
	return s
}

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

func newKey() string { return uuid.NewString() }
