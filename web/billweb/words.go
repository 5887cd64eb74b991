package billweb

import (
	"unicode"
	"unicode/utf8"

	"rampside/web/ui"
)

func docCols(taxed bool) []ui.Col {
	cols := []ui.Col{{Label: "What"}, {Label: "Quantity", Num: true}, {Label: "Each", Num: true}}
	if taxed {
		cols = append(cols, ui.Col{Label: "VAT rate", Num: true})
	}
	return append(cols, ui.Col{Label: "Net", Num: true})
}

func sumClass(strong bool) string {
	if strong {
		return "sum"
	}
	return "step"
}

// methodClass makes the first way to pay the main button.
func methodClass(i int) string {
	if i == 0 {
		return "main"
	}
	return "quiet"
}

// sentence begins with a capital.
func sentence(s string) string {
	c, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(c)) + s[n:]
}

// formValue is the form of a bill as the form sends it: only the two that can
// be chosen.
func formValue(form string) string {
	if form == "simplified" {
		return form
	}
	return ""
}

// rowOfForm is the reader of one line of a credit, on a form that may not have
// been posted yet.
func rowOfForm(f *ui.Form, n int) *ui.Form {
	if f == nil {
		f = ui.NewForm(nil)
	}
	return f.Row("line", n)
}

// stopMark is the mark of what stops a bill: a line nobody agreed to, or
// something that is not known.
func stopMark(s stopView) string {
	if s.LineID != 0 {
		return "asked"
	}
	return "not known"
}
