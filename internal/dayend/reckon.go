package dayend

import (
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// always is a period that nothing falls out of.
var always = workday.Span{From: time.Time{}, To: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// OfDay reckons a day up from what was read. It computes only: the same
// snapshot gives the same figures.
func OfDay(s Snapshot, d workday.Day) Day {
	period := workday.BoundsSpan(d, s.Garage.Location())
	out := Day{Garage: s.Garage, Day: d, Now: s.Now, Over: !s.Now.Before(period.To)}
	work := byLine(s)
	for _, c := range s.Cards {
		r := ofCard(s, c, work, period)
		if r.Standing == DidNotCome && c.BookedFor != d || r.Standing == Elsewhere && len(r.Accounts) == 0 {
			continue
		}
		r.outcomes(c, period, s.Now)
		out.Totals = out.Totals.Plus(r.Totals)
		out.Cards = append(out.Cards, r)
		for _, a := range r.Accounts {
			u, ok := unrecovered(a, c)
			if !ok {
				continue
			}
			out.Unrecovered = append(out.Unrecovered, u)
			if u.Open {
				out.AtRisk = out.AtRisk.Plus(u.Forgone)
			} else {
				out.Lost = out.Lost.Plus(u.Forgone)
			}
		}
		out.Asked = append(out.Asked, stillAsked(c, s.priced(c))...)
	}
	out.Hours = reckonHours(s, out.Cards, period)
	out.Checks = checks(s, out.Cards, d, period)
	return out
}

// OfCard reckons the whole of a card's life up, so far.
func OfCard(s Snapshot, id jobcard.CardID) (CardResult, bool) {
	for _, c := range s.Cards {
		if c.ID == id {
			r := ofCard(s, c, byLine(s), always)
			r.outcomes(c, always, s.Now)
			return r, true
		}
	}
	return CardResult{}, false
}

// byLine cuts all work at the ends of days, and sorts it by line.
func byLine(s Snapshot) map[jobcard.LineID][]Piece {
	out := map[jobcard.LineID][]Piece{}
	for _, w := range s.Work {
		out[w.LineID] = append(out[w.LineID], pieces(w, s.Garage.Location())...)
	}
	return out
}

func ofCard(s Snapshot, c Card, work map[jobcard.LineID][]Piece, period workday.Span) CardResult {
	r := CardResult{ID: c.ID, Mark: c.Mark, Car: c.Car, Customer: c.Customer, Stage: c.Stage}
	r.Standing, r.Since = standing(c.Card, period)
	p := s.priced(c)
	for _, l := range c.Lines {
		r.add(newAccount(c, p, l, work[l.ID], period))
	}
	r.add(newLoose(c, p, period))
	return r
}

// priced is the card's price sheet.
func (s Snapshot) priced(c Card) jobcard.Priced {
	return jobcard.PriceCard(c.Card, c.Lines, c.Parts, c.Extras, jobcard.RatesOn(s.VAT, c.BookedFor), jobcard.PriceSettingsOf(s.Garage))
}

// add takes an account into the card's sums. One with nothing to say of the
// period adds nothing.
func (r *CardResult) add(a Account) {
	if a.Line == 0 && len(a.Uses) == 0 && a.OnTop == 0 {
		return
	}
	r.Totals = r.Totals.Plus(a.Totals)
	if !a.Empty() {
		r.Accounts = append(r.Accounts, a)
	}
}
