package pricing

// WithCard puts adjustments of the card as a whole on a sheet, one after the
// other. A discount that is more than is left takes what is left, and one that
// finds nothing is left out: so the same adjustments can be put on the whole of
// a card and on a part of it.
func (s Sheet) WithCard(all []Adjustment) Sheet {
	for _, a := range all {
		s.Card = append(s.Card[:len(s.Card):len(s.Card)], a)
		if _, err := Work(s); err == nil {
			continue
		}
		s.Card = s.Card[:len(s.Card)-1]
		if a.Up || a.Amount == 0 {
			continue
		}
		sum, err := Work(s)
		if err != nil {
			return s
		}
		if left := sum.Left(a.On); left > 0 {
			a.Amount = min(a.Amount, left)
			s.Card = append(s.Card, a)
			if _, err := Work(s); err != nil {
				s.Card = s.Card[:len(s.Card)-1]
			}
		}
	}
	return s
}
