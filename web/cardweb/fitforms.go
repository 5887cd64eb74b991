package cardweb

import (
	"net/url"
	"strconv"
	"strings"

	"rampside/internal/assembly"
	"rampside/internal/fact"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/web/ui"
)

// What the fields of the forms about fit show.

// spareRows is how many empty rows a form of conditions offers.
const spareRows = 3

type condRow struct {
	N int
	fitment.Row
}

// condRows are the rows of a part's conditions: as typed, or as they stand,
// with some to spare.
func condRows(v *view, p partView) []condRow {
	var rows []fitment.Row
	if v.Form != nil {
		rows = readRows(v.Form)
	} else {
		rows = p.Fitness.Rows
	}
	var out []condRow
	for i, r := range rows {
		out = append(out, condRow{i, r})
	}
	for n := len(rows); len(out) < min(len(rows)+spareRows, fitment.MaxRows); n++ {
		letter := fitment.Letters[min(len(distinct(rows))+n-len(rows), len(fitment.Letters)-1)]
		out = append(out, condRow{n, fitment.Row{Letter: letter, Way: fitment.WayIs}})
	}
	return out
}

func distinct(rows []fitment.Row) map[string]bool {
	m := map[string]bool{}
	for _, r := range rows {
		m[r.Letter] = true
	}
	return m
}

// condField is a field of a row; its message stands where the service put it.
func condField(v *view, r condRow, name, label, value string) ui.Input {
	if v.Form == nil {
		return (*ui.Form)(nil).Field("cond."+strconv.Itoa(r.N)+"."+name, label).Of(value)
	}
	return v.Form.Row("cond", r.N).Field(name, label).Of(value)
}

func letterOptions() []ui.Option { return ui.OptionsOf(fitment.Letters...) }

func keyOptions() []ui.Option {
	out := []ui.Option{{Label: "no condition"}}
	for _, k := range fact.Vocabulary() {
		out = append(out, ui.Option{Value: k.Key, Label: k.Titled()})
	}
	return out
}

func wayOptions() []ui.Option {
	var out []ui.Option
	for _, w := range fitment.Ways {
		out = append(out, ui.Option{Value: string(w), Label: string(w)})
	}
	return out
}

// kindOf is the kind whose fields are shown: as asked, as typed, or as it is.
func kindOf(v *view, p partView) assembly.Kind {
	for _, k := range []string{v.Form.Get("kind"), v.AskedKind, p.Fitness.Kind} {
		if kind := assembly.Kind(k); k != "" && kind.Valid() {
			return kind
		}
	}
	return assembly.Other
}

func kindLink(v *view, p partView, k assembly.Kind) string {
	return v.Path + "?do=" + whatItIs + "-" + ui.Itoa(p.ID) + "&kind=" + url.QueryEscape(string(k)) + "#" + p.Anchor
}

// propField is the field of a property of a part.
func propField(v *view, p partView, k fact.Key) ui.Input {
	in := v.Form.Field("props."+k.Key, k.Titled()).Max(fact.ValueMax).Say(k.How)
	if v.Form == nil {
		in = in.Of(p.Fitness.Props[k.Key])
	}
	if k.Kind == fact.Number {
		in = in.Decimal()
	}
	return in
}

func propOptions(k fact.Key) []ui.Option {
	return append([]ui.Option{{Label: "not known"}}, ui.OptionsOf(k.Options...)...)
}

func isChoice(k fact.Key) bool { return k.Kind == fact.Choice }

// handVerdicts are what a hand may say.
func handVerdicts(p partView) []ui.Option {
	out := ui.OptionsOf(jobcard.Fits, jobcard.DoesNotFit, jobcard.CannotTell)
	return append(out, ui.Option{Value: string(jobcard.Unchecked), Label: "Take it back", Hint: "to be judged anew"})
}

// handValue is what was said by hand, if anything was.
func handValue(p partView) string {
	if p.VerdictHow == jobcard.ByHand && p.Verdict != jobcard.Unchecked {
		return string(p.Verdict)
	}
	return ""
}

// fitOpen tells whether the whole panel of a part's fit is open.
func (v *view) fitOpen(p partView) bool { return v.May && v.Do.is(verdict, int64(p.ID)) }

// factNames lists what facts are called in conditions.
func factNames() string {
	var out []string
	for _, k := range fact.Vocabulary() {
		out = append(out, k.Name())
	}
	return strings.Join(out, ", ")
}
