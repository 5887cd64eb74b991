package cardweb

import (
	"slices"
	"strconv"

	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
)

// What the fields of the sheet's forms show before anybody typed.

func rowClass(struck bool) string {
	if struck {
		return "row struck-row"
	}
	return "row"
}

func partClass(struck bool) string {
	if struck {
		return "part struck-row"
	}
	return "part"
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// tickOf gives the state of a box before its form was posted; afterwards an
// empty box means no.
func tickOf(f *ui.Form, on bool) string {
	if f == nil && on {
		return "yes"
	}
	return ""
}

func mustOptions() []ui.Option {
	return []ui.Option{{Value: "yes", Label: "must do"}, {Value: "no", Label: "if there is time"}}
}

func vatOptions() []ui.Option {
	var out []ui.Option
	for _, c := range money.VATCodes() {
		out = append(out, ui.Option{Value: string(c), Label: c.Label()})
	}
	return out
}

func sourceOptions() []ui.Option {
	return []ui.Option{{Value: "garage", Label: "the garage"}, {Value: "customer", Label: "the customer's own"}}
}

func labourOptions(v *view) []ui.Option {
	var out []ui.Option
	for _, t := range v.Lists.LabourTypes {
		out = append(out, ui.Option{Value: ui.Itoa(t.ID), Label: t.Name + ", " + v.cash.Format(t.Rate)})
	}
	return out
}

func supplierOptions(v *view) []ui.Option {
	out := []ui.Option{{Value: "", Label: "not chosen"}}
	for _, s := range v.Lists.Suppliers {
		out = append(out, ui.Option{Value: ui.Itoa(s.ID), Label: s.Name})
	}
	return out
}

func lineOptions(v *view) []ui.Option {
	out := []ui.Option{{Value: "", Label: "the card as a whole"}}
	for _, l := range v.Lines {
		if !l.Struck() {
			out = append(out, ui.Option{Value: ui.Itoa(l.ID), Label: l.Title})
		}
	}
	return out
}

func visitValue(v *view, name string) string {
	s := v.sheet
	switch name {
	case "booked_for":
		return s.BookedFor.String()
	case "arrives_at":
		return local(s.ArrivesAt, s.Zone)
	case "promised_at":
		return local(s.PromisedAt, s.Zone)
	case "mileage":
		if s.Mileage != nil {
			return strconv.Itoa(*s.Mileage)
		}
	case "mileage_unit":
		return s.MileageUnit
	case "keys_note":
		return s.KeysNote
	case "contact_name":
		return s.ContactName
	case "contact_phone":
		return s.ContactPhone
	case "customer_words":
		return s.CustomerWords
	}
	return ""
}

func lineValue(l lineView, name string) string {
	switch name {
	case "low":
		return hours.FormatBare(l.Estimate.Low)
	case "likely":
		return hours.FormatBare(l.Estimate.Likely)
	case "high":
		return hours.FormatBare(l.Estimate.High)
	case "rate":
		return money.FormatPlain(l.Rate)
	case "fixed_price":
		if l.FixedPrice != nil {
			return money.FormatPlain(*l.FixedPrice)
		}
	case "assigned_to":
		if l.AssignedTo != 0 {
			return ui.Itoa(l.AssignedTo)
		}
	}
	return ""
}

func partAction(v *view, p *partView) string {
	if p == nil {
		return v.Path + "/parts"
	}
	return p.Path
}

func partValue(p *partView, name string) string {
	if p == nil {
		return map[string]string{"qty": "1", "source": "garage", "supply": "needed", "vat_code": "standard"}[name]
	}
	switch name {
	case "name":
		return p.Name
	case "number":
		return p.Number
	case "qty":
		return p.Qty
	case "supplier":
		if p.SupplierID != 0 {
			return ui.Itoa(p.SupplierID)
		}
	case "cost":
		return money.FormatPlain(p.Part.Cost)
	case "mark_up":
		if p.MarkUp != nil {
			return money.FormatRate(*p.MarkUp)
		}
	case "price":
		if p.Part.Price != nil {
			return money.FormatPlain(*p.Part.Price)
		}
	case "source":
		return string(p.Source)
	case "supply":
		return string(p.Supply)
	case "vat_code":
		return string(p.VATCode)
	}
	return ""
}

func dueValue(v *view, p *partView) string {
	if p == nil {
		return ""
	}
	return local(p.DueAt, v.sheet.Zone)
}

// place is where a line goes when it moves a step up or down.
func place(l lineView, by int) string {
	return strconv.Itoa(min(max(l.Position+by, 1), jobcard.MaxLines))
}

// choice is one box of a list.
type choice struct {
	Value, Label string
	On           bool
}

func cautionChoices(f *ui.Form, l lineView) []choice {
	var out []choice
	for _, c := range caution.All() {
		on := slices.Contains(l.Line.Cautions, c.Key)
		if f != nil {
			on = hasValue(f, "cautions", string(c.Key))
		}
		out = append(out, choice{string(c.Key), c.Title, on})
	}
	return out
}

// answerField shows what was typed into the answer's form, and nothing of
// another form that is open at the same time.
func answerField(v *view, name, label string) ui.Input {
	if v.Do.verb == answerAll {
		return v.Form.Field(name, label)
	}
	var none *ui.Form
	return none.Field(name, label)
}

func trimFloat(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// ticked tells whether a line's box in the answer's form is on: what is asked
// begins ticked.
func ticked(v *view, l jobcard.Line) bool {
	if v.Do.verb == answerAll && v.Form != nil {
		return hasValue(v.Form, "lines", ui.Itoa(l.ID))
	}
	return l.Consent == jobcard.Asked
}
