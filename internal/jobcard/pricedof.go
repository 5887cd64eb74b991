package jobcard

import (
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// Only is the price sheet of the entries that count and that keep lets
// through; nil keeps all that count. What is charged or given on the card as a
// whole is worked out for what is kept: a discount that is more than that
// takes all of it, and one that finds nothing is left out.
func (p Priced) Only(keep func(Entry) bool) pricing.Sheet {
	s := pricing.Sheet{Rounding: p.Settings.Rounding, Sundries: p.Sundries}
	for _, e := range p.Entries {
		if e.Counts && (keep == nil || keep(e)) {
			s.Lines = append(s.Lines, e.Line)
		}
	}
	return s.WithCard(p.OnWhole())
}

// OnWhole are the discounts and surcharges of the card as a whole, as they were
// entered.
func (p Priced) OnWhole() []pricing.Adjustment {
	out := make([]pricing.Adjustment, len(p.Card))
	for i, a := range p.Card {
		out[i] = a.Adjustment
	}
	return out
}

// Bare is the price sheet of some entries by themselves, without what is
// charged or given on the card as a whole, whether they count or not.
func (p Priced) bare(keep func(Entry) bool) pricing.Sheet {
	s := pricing.Sheet{Rounding: p.Settings.Rounding}
	for _, e := range p.Entries {
		if e.stands && keep(e) {
			s.Lines = append(s.Lines, e.Line)
		}
	}
	return s
}

// Nets gives what each entry comes to by itself, net, by its key. Parts that
// go back or never come are not among them.
func (p Priced) Nets() map[string]money.Minor {
	out := make(map[string]money.Minor, len(p.Entries))
	for _, e := range p.Entries {
		if e.stands {
			out[e.Line.Key] = e.net()
		}
	}
	return out
}

// LineNet is what one line comes to by itself, net, whether it counts or not.
func (p Priced) LineNet(id LineID) money.Minor {
	var sum money.Minor
	for _, e := range p.Entries {
		if e.stands && e.LineID == id {
			sum += e.net()
		}
	}
	return sum
}

// net is what an entry comes to, without the VAT that is in its price.
func (e Entry) net() money.Minor {
	net := e.left()
	if _, ok := e.Line.Price.(pricing.AllIn); ok {
		net, _ = money.SplitGross(net, e.Line.VAT.Rate)
	}
	return net
}

// LineSum is what one line comes to by itself, with its parts and fees,
// discounts of its own and its share of a menu.
func (p Priced) LineSum(id LineID) (pricing.Sum, error) {
	return pricing.Work(p.bare(func(e Entry) bool { return e.LineID == id }))
}

// LineTotals are the totals of LineSum.
func (p Priced) LineTotals(id LineID) (money.Totals, error) {
	sum, err := p.LineSum(id)
	return sum.Totals, err
}

// OnTop is what sundries, surcharges and discounts of the card as a whole come
// to on the entries that keep lets through, net; below nothing where the
// discounts are more.
func (p Priced) OnTop(keep func(Entry) bool) (money.Minor, error) {
	if len(p.Card) == 0 && p.Sundries == nil {
		return 0, nil
	}
	sum, err := pricing.Work(p.Only(keep))
	if err != nil {
		return 0, err
	}
	return sum.OnTop(), nil
}
