package pricing

import (
	"errors"
	"slices"

	"rampside/internal/money"
)

// ErrTooMuch says that more of a line would be credited than is left of it.
var ErrTooMuch = errors.New("that is more than is left of this line")

// ErrWhole says that a line cannot be credited in part: the VAT in a part of a
// price would not be the part of its VAT.
var ErrWhole = errors.New("a price agreed with VAT in it is credited whole")

// roundingText names the penny by which a part of a line differs from its
// quantity at its price.
const roundingText = "Rounding"

// CreditPart credits quantities of lines, named by key, in thousandths with
// the sign that the line has; already names what earlier credits took. A line
// that counts nothing is taken whole by naming it. As with CreditLines, what is
// credited is what is left before less what is left after, so that credits in
// however many pieces come to the bill, exactly. Errors: an unknown key, more
// than is left, a part of a price with VAT in it, nothing named.
func (s Sum) CreditPart(take, already map[string]int64) (Sum, error) {
	if len(take) == 0 {
		return Sum{}, ErrNothing
	}
	taken, now := make([]taking, len(s.Lines)), make([]taking, len(s.Lines))
	known := 0
	for i, l := range s.Lines {
		was, before := already[l.Key]
		add, named := take[l.Key]
		taken[i], now[i] = l.take(was, before), l.take(was+add, before || named)
		if !named {
			continue
		}
		known++
		switch left := l.Qty - was; {
		case l.Qty == 0 && before, l.Qty != 0 && left == 0:
			return Sum{}, where(Line{Text: l.Text, Key: l.Key}, ErrCredited)
		case l.Qty > 0 && (add <= 0 || add > left), l.Qty < 0 && (add >= 0 || add < left), l.Qty == 0 && add != 0:
			return Sum{}, where(Line{Text: l.Text, Key: l.Key}, ErrTooMuch)
		case l.AllIn && add != l.Qty:
			return Sum{}, where(Line{Text: l.Text, Key: l.Key}, ErrWhole)
		}
	}
	if known != len(take) {
		return Sum{}, ErrUnknownKey
	}
	before, err := s.less(taken)
	if err != nil {
		return Sum{}, err
	}
	after, err := s.less(now)
	if err != nil {
		return Sum{}, err
	}
	part := Sum{Rounding: s.Rounding}
	for i, l := range s.Lines {
		if _, named := take[l.Key]; named {
			part.Lines = append(part.Lines, l.piece(taken[i], now[i]))
		}
	}
	shares := s.shares()
	for n, a := range s.Card {
		var sum money.Minor
		for i := range s.Lines {
			sum += now[i].of(shares[n][i]) - taken[i].of(shares[n][i])
		}
		if sum == 0 {
			continue
		}
		if sum != a.Amount {
			a.Percent, a.Base, a.Amount = 0, 0, sum
		}
		part.Card = append(part.Card, a)
	}
	if err := part.add(); err != nil {
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

// taking is how much of a line was taken: qty of whole, or all of a line that
// counts nothing.
type taking struct {
	qty, whole int64
	all        bool
}

func (l LineSum) take(qty int64, named bool) taking {
	return taking{qty: qty, whole: l.Qty, all: named && l.Qty == 0}
}

// of is the part of an amount that falls to what was taken.
func (t taking) of(m money.Minor) money.Minor {
	switch {
	case t.all || t.whole != 0 && t.qty == t.whole:
		return m
	case t.qty == 0:
		return 0
	case t.whole < 0:
		return money.Share(m, -t.qty, -t.whole)
	}
	return money.Share(m, t.qty, t.whole)
}

// piece is what is taken of a line between two takings.
func (l LineSum) piece(from, to taking) LineSum {
	cut := func(m money.Minor) money.Minor { return to.of(m) - from.of(m) }
	p := l
	p.Qty, p.List, p.Inside, p.Adjust = to.qty-from.qty, cut(l.List), cut(l.Inside), nil
	p.Net = p.List
	for _, a := range l.Adjust {
		part := cut(a.Amount)
		if part == 0 {
			continue
		}
		if part != a.Amount {
			a.Percent, a.Base, a.Amount = 0, 0, part
		}
		p.Adjust = append(p.Adjust, a)
		p.Net += a.signed()
	}
	// A quantity at its price is what electronic invoices hold a line to.
	if off := p.List - money.Share(l.Price, p.Qty, l.Per); off != 0 {
		p.List -= off
		p.Adjust = append(p.Adjust, Adjusted{Text: roundingText, Up: off > 0, Amount: max(off, -off)})
	}
	return p
}

// shares is what of each adjustment of the card falls to each line.
func (s Sum) shares() [][]money.Minor {
	out := make([][]money.Minor, len(s.Card))
	for n, a := range s.Card {
		out[n] = make([]money.Minor, len(s.Lines))
		one := make([]bool, len(s.Lines))
		for i := range s.Lines {
			one[i] = true
			out[n][i] = s.share(a, one)
			one[i] = false
		}
	}
	return out
}

// less is the bill without what was taken of its lines.
func (s Sum) less(taken []taking) (Sum, error) {
	out := Sum{Rounding: s.Rounding}
	for i, l := range s.Lines {
		if taken[i].all || l.Qty != 0 && taken[i].qty == l.Qty {
			continue
		}
		rest := l.piece(taken[i], taking{qty: l.Qty, whole: l.Qty, all: l.Qty == 0})
		out.Lines = append(out.Lines, rest)
	}
	shares := s.shares()
	for n, a := range s.Card {
		part := a.Amount
		for i := range s.Lines {
			part -= taken[i].of(shares[n][i])
		}
		if part != 0 {
			a.Percent, a.Base, a.Amount = 0, 0, part
			out.Card = append(out.Card, a)
		}
	}
	err := out.add()
	return out, err
}

// PushDown puts the card's adjustments on to the lines they fall to, and nothing
// else changes: a document outside the scope of VAT holds lines alone.
func (s Sum) PushDown() Sum {
	out := s
	out.Lines = slices.Clone(s.Lines)
	shares := s.shares()
	for n, a := range s.Card {
		for i := range out.Lines {
			part := shares[n][i]
			if part == 0 {
				continue
			}
			one := Adjusted{Text: a.Text, Up: a.Up, Amount: part}
			out.Lines[i].Adjust = append(slices.Clone(out.Lines[i].Adjust), one)
			out.Lines[i].Net += one.signed()
			out.LineNet += one.signed()
		}
	}
	out.Card, out.Allowances, out.Charges = nil, 0, 0
	return out
}
