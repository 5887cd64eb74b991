package jobcard

import (
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// LinePrice is what one line comes to, net: its labour and its parts.
type LinePrice struct {
	Labour money.Minor
	Parts  money.Minor
}

// Net is labour and parts together.
func (p LinePrice) Net() money.Minor { return p.Labour + p.Parts }

// Quote is what a card comes to as it stands.
type Quote struct {
	ByLine map[LineID]LinePrice
	// Loose is the net price of parts that belong to no line.
	Loose money.Minor
	// All counts what is agreed or still asked; Agreed only what is agreed and
	// the loose parts. Struck, declined and deferred lines are in neither.
	All, Agreed money.Totals
}

// Rates gives the VAT rate of each category on one day.
type Rates map[money.VATCode]money.Rate

// Price makes the quote of a card's lines and parts. Errors: a sum beyond
// money's limits.
func Price(lines []Line, parts []Part, rates Rates, rounding money.Rounding) (Quote, error) {
	q := Quote{ByLine: make(map[LineID]LinePrice, len(lines))}
	counted := make(map[LineID]bool, len(lines))
	agreed := make(map[LineID]bool, len(lines))
	all, yes := pricing.Sheet{Rounding: rounding}, pricing.Sheet{Rounding: rounding}
	add := func(l pricing.Line, in, ok bool) {
		if in {
			all.Lines = append(all.Lines, l)
		}
		if in && ok {
			yes.Lines = append(yes.Lines, l)
		}
	}
	for _, l := range lines {
		q.ByLine[l.ID] = LinePrice{Labour: l.LabourNet()}
		counted[l.ID] = !l.Struck() && l.Consent != Declined && l.WorkState != Deferred
		agreed[l.ID] = l.Consent == Agreed
		add(l.Priced(rates[l.VATCode]), counted[l.ID], agreed[l.ID])
	}
	for _, p := range parts {
		if !p.Counts() {
			continue
		}
		if p.LineID == 0 {
			q.Loose += p.Net()
			add(p.Priced(rates[p.VATCode]), true, true)
			continue
		}
		lp := q.ByLine[p.LineID]
		lp.Parts += p.Net()
		q.ByLine[p.LineID] = lp
		add(p.Priced(rates[p.VATCode]), counted[p.LineID], agreed[p.LineID])
	}
	sum, err := pricing.Work(all)
	if err != nil {
		return q, err
	}
	q.All = sum.Totals
	sum, err = pricing.Work(yes)
	q.Agreed = sum.Totals
	return q, err
}
