package pricing

import (
	"errors"
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

// ErrCredited says that a line was credited before.
var ErrCredited = errors.New("this line is credited already")

// CreditLines credits some lines of a bill, named by key, each as it was
// billed and with its share of the card's adjustments; already names those that
// earlier credits took. The VAT is that of the lines left before, less that of
// the lines left after, so that credits in however many pieces come to the
// bill, exactly: a piece alone may so carry a penny more or less than it would.
// Errors: an unknown key, a line credited before.
func (s Sum) CreditLines(keys, already []string) (Sum, error) {
	gone, err := s.marked(already)
	if err != nil {
		return Sum{}, err
	}
	picked, err := s.marked(keys)
	if err != nil {
		return Sum{}, err
	}
	for i := range gone {
		if gone[i] && picked[i] {
			return Sum{}, where(Line{Text: s.Lines[i].Text, Key: s.Lines[i].Key}, ErrCredited)
		}
	}
	before, err := s.without(gone)
	if err != nil {
		return Sum{}, err
	}
	for i := range gone {
		gone[i] = gone[i] || picked[i]
	}
	after, err := s.without(gone)
	if err != nil {
		return Sum{}, err
	}
	for i := range picked { // what is credited is the bill without the others
		picked[i] = !picked[i]
	}
	part, err := s.without(picked)
	if err != nil {
		return Sum{}, err
	}
	c := part.Credit()
	c.Totals = Rest(after.Totals, before.Totals.Negative())
	c.Totals.ByRate = slices.DeleteFunc(c.Totals.ByRate, func(r money.RateTotal) bool {
		return r.Net == 0 && r.VAT == 0 && !slices.ContainsFunc(part.Totals.ByRate, func(p money.RateTotal) bool { return p.Code == r.Code && p.Rate == r.Rate })
	})
	slices.SortFunc(c.Totals.ByRate, func(a, b money.RateTotal) int { return money.CompareVAT(a.Code, b.Code, a.Rate, b.Rate) })
	c.Due = c.Totals.Gross
	return c, nil
}

// marked tells which lines the keys name.
func (s Sum) marked(keys []string) ([]bool, error) {
	marks := make([]bool, len(s.Lines))
	for _, key := range keys {
		i := slices.IndexFunc(s.Lines, func(l LineSum) bool { return l.Key == key && key != "" })
		if i < 0 {
			return nil, ErrUnknownKey
		}
		marks[i] = true
	}
	return marks, nil
}

// without is the bill as it would be without some lines and their share of the
// card's adjustments.
func (s Sum) without(gone []bool) (Sum, error) {
	out := Sum{Rounding: s.Rounding}
	kept := make([]bool, len(gone))
	for i, l := range s.Lines {
		if kept[i] = !gone[i]; kept[i] {
			out.Lines = append(out.Lines, l)
		}
	}
	for _, a := range s.Card {
		part := s.share(a, kept)
		if part == 0 {
			continue
		}
		if part != a.Amount { // no longer that percentage of that base
			a.Percent, a.Base, a.Amount = 0, 0, part
		}
		out.Card = append(out.Card, a)
	}
	err := out.add()
	return out, err
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
// totals of the two add up to those of the bill, rate by rate, since nothing
// else touches a line outside the scope. What was paid counts for the taxed
// part first.
func (s Sum) Apart() (taxed, outside Sum) {
	taxed, outside = s.scope(true), s.scope(false)
	taxed.Paid = s.Paid
	if len(outside.Lines) > 0 {
		taxed.Paid = min(s.Paid, max(taxed.Totals.Gross, 0))
	}
	outside.Paid = s.Paid - taxed.Paid
	taxed.Due, outside.Due = taxed.Totals.Gross-taxed.Paid, outside.Totals.Gross-outside.Paid
	return taxed, outside
}

// scope is the part of a bill within the scope of VAT, or outside it.
func (s Sum) scope(taxable bool) Sum {
	out := Sum{Rounding: s.Rounding}
	for _, l := range s.Lines {
		if l.VAT.Code.Taxable() == taxable {
			out.Lines = append(out.Lines, l)
			out.LineNet += l.Net
		}
	}
	if taxable { // adjustments of the card touch nothing else
		out.Card, out.Allowances, out.Charges = slices.Clone(s.Card), s.Allowances, s.Charges
	}
	t := &out.Totals
	for _, r := range s.Totals.ByRate {
		if r.Code.Taxable() == taxable {
			t.Net, t.VAT, t.ByRate = t.Net+r.Net, t.VAT+r.VAT, append(t.ByRate, r)
		}
	}
	t.Gross = t.Net + t.VAT
	return out
}
