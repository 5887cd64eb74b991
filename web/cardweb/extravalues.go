package cardweb

import (
	"slices"
	"strings"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
)

// What the forms of prices show before anybody typed.

func plainRate(r money.Rate) string { return strings.TrimSuffix(money.FormatRate(r), "%") }

func upOptions() []ui.Option {
	return []ui.Option{{Value: "off", Label: "discount"}, {Value: "on", Label: "surcharge"}}
}

func appliesOptions() []ui.Option {
	return []ui.Option{{Value: "everything", Label: "labour and parts"}, {Value: "labour", Label: "labour only"}, {Value: "parts", Label: "parts only"}}
}

func ownOptions() []ui.Option {
	return []ui.Option{
		{Value: "own", Label: "we are the approved centre", Hint: "the fee up to the legal maximum is outside the scope of VAT"},
		{Value: "agent", Label: "another centre tests", Hint: "what it was paid is outside the scope of VAT when all of the conditions hold (VTAXPER39000, VTAXPER48000)"},
	}
}

func sundriesOptions() []ui.Option {
	return []ui.Option{{Value: "garage", Label: "as the garage charges"}, {Value: "none", Label: "none on this card"}, {Value: "own", Label: "this card's own"}}
}

func limitOptions() []ui.Option {
	return []ui.Option{{Value: "lines", Label: "each of these lines"}, {Value: "card", Label: "the whole card"}}
}

func adjustValue(a jobcard.Adjustment, name string) string {
	switch name {
	case "what":
		return a.What
	case "up":
		if a.Up {
			return "on"
		}
		return "off"
	case "percent":
		if a.Percent != nil {
			return plainRate(*a.Percent)
		}
	case "amount":
		if a.Amount != nil {
			return money.FormatPlain(*a.Amount)
		}
	case "applies":
		if a.Applies == "" {
			return string(jobcard.ToEverything)
		}
		return string(a.Applies)
	}
	return ""
}

func menuValue(m jobcard.Menu, name string) string {
	switch {
	case m.ID == 0:
		return ""
	case name == "net":
		return money.FormatPlain(m.Net)
	}
	return m.What
}

// menuChoices are the lines that a menu may take: not those in another one, or
// with a discount of their own.
func menuChoices(v *view, m jobcard.Menu) []choice {
	var out []choice
	for _, l := range v.Lines {
		other, in := v.sheet.Extras.MenuOf(l.ID)
		own := slices.ContainsFunc(v.sheet.Extras.AdjustmentsOf(l.ID), func(a jobcard.Adjustment) bool { return !a.Struck() })
		if l.Struck() || in && other.ID != m.ID || own {
			continue
		}
		on := slices.Contains(m.Lines, l.ID)
		if v.Form != nil {
			on = hasValue(v.Form, "lines", ui.Itoa(l.ID))
		}
		out = append(out, choice{ui.Itoa(l.ID), l.Title + ", " + l.Price, on})
	}
	return out
}

func feeValue(f jobcard.Fee, name string) string {
	switch name {
	case "what":
		return f.What
	case "class":
		return f.Class
	case "charged":
		if f.Charged != 0 {
			return money.FormatPlain(f.Charged)
		}
	case "paid":
		if f.Paid != 0 {
			return money.FormatPlain(f.Paid)
		}
	case "own":
		if f.ID != 0 && !f.Own {
			return "agent"
		}
		return "own"
	}
	return ""
}

func exchangeValue(p jobcard.Part, name string) string {
	switch {
	case name == "back":
		return money.FormatQuantity(p.ExchangeBack)
	case p.Exchange != nil:
		return money.FormatPlain(*p.Exchange)
	}
	return ""
}

func sundriesValue(c jobcard.Card, name string) string {
	o := c.Sundries
	switch {
	case name == "how" && o == nil:
		return "garage"
	case name == "how" && o.Percent == 0:
		return "none"
	case name == "how":
		return "own"
	case o == nil || o.Percent == 0:
		return ""
	case name == "percent":
		return plainRate(o.Percent)
	case o.Cap != nil:
		return money.FormatPlain(*o.Cap)
	}
	return ""
}
