package pricing

import (
	"slices"

	"rampside/internal/money"
)

// Credit is the credit of the whole: every line, adjustment and total turned
// round, exactly. Deposits are none of its business.
func (s Sum) Credit() Sum {
	c := s
	c.Lines = make([]LineSum, len(s.Lines))
	for i, l := range s.Lines {
		c.Lines[i] = l.negative()
	}
	c.Card = make([]CardAdjusted, len(s.Card))
	for i, a := range s.Card {
		a.Base, a.Amount = -a.Base, -a.Amount
		c.Card[i] = a
	}
	c.LineNet, c.Allowances, c.Charges = -s.LineNet, -s.Allowances, -s.Charges
	c.Totals = s.Totals.Negative()
	c.Paid, c.Due = 0, c.Totals.Gross
	return c
}

func (l LineSum) negative() LineSum {
	l.Qty, l.List, l.Net, l.Inside = -l.Qty, -l.List, -l.Net, -l.Inside
	l.Adjust = slices.Clone(l.Adjust)
	for i := range l.Adjust {
		l.Adjust[i].Base, l.Adjust[i].Amount = -l.Adjust[i].Base, -l.Adjust[i].Amount
	}
	return l
}

// CreditLines credits some lines of a bill, named by key, each as it was
// billed and with its share of the card's adjustments. All lines together come
// to the same as Credit. VAT is worked out anew on what is credited, so credits
// in several pieces may differ from the bill by part of a penny for each rate;
// Rest says what is left. Errors: an unknown key.
func (s Sum) CreditLines(keys []string) (Sum, error) {
	c := Sum{Rounding: s.Rounding}
	picked := make([]bool, len(s.Lines))
	for _, key := range keys {
		i := slices.IndexFunc(s.Lines, func(l LineSum) bool { return l.Key == key && key != "" })
		if i < 0 {
			return Sum{}, ErrUnknownKey
		}
		picked[i] = true
	}
	for i, l := range s.Lines {
		if picked[i] {
			c.Lines = append(c.Lines, l.negative())
		}
	}
	for _, a := range s.Card {
		if part := s.share(a, picked); part != 0 {
			a.Percent, a.Base, a.Amount = 0, 0, -part
			c.Card = append(c.Card, a)
		}
	}
	err := c.add()
	return c, err
}

// share is the part of an adjustment of the card that falls to picked lines.
func (s Sum) share(a CardAdjusted, picked []bool) money.Minor {
	var of []int
	var weights []money.Minor
	for i, l := range s.Lines {
		if l.open() && l.VAT == a.VAT {
			of, weights = append(of, i), append(weights, l.Net)
		}
	}
	parts, ok := money.Apportion(a.Amount, weights)
	if !ok { // nothing but lines that give back
		for i := range weights {
			weights[i] = -weights[i]
		}
		parts, _ = money.Apportion(a.Amount, weights)
	}
	var sum money.Minor
	for n, part := range parts {
		if picked[of[n]] {
			sum += part
		}
	}
	return sum
}

// Rest is what a bill still comes to after credits (which are negative): at
// each rate and in all, exactly.
func Rest(bill money.Totals, credits ...money.Totals) money.Totals {
	rest := money.Totals{Net: bill.Net, VAT: bill.VAT, Gross: bill.Gross, ByRate: slices.Clone(bill.ByRate)}
	for _, c := range credits {
		rest.Net, rest.VAT, rest.Gross = rest.Net+c.Net, rest.VAT+c.VAT, rest.Gross+c.Gross
		for _, r := range c.ByRate {
			i := slices.IndexFunc(rest.ByRate, func(b money.RateTotal) bool { return b.Code == r.Code && b.Rate == r.Rate })
			if i < 0 {
				rest.ByRate = append(rest.ByRate, r)
				continue
			}
			rest.ByRate[i].Net, rest.ByRate[i].VAT = rest.ByRate[i].Net+r.Net, rest.ByRate[i].VAT+r.VAT
		}
	}
	return rest
}

// Apart parts a bill into what VAT applies to and what lies outside its scope:
// an electronic invoice cannot hold both (EN 16931 BR-O-11 and BR-O-12). The
// totals of the two add up to those of the bill, since nothing else touches a
// line outside the scope. What was paid counts for the taxed part first.
func (s Sum) Apart() (taxed, outside Sum, err error) {
	taxed, outside = Sum{Rounding: s.Rounding, Card: slices.Clone(s.Card)}, Sum{Rounding: s.Rounding}
	for _, l := range s.Lines {
		if l.VAT.Code.Taxable() {
			taxed.Lines = append(taxed.Lines, l)
		} else {
			outside.Lines = append(outside.Lines, l)
		}
	}
	if err = taxed.add(); err != nil {
		return
	}
	if err = outside.add(); err != nil {
		return
	}
	taxed.Paid = min(s.Paid, max(taxed.Totals.Gross, 0))
	outside.Paid = s.Paid - taxed.Paid
	if len(outside.Lines) == 0 {
		taxed.Paid, outside.Paid = s.Paid, 0
	}
	taxed.Due, outside.Due = taxed.Totals.Gross-taxed.Paid, outside.Totals.Gross-outside.Paid
	return
}
