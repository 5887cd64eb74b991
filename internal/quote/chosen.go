package quote

import (
	"slices"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// whole is what sundries, discounts and surcharges of the card as a whole are
// worked out from. It is kept with the version as JSON: the names of its fields
// and of those of package pricing stand in the database.
type whole struct {
	Sundries *pricing.Sundries
	Card     []pricing.Adjustment
}

// Chosen is what some jobs of a version come to by themselves.
type Chosen struct {
	Jobs   int
	Totals money.Totals
	// Rest is what of the total with VAT belongs to no job: sundries, discounts
	// on the whole, and what rounding makes of it.
	Rest money.Minor
}

// Chosen works out what some jobs of the version come to by themselves, as a
// bill for those alone would have it: with what belongs to the whole worked
// out on them, and VAT rounded over them. Without a job it is nothing. Lines
// that are not on the version are passed over. Error: Conflict.
func (v *Version) Chosen(lines []jobcard.LineID) (Chosen, error) {
	var out Chosen
	var jobs money.Minor
	sheet := pricing.Sheet{Rounding: v.Rounding, Sundries: v.whole.Sundries}
	for _, j := range v.Jobs {
		if slices.Contains(lines, j.LineID) {
			out.Jobs++
			jobs += j.Gross
			sheet.Lines = append(sheet.Lines, asLines(j.Lines)...)
		}
	}
	if out.Jobs == 0 {
		return out, nil
	}
	sheet.Lines = append(sheet.Lines, asLines(v.Rest.Lines)...)
	sum, err := pricing.Work(sheet.WithCard(v.whole.Card))
	if err != nil {
		return Chosen{}, apperr.New(apperr.Conflict, "what these come to together cannot be worked out: %v", err)
	}
	out.Totals, out.Rest = sum.Totals, sum.Totals.Gross-jobs
	return out, nil
}

// AgreedLines are the jobs to which a yes stands.
func (v *Version) AgreedLines() []jobcard.LineID {
	var out []jobcard.LineID
	for _, j := range v.Jobs {
		if j.Agreed() && !j.Struck {
			out = append(out, j.LineID)
		}
	}
	return out
}

// asLines gives lines that were worked out at the price they came to. Sundries
// are left out: they are worked out anew.
func asLines(sums []pricing.LineSum) []pricing.Line {
	var out []pricing.Line
	for _, l := range sums {
		if l.Key == pricing.SundriesKey {
			continue
		}
		one := pricing.Line{Key: l.Key, Kind: l.Kind, Text: l.Text, VAT: l.VAT, Price: pricing.Fixed{Net: l.Net}}
		if l.AllIn {
			one.Price = pricing.AllIn{Gross: l.Net + l.Inside}
		}
		out = append(out, one)
	}
	return out
}
