package pricing

import (
	"slices"

	"rampside/internal/money"
)

// Adjusted is an adjustment as worked out: Amount is Percent of Base where
// there is a percentage. Both have the sign of what they were taken of.
type Adjusted struct {
	Text    string
	Up      bool
	Percent money.Rate
	Base    money.Minor
	Amount  money.Minor
}

// signed is the amount as it goes into a sum.
func (a Adjusted) signed() money.Minor {
	if a.Up {
		return a.Amount
	}
	return -a.Amount
}

// CardAdjusted is what an adjustment of the card comes to at one VAT rate.
type CardAdjusted struct {
	Adjusted
	VAT VAT
}

// LineSum is one line worked out. List is its price by itself, Net what is
// left after its adjustments. On a line with VAT in its price, Inside is that
// VAT and List and Net are without it.
type LineSum struct {
	Key  string
	Kind Kind
	Text string
	VAT  VAT
	Measure
	List   money.Minor
	Adjust []Adjusted
	Net    money.Minor
	AllIn  bool
	Inside money.Minor
}

// Sum is what a quote or a bill comes to. LineNet less Allowances plus Charges
// is Totals.Net; Totals.Gross less Paid is Due, negative when money is to be
// given back.
type Sum struct {
	Lines      []LineSum
	Card       []CardAdjusted
	LineNet    money.Minor
	Allowances money.Minor
	Charges    money.Minor
	Totals     money.Totals
	Paid       money.Minor
	Due        money.Minor
	Rounding   money.Rounding
}

// Work works a sheet out. Errors name the line and say what is wrong in words
// that a person may read: a price or an adjustment that makes no sense, more
// discount than price, an amount beyond the limits of package money.
func Work(s Sheet) (Sum, error) {
	out := Sum{Rounding: s.Rounding, Lines: make([]LineSum, len(s.Lines))}
	seen := map[string]bool{}
	for i, l := range s.Lines {
		if l.Key != "" && (seen[l.Key] || l.Key == SundriesKey) {
			return Sum{}, where(l, ErrSameKey)
		}
		seen[l.Key] = true
		one, err := work(l)
		if err != nil {
			return Sum{}, where(l, err)
		}
		out.Lines[i] = one
	}
	if err := out.menus(s); err != nil {
		return Sum{}, err
	}
	if err := out.sundries(s.Sundries); err != nil {
		return Sum{}, err
	}
	for _, a := range s.Card {
		card, err := out.card(a)
		if err != nil {
			return Sum{}, where(Line{Text: a.Text}, err)
		}
		out.Card = append(out.Card, card...)
	}
	if out.overdone() {
		return Sum{}, ErrDiscount
	}
	for _, d := range s.Deposits {
		if d.Amount <= 0 || d.Amount.Check() != nil {
			return Sum{}, ErrDeposit
		}
		out.Paid += d.Amount
	}
	err := out.add()
	return out, err
}

// work works out one line by itself.
func work(l Line) (LineSum, error) {
	if l.Price == nil {
		return LineSum{}, ErrNothing
	}
	m, err := l.Price.measure()
	if err != nil {
		return LineSum{}, err
	}
	s := LineSum{Key: l.Key, Kind: l.Kind, Text: l.Text, VAT: l.VAT, Measure: m, List: l.Price.list()}
	if _, s.AllIn = l.Price.(AllIn); s.AllIn {
		if len(l.Adjust) > 0 {
			return s, ErrAllIn
		}
		s.List, s.Inside = money.SplitGross(s.List, l.VAT.Rate)
		s.Price = max(s.List, -s.List)
	}
	s.Net = s.List
	for _, a := range l.Adjust {
		if err := a.check(); err != nil {
			return s, err
		}
		done := Adjusted{Text: a.Text, Up: a.Up, Percent: a.Percent, Amount: a.Amount}
		if a.Percent != 0 {
			done.Base, done.Amount = s.List, money.Percent(s.List, a.Percent)
		} else if s.List < 0 {
			done.Amount = -a.Amount
		}
		s.Adjust = append(s.Adjust, done)
		s.Net += done.signed()
	}
	// A discount may eat a price up, never turn it round.
	if s.List >= 0 && s.Net < 0 || s.List < 0 && s.Net > 0 {
		return s, ErrDiscount
	}
	return s, s.Net.Check()
}

// open tells whether menus and adjustments of the card may touch the line:
// not what lies outside the scope of VAT, not what was agreed with VAT in it,
// not a surcharge that is given back.
func (l LineSum) open() bool { return l.VAT.Code.Taxable() && !l.AllIn && l.Kind != Exchange }

// SundriesKey is the key of the line that Sundries makes.
const SundriesKey = "sundries"

func (s *Sum) sundries(d *Sundries) error {
	if d == nil || d.Percent == 0 {
		return nil
	}
	if d.Percent < 0 || d.Percent > money.MaxRate {
		return where(Line{Text: d.Text}, ErrPercent)
	}
	var base money.Minor
	for _, l := range s.Lines {
		if l.open() && slices.Contains(d.On, l.Kind) {
			base += l.Net
		}
	}
	net := money.Percent(max(base, 0), d.Percent)
	if d.Cap != nil {
		net = min(net, max(*d.Cap, 0))
	}
	if net == 0 {
		return nil
	}
	one, err := work(Line{Key: SundriesKey, Kind: Sundry, Text: d.Text, VAT: d.VAT, Price: Fixed{net}})
	s.Lines = append(s.Lines, one)
	return err
}

// add makes the totals of what stands in Lines, Card and Paid.
func (s *Sum) add() error {
	var plain, inclusive []money.Taxed
	s.LineNet, s.Allowances, s.Charges = 0, 0, 0
	for _, l := range s.Lines {
		s.LineNet += l.Net
		t := money.Taxed{Net: l.Net, Code: l.VAT.Code, Rate: l.VAT.Rate}
		if l.AllIn {
			t.Net += l.Inside
			inclusive = append(inclusive, t)
			continue
		}
		plain = append(plain, t)
	}
	for _, c := range s.Card {
		if c.Up {
			s.Charges += c.Amount
		} else {
			s.Allowances += c.Amount
		}
		plain = append(plain, money.Taxed{Net: c.signed(), Code: c.VAT.Code, Rate: c.VAT.Rate})
	}
	var err error
	s.Totals, err = money.TotalIncluding(plain, inclusive, s.Rounding)
	s.Due = s.Totals.Gross - s.Paid
	return err
}

// Left is what the open lines of some kinds come to, less the discounts and
// with the surcharges of the card so far: the most that a further discount on
// them can be. No kinds means all.
func (s Sum) Left(on []Kind) money.Minor {
	var left money.Minor
	_, nets := s.bases(on)
	for _, n := range nets {
		left += n
	}
	var all money.Minor
	_, nets = s.bases(nil)
	for _, n := range nets {
		all += n
	}
	for _, c := range s.Card {
		all += c.signed()
	}
	return max(0, min(left, all))
}

// OnTop is what sundries and the adjustments of the card come to, net.
func (s Sum) OnTop() money.Minor {
	top := s.Charges - s.Allowances
	for _, l := range s.Lines {
		if l.Kind == Sundry {
			top += l.Net
		}
	}
	return top
}
