package jobcard

import (
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// LinePrice is what one line comes to, net: its labour and its parts by
// themselves, fees and exchange surcharges, and what discounts, surcharges and
// a menu put on it or take off.
type LinePrice struct {
	Labour   money.Minor
	Parts    money.Minor
	Fees     money.Minor
	Exchange money.Minor
	Change   money.Minor
}

// Net is all of it together.
func (p LinePrice) Net() money.Minor { return p.Labour + p.Parts + p.Fees + p.Exchange + p.Change }

// Quote is what a card comes to as it stands.
type Quote struct {
	ByLine map[LineID]LinePrice
	// Loose is the net price of parts that belong to no line.
	Loose money.Minor
	// All counts what is agreed or still asked; Agreed only what is agreed and
	// the loose parts. Struck, declined and deferred lines are in neither.
	All, Agreed money.Totals
	// AllSum and AgreedSum are the same, line by line.
	AllSum, AgreedSum pricing.Sum
}

// Rates gives the VAT rate of each category on one day.
type Rates map[money.VATCode]money.Rate

// Quote works the card's price sheet out. Errors: a sum beyond money's limits.
func (p Priced) Quote() (Quote, error) {
	q := Quote{ByLine: make(map[LineID]LinePrice, len(p.lines))}
	sum, err := pricing.Work(p.bare(func(Entry) bool { return true }))
	if err != nil {
		return q, err
	}
	of := make(map[string]LineID, len(p.Entries))
	for _, e := range p.Entries {
		of[e.Line.Key] = e.LineID
	}
	for _, l := range sum.Lines {
		id := of[l.Key]
		if id == 0 {
			q.Loose += l.Net
			continue
		}
		lp := q.ByLine[id]
		switch l.Kind {
		case pricing.Labour:
			lp.Labour += l.List
		case pricing.Part:
			lp.Parts += l.List
		case pricing.Exchange:
			lp.Exchange += l.List
		default:
			lp.Fees += l.List
		}
		lp.Change += l.Net - l.List
		q.ByLine[id] = lp
	}
	if q.AllSum, err = pricing.Work(p.Only(nil)); err != nil {
		return q, err
	}
	q.AgreedSum, err = pricing.Work(p.Only(Entry.Agreed))
	q.All, q.Agreed = q.AllSum.Totals, q.AgreedSum.Totals
	return q, err
}
