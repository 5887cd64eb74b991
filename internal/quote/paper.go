package quote

import (
	"fmt"
	"strconv"
	"strings"

	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Paper is the version as a document to print. link, when there is one, is
// where it can be answered, drawn as a code.
func (v *Version) Paper(link string) paper.Quote {
	cur, loc := v.Garage.Money(), v.Garage.Location()
	day := func(d workday.Day) string { return d.Long() }
	q := paper.Quote{
		Kind: v.Kind.Title(), Number: v.Name(), Sign: true,
		Top: paper.Top{
			At:   v.IssuedAt,
			From: paper.Party{Name: v.Garage.Name, Address: v.Garage.Address, Phone: v.Garage.Phone, Email: v.Garage.Email, VATNumber: v.Garage.VATNumber},
			To:   paper.Party{Name: v.Customer.Name, Address: v.Customer.Address},
			Facts: []paper.Fact{
				{Label: "Issued", Value: day(workday.Of(v.IssuedAt, loc))}, {Label: "Can be agreed to until", Value: day(v.LastDay())},
				{Label: "Car", Value: v.Car.Name}, {Label: "Registration", Value: v.Car.Mark}, {Label: "Mileage", Value: v.Car.MileageText()},
				{Label: "Card", Value: fmt.Sprint(v.CardID)},
			},
		},
		Opening: []string{v.Kind.Means()},
	}
	if link != "" {
		q.Link, q.LinkSays = link, "Say yes or no to each line here"
	}
	if v.Words != "" {
		q.Opening = append(q.Opening, "You told us: “"+strings.Join(strings.Fields(v.Words), " ")+"”")
	}
	if v.Note != "" {
		q.Opening = append(q.Opening, v.Note)
	}
	var running money.Minor
	for _, j := range append(v.Jobs[:len(v.Jobs):len(v.Jobs)], v.Rest) {
		if j.Title == "" {
			continue
		}
		q.Rows = append(q.Rows, v.paperJob(j, cur, &running)...)
	}
	q.Totals = []paper.Amount{{Label: "Total", Value: cur.Format(v.Totals.Gross), Strong: true}}
	if !v.Garage.Registered() {
		q.Notes = v.paperNotes()
		return q
	}
	for _, t := range v.Totals.ByRate {
		q.Taxes = append(q.Taxes, paper.Tax{Label: RateWords(t.Code, t.Rate), Net: cur.Format(t.Net), VAT: cur.Format(t.VAT)})
	}
	q.Totals = append([]paper.Amount{
		{Label: "Without " + v.Garage.TaxName, Value: cur.Format(v.Totals.Net)}, {Label: v.Garage.TaxName, Value: cur.Format(v.Totals.VAT)},
	}, q.Totals...)
	q.Notes = v.paperNotes()
	return q
}

func (v *Version) paperJob(j Job, cur money.Currency, running *money.Minor) []paper.Row {
	head := j.Title + ": " + cur.Format(j.Gross) + v.Garage.WithTax()
	if j.LineID != 0 && !j.MustDo {
		head += ", if there is time"
	}
	rows := []paper.Row{{What: head, Heading: true, Running: cur.Format(*running)}}
	for i, l := range j.Lines {
		*running += l.Net
		a := j.About[i]
		row := paper.Row{
			What: LineWords(l), Number: a.Number, Qty: Quantity(l), Each: Each(cur, l), Tax: v.paperRate(l.VAT), Net: cur.Format(l.Net), Running: cur.Format(*running),
		}
		for _, adj := range l.Adjust {
			row.Details = append(row.Details, AdjustWords(cur, adj))
		}
		if a.CustomersOwn {
			row.Details = append(row.Details, "brought by you: we answer for the work, not for the part")
		}
		rows = append(rows, row)
	}
	if j.LineID == 0 {
		for _, c := range v.Adjust {
			n := c.Amount
			if !c.Up {
				n = -n
			}
			*running += n
			rows = append(rows, paper.Row{What: AdjustWords(cur, c.Adjusted), Tax: v.paperRate(c.VAT), Net: cur.Format(n), Running: cur.Format(*running)})
		}
	}
	return rows
}

// paperRate is the rate of a price; nothing at a garage that charges none.
func (v *Version) paperRate(vat pricing.VAT) string {
	switch {
	case !v.Garage.Registered():
		return ""
	case vat.Code == money.Outside:
		return "none"
	}
	return money.FormatRate(vat.Rate)
}

// paperNotes are what was found, what happens if work waits, and the terms.
func (v *Version) paperNotes() []string {
	var out []string
	for _, f := range v.Findings {
		out = append(out, v.FindingWords(f))
	}
	for _, j := range v.Jobs {
		if j.IfWaits != "" {
			out = append(out, "If “"+j.Title+"” waits: "+j.IfWaits)
		}
	}
	if !v.Garage.Registered() {
		return append(out, "We are not registered for "+v.Garage.TaxName+", and charge none.")
	}
	out = append(out, "Prices of single lines are rounded for themselves; "+v.Garage.TaxName+" of the total is rounded "+v.Rounding.Label()+".")
	return out
}

// FindingWords says what was found, in one line.
func (v *Version) FindingWords(f Finding) string {
	s := "Found, " + string(f.Severity) + ": " + f.What
	if f.Measured != "" {
		s += ", measured " + f.Measured
	}
	if f.Limit != "" {
		s += ", limit " + f.Limit
	}
	if j, ok := v.Job(f.JobLine); ok {
		s += ". Put right by “" + j.Title + "”"
	}
	return s + "."
}

// SeverityMeans says in plain words what a category of the vehicle test means.
// (Directive 2014/45/EU, article 7(2); advisory as the MOT inspection has it.)
func SeverityMeans(s jobcard.Severity) string {
	switch s {
	case jobcard.Dangerous:
		return "a direct and immediate risk on the road: the car should not be driven until it is put right"
	case jobcard.Major:
		return "it may affect safety or other road users: it should be put right at once"
	case jobcard.Minor:
		return "no significant effect on safety: it should be put right soon"
	case jobcard.Advisory:
		return "nothing wrong yet: keep an eye on it"
	}
	return ""
}

// MileageText is the mileage as it is read; empty when it is not known.
func (c Car) MileageText() string {
	if c.Mileage == nil {
		return ""
	}
	s := strconv.Itoa(*c.Mileage)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s + " " + c.MileageUnit
}

// RateWords names a VAT rate: "20%, standard rate".
func RateWords(code money.VATCode, r money.Rate) string {
	if code == money.Outside || code == money.Exempt {
		return code.Label()
	}
	return money.FormatRate(r) + ", " + code.Label()
}

// LineWords is what a priced line is called: labour is told from the job whose
// title it carries.
func LineWords(l pricing.LineSum) string {
	if l.Kind == pricing.Labour {
		return "Labour"
	}
	return l.Text
}

// Quantity is a line's quantity with its unit.
func Quantity(l pricing.LineSum) string {
	switch l.Unit {
	case pricing.One, "":
		return money.FormatQuantity(l.Qty)
	}
	return money.FormatQuantity(l.Qty) + " " + string(l.Unit)
}

// Each is the price of one; of an hour, for time.
func Each(cur money.Currency, l pricing.LineSum) string {
	if l.Unit == pricing.Minute || l.Unit == pricing.Second {
		return cur.Format(l.Price) + "/h"
	}
	return cur.Format(l.Price)
}

// AdjustWords says what a discount or surcharge takes off or puts on.
func AdjustWords(cur money.Currency, a pricing.Adjusted) string {
	sign := "−"
	if a.Up {
		sign = "+"
	}
	s := a.Text
	if a.Percent != 0 {
		s += ", " + money.FormatRate(a.Percent) + " of " + cur.Format(a.Base)
	}
	return s + ": " + sign + cur.Format(a.Amount)
}

// TimeWords is a job's time: "1.2 h".
func (j Job) TimeWords() string {
	if j.Time == 0 {
		return ""
	}
	return hours.Format(j.Time)
}
