package einvoice

import (
	"fmt"
	"strings"
)

// Finding is one rule that a document breaks.
type Finding struct {
	Rule  string // "BR-CO-10"
	Where string // "line 2", "the document"
	Says  string
}

func (f Finding) String() string { return fmt.Sprintf("%s (%s): %s", f.Rule, f.Where, f.Says) }

// Findings are the rules that a document breaks, as an error.
type Findings []Finding

func (f Findings) Error() string {
	s := make([]string, len(f))
	for i, one := range f {
		s[i] = one.String()
	}
	return strings.Join(s, "; ")
}

// rule is one rule of EN 16931 (BR-) or Peppol BIS Billing 3.0 (PEPPOL-). broken
// tells where a document breaks it, "" when it keeps it.
type rule struct {
	id, says string
	broken   func(in *Invoice) string
}

// Rules lists the identifiers of all rules that Check holds, in order.
func Rules() []string {
	ids := make([]string, len(rules))
	for i, r := range rules {
		ids[i] = r.id
	}
	return ids
}

// Check holds a document against every rule; a rule that is broken in several
// places is told once, with the first. None means that the document is right.
func Check(in Invoice) Findings {
	var f Findings
	for _, r := range rules {
		if where := r.broken(&in); where != "" {
			f = append(f, Finding{r.id, where, r.says})
		}
	}
	return f
}

const document = "the document"

// when makes a rule of a condition on the whole document that must not hold.
func when(id, says string, bad func(in *Invoice) bool) rule {
	return rule{id, says, func(in *Invoice) string {
		if bad(in) {
			return document
		}
		return ""
	}}
}

// eachLine makes a rule of a condition on a line that must not hold.
func eachLine(id, says string, bad func(l Line) bool) rule {
	return rule{id, says, func(in *Invoice) string {
		for i, l := range in.Lines {
			if bad(l) {
				return fmt.Sprint("line ", i+1)
			}
		}
		return ""
	}}
}

// eachLineAdjust makes a rule about the allowances or the charges of lines.
func eachLineAdjust(id, says string, charge bool, bad func(a AllowanceCharge) bool) rule {
	return eachLine(id, says, func(l Line) bool { return anyOf(l.Adjust, charge, bad) })
}

// eachAdjust makes a rule about the allowances or charges of the document.
func eachAdjust(id, says string, charge bool, bad func(a AllowanceCharge) bool) rule {
	return when(id, says, func(in *Invoice) bool { return anyOf(in.Adjust, charge, bad) })
}

func anyOf(list []AllowanceCharge, charge bool, bad func(a AllowanceCharge) bool) bool {
	for _, a := range list {
		if a.Charge == charge && bad(a) {
			return true
		}
	}
	return false
}

// allAdjust makes a rule about every allowance and charge, wherever it stands.
func allAdjust(id, says string, bad func(a AllowanceCharge) bool) rule {
	return when(id, says, func(in *Invoice) bool {
		if anyOf(in.Adjust, true, bad) || anyOf(in.Adjust, false, bad) {
			return true
		}
		for _, l := range in.Lines {
			if anyOf(l.Adjust, true, bad) || anyOf(l.Adjust, false, bad) {
				return true
			}
		}
		return false
	})
}

// eachBreakdown makes a rule about the lines of the VAT breakdown.
func eachBreakdown(id, says string, bad func(in *Invoice, b Breakdown) bool) rule {
	return rule{id, says, func(in *Invoice) string {
		for _, b := range in.Breakdown {
			if bad(in, b) {
				return "VAT category " + string(b.Tax.Category)
			}
		}
		return ""
	}}
}

// rules are all of them.
var rules = slicesOf(presence, sums, categoryRules(Standard, "S"), categoryRules(Zero, "Z"), categoryRules(Exempt, "E"), outsideRules, codeRules, peppolRules)

func slicesOf(groups ...[]rule) []rule {
	var out []rule
	for _, g := range groups {
		out = append(out, g...)
	}
	return out
}

// blank tells whether nothing of a text would be written.
func blank[T ~string](s T) bool { return clean(string(s)) == "" }
