package cardweb

import (
	"strings"

	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/web/ui"
)

// extraView is a discount or surcharge, a menu, a fee or small material as the
// sheet shows it.
type extraView struct {
	// Kind and ID name its forms: ?do=adjustment-5.
	Kind    string
	ID      int64
	Anchor  string
	Path    string // of its writes
	What    string
	Word    string // what it is: discount, surcharge …
	Amount  string
	Steps   []ui.Step
	Notes   []string
	Struck  string // why it was struck out; empty when it was not
	Version int64

	adjustment jobcard.Adjustment
	menu       jobcard.Menu
	fee        jobcard.Fee
}

// may tells whether it can be changed.
func (x extraView) live() bool { return x.Struck == "" && x.ID != 0 }

func (v *view) adjustmentView(a jobcard.Adjustment) extraView {
	x := extraView{
		Kind: adjustment, ID: int64(a.ID), Anchor: "adjustment-" + ui.Itoa(a.ID), Path: v.Path + "/adjustments/" + ui.Itoa(a.ID),
		What: a.What, Word: "discount", Struck: a.StruckWhy, Version: int64(a.Version), adjustment: a,
	}
	if a.Up {
		x.Word = "surcharge"
	}
	return x
}

// ofLine gives the discounts, surcharges and fees of one line, and how its
// price comes about.
func (v *view) ofLine(l jobcard.Line, priced jobcard.Priced) (extras []extraView, steps []ui.Step) {
	s := v.sheet
	sum, err := priced.LineSum(l.ID)
	if err != nil { // the sheet itself could not have been read then
		return nil, nil
	}
	by := map[string]money.Minor{}
	for _, one := range sum.Lines {
		steps = append(steps, ui.Step{Label: v.what(l, one), Value: v.cash.Format(one.List)})
		for _, a := range one.Adjust {
			by[a.Text] += signed(a)
			steps = append(steps, ui.Step{Label: adjustedWords(v.cash, a), Value: v.cash.Format(signed(a))})
		}
	}
	steps = append(steps, ui.Step{Label: "net", Value: v.cash.Format(sum.LineNet), Sum: true})
	if sum.Totals.VAT != 0 {
		steps = append(steps, ui.Step{Label: "with " + s.Set.TaxName, Value: v.cash.Format(sum.Totals.Gross)})
	}
	for _, a := range s.Extras.AdjustmentsOf(l.ID) {
		x := v.adjustmentView(a)
		if !a.Struck() {
			x.Amount = v.cash.Format(by[a.What])
			x.Notes = append(x.Notes, ofWhat(v.cash, a))
		}
		extras = append(extras, x)
	}
	for _, f := range s.Extras.FeesOf(l.ID) {
		extras = append(extras, v.feeView(f))
	}
	return extras, steps
}

// what names one line of a price sheet, as it was worked out.
func (v *view) what(l jobcard.Line, one pricing.LineSum) string {
	switch one.Kind {
	case pricing.Labour:
		if l.FixedPrice != nil {
			return "labour, fixed price"
		}
		return hours.Format(l.Estimate.Likely) + " at " + v.cash.Format(l.Rate)
	case pricing.Part:
		return money.FormatQuantity(one.Qty) + " × " + one.Text + " at " + v.cash.Format(one.Price)
	case pricing.Exchange:
		return one.Text + ", " + money.FormatQuantity(one.Qty) + " at " + v.cash.Format(one.Price)
	}
	if one.AllIn {
		return one.Text + ", of " + v.cash.Format(one.List+one.Inside) + " with " + v.sheet.Set.TaxName
	}
	return one.Text
}

func signed(a pricing.Adjusted) money.Minor {
	if a.Up {
		return a.Amount
	}
	return -a.Amount
}

func adjustedWords(cash money.Currency, a pricing.Adjusted) string {
	if a.Percent != 0 {
		return a.Text + ", " + money.FormatRate(a.Percent) + " of " + cash.Format(a.Base)
	}
	return a.Text
}

// ofWhat says how an adjustment was written down.
func ofWhat(cash money.Currency, a jobcard.Adjustment) string {
	what := map[jobcard.AppliesTo]string{jobcard.ToEverything: "labour and parts", jobcard.ToLabour: "labour", jobcard.ToParts: "parts"}[a.Applies]
	if a.Percent != nil {
		return money.FormatRate(*a.Percent) + " of " + what
	}
	return cash.Format(*a.Amount) + " net on " + what
}

func (v *view) feeView(f jobcard.Fee) extraView {
	x := extraView{
		Kind: fee, ID: int64(f.ID), Anchor: "fee-" + ui.Itoa(f.ID), Path: v.Path + "/fees/" + ui.Itoa(f.ID), What: f.What, Word: "test fee",
		Struck: f.StruckWhy, Version: int64(f.Version), fee: f,
	}
	if f.Struck() {
		return x
	}
	x.Amount = v.cash.Format(f.Charged)
	how, unmet := f.Treatment()
	x.Notes = append(x.Notes, string(how))
	if len(unmet) > 0 {
		words := make([]string, len(unmet))
		for i, c := range unmet {
			words[i] = c.String()
		}
		x.Notes = append(x.Notes, "not vouched for: "+strings.Join(words, "; "))
	}
	lines, _, _, _ := f.Test(nil).Lines(pricing.VAT{Code: money.Standard, Rate: v.sheet.Rates[money.Standard]})
	for _, l := range lines {
		x.Steps = append(x.Steps, ui.Step{Label: l.Text + ", " + l.VAT.Code.Label(), Value: v.cash.Format(pricing.List(l.Price))})
	}
	return x
}

// ofCard gives what is charged and given on the card as a whole.
func (v *view) ofCard(priced jobcard.Priced) []extraView {
	s := v.sheet
	var out []extraView
	broken := map[string]jobcard.PricedMenu{}
	for _, m := range priced.Menus {
		broken[m.Key] = m
	}
	for _, m := range s.Extras.Menus {
		x := extraView{
			Kind: menu, ID: int64(m.ID), Anchor: "menu-" + ui.Itoa(m.ID), Path: v.Path + "/menus/" + ui.Itoa(m.ID), What: m.What, Word: "menu price",
			Struck: m.StruckWhy, Version: int64(m.Version), menu: m,
		}
		if !m.Struck() {
			var titles []string
			for _, id := range m.Lines {
				if l, ok := s.Line(id); ok {
					titles = append(titles, "“"+l.Title+"”")
				}
			}
			as := broken["menu:"+ui.Itoa(m.ID)]
			x.Amount = v.cash.Format(m.Net)
			x.Notes = append(x.Notes, "for "+strings.Join(titles, ", ")+", in the prices of the lines")
			x.Steps = []ui.Step{
				{Label: "the lines by themselves", Value: v.cash.Format(as.Alone)},
				{Label: "shared out over them", Value: v.cash.Format(m.Net - as.Alone)},
				{Label: "net", Value: v.cash.Format(m.Net), Sum: true},
			}
			if as.Broken != "" {
				x.Notes = append(x.Notes, "it cannot be kept any more, and is not counted: "+as.Broken)
			}
		}
		out = append(out, x)
	}
	for _, a := range s.Extras.AdjustmentsOf(0) {
		x := v.adjustmentView(a)
		if !a.Struck() {
			var sum money.Minor
			for _, c := range s.Quote.AllSum.Card {
				if c.Text == a.What && c.Up == a.Up {
					sum += signed(c.Adjusted)
					x.Steps = append(x.Steps, ui.Step{Label: adjustedWords(v.cash, c.Adjusted) + ", at " + v.vatWords(c.VAT), Value: v.cash.Format(signed(c.Adjusted))})
				}
			}
			x.Amount = v.cash.Format(sum)
			x.Notes = append(x.Notes, ofWhat(v.cash, a))
		}
		out = append(out, x)
	}
	for _, l := range s.Quote.AllSum.Lines {
		if l.Kind == pricing.Sundry {
			x := extraView{Kind: sundries, What: l.Text, Word: "small material", Amount: v.cash.Format(l.Net)}
			x.Notes = append(x.Notes, v.sundriesWords())
			out = append(out, x)
		}
	}
	return out
}

func (v *view) vatWords(t pricing.VAT) string {
	if t.Code.Taxable() {
		return money.FormatRate(t.Rate) + " " + v.sheet.Set.TaxName
	}
	return t.Code.Label()
}

// sundriesWords says what small material is charged on this card.
func (v *view) sundriesWords() string {
	s := v.sheet.Set.Sundries
	if o := v.sheet.Sundries; o != nil {
		s.Percent, s.Cap = o.Percent, o.Cap
	}
	if s.Percent == 0 {
		return "none"
	}
	w := money.FormatRate(s.Percent) + " of " + string(s.On)
	if s.Cap != nil {
		w += ", at most " + v.cash.Format(*s.Cap)
	}
	return w
}
