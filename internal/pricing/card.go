package pricing

import (
	"slices"

	"rampside/internal/money"
)

// bases is what the open lines of some kinds come to at each VAT rate, in the
// order a document lists the rates. No kinds means all.
func (s *Sum) bases(on []Kind) (vats []VAT, nets []money.Minor) {
	by := map[VAT]money.Minor{}
	for _, l := range s.Lines {
		if l.open() && (len(on) == 0 || slices.Contains(on, l.Kind)) {
			by[l.VAT] += l.Net
		}
	}
	for v := range by {
		vats = append(vats, v)
	}
	slices.SortFunc(vats, func(a, b VAT) int { return money.CompareVAT(a.Code, b.Code, a.Rate, b.Rate) })
	for _, v := range vats {
		nets = append(nets, by[v])
	}
	return vats, nets
}

// card works out one adjustment of the card: a percentage for each VAT rate
// apart, an amount shared out over the rates by what they come to.
func (s *Sum) card(a Adjustment) ([]CardAdjusted, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	vats, nets := s.bases(a.On)
	var parts []money.Minor
	if a.Percent == 0 {
		var ok bool
		if parts, ok = money.Apportion(a.Amount, nets); !ok {
			return nil, ErrNothing
		}
	}
	var out []CardAdjusted
	for i, v := range vats {
		one := CardAdjusted{VAT: v, Adjusted: Adjusted{Text: a.Text, Up: a.Up, Percent: a.Percent}}
		if a.Percent == 0 {
			one.Amount = parts[i]
		} else {
			one.Base, one.Amount = nets[i], money.Percent(nets[i], a.Percent)
		}
		if one.Amount == 0 {
			continue
		}
		if !a.Up && one.Amount > nets[i] && nets[i] > 0 {
			return nil, ErrDiscount
		}
		out = append(out, one)
	}
	return out, nil
}

// overdone tells whether the discounts of the card together come to more than
// the lines they were given on.
func (s *Sum) overdone() bool {
	vats, nets := s.bases(nil)
	for i, v := range vats {
		left := nets[i]
		for _, c := range s.Card {
			if c.VAT == v {
				left += c.signed()
			}
		}
		if nets[i] >= 0 && left < 0 {
			return true
		}
	}
	return false
}

// menus puts each menu's price on its lines, as a discount or surcharge of
// each that adds up to the difference.
func (s *Sum) menus(sheet Sheet) error {
	index := make(map[string]int, len(s.Lines))
	for i, l := range s.Lines {
		index[l.Key] = i
	}
	taken := map[int]bool{}
	for _, m := range sheet.Menus {
		var open []int
		var weights []money.Minor
		change := m.Net
		for _, key := range m.Keys {
			i, ok := index[key]
			switch {
			case !ok || key == "":
				return where(Line{Text: m.Text}, ErrUnknownKey)
			case taken[i] || len(s.Lines[i].Adjust) > 0:
				return where(Line{Text: m.Text}, ErrMenuLine)
			}
			taken[i] = true
			change -= s.Lines[i].Net
			if s.Lines[i].open() && s.Lines[i].Net > 0 {
				open = append(open, i)
			}
		}
		// Which line of equals gets the odd penny must not depend on the order
		// in which the lines came.
		slices.SortStableFunc(open, func(a, b int) int { return compareLines(s.Lines[a], s.Lines[b]) })
		for _, i := range open {
			weights = append(weights, s.Lines[i].Net)
		}
		parts, ok := money.Apportion(change, weights)
		if !ok && change != 0 {
			return where(Line{Text: m.Text}, ErrNothing)
		}
		for n, part := range parts {
			l := &s.Lines[open[n]]
			if part == 0 {
				continue
			}
			l.Adjust = append(l.Adjust, Adjusted{Text: m.Text, Up: part > 0, Amount: max(part, -part)})
			if l.Net += part; l.Net < 0 {
				return where(Line{Text: m.Text}, ErrMenuPrice)
			}
		}
	}
	return nil
}

func compareLines(a, b LineSum) int {
	if c := money.CompareVAT(a.VAT.Code, b.VAT.Code, a.VAT.Rate, b.VAT.Rate); c != 0 {
		return c
	}
	return int(min(max(b.Net-a.Net, -1), 1))
}
