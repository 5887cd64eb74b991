package dayend

import (
	"cmp"
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/variance"
	"rampside/internal/workday"
)

// Share is one person's part of the hours that a line sold.
type Share struct {
	Card  jobcard.CardID
	Title string
	// Sold is the line's hours, Of the part that is this person's: as they
	// share in the work put into it.
	Sold, Of time.Duration
}

// PersonHours is how one of the staff used the day.
type PersonHours struct {
	StaffID actor.StaffID
	Name    string
	Role    actor.Role
	// Sold is the agreed hours of lines done on the day, as far as they are
	// theirs; Worked the time clocked on it; Attended the time they were in,
	// less breaks.
	Sold, Worked, Attended time.Duration
	In, Break              time.Duration
	// Spells are when they were in, as far as it falls on the day.
	Spells []workday.Span
	Shares []Share
	Pieces []Piece
	Ratios variance.LabourRatios
}

// Hours is how the day's hours were used. The ratios are the technicians'
// alone: theirs are the hours there are to sell.
type Hours struct {
	Technicians            []PersonHours
	Others                 []PersonHours // who worked, or sold, besides
	Sold, Worked, Attended time.Duration // the technicians'
	Ratios                 variance.LabourRatios
	// Nobody is what was sold by lines that nobody was clocked on to or ticked.
	Nobody time.Duration
}

// reckonHours sums up who used the day how.
func reckonHours(s Snapshot, cards []CardResult, period workday.Span) Hours {
	by := map[actor.StaffID]*PersonHours{}
	person := func(id actor.StaffID) *PersonHours {
		if by[id] == nil {
			by[id] = &PersonHours{StaffID: id, Name: s.Staff[id].Name, Role: s.Staff[id].Role}
		}
		return by[id]
	}
	var h Hours
	for _, at := range s.Attended {
		p := person(at.StaffID)
		p.Name, p.Role = at.Name, at.Role
		p.In, p.Break, p.Attended, p.Spells = at.In, at.Break, at.Attended, at.Spells
	}
	for _, c := range cards {
		for _, a := range c.Accounts {
			for _, w := range a.Pieces {
				if period.Contains(w.Span.From) {
					p := person(w.StaffID)
					p.Worked += w.Time
					p.Pieces = append(p.Pieces, w)
				}
			}
			if !a.In || !a.Sold {
				continue
			}
			for id, of := range shareOut(a) {
				if id == 0 {
					h.Nobody += of
					continue
				}
				p := person(id)
				p.Sold += of
				p.Shares = append(p.Shares, Share{a.Card, a.Title, a.Labour.StandardTime, of})
			}
		}
	}
	for _, p := range by {
		p.Ratios = variance.Ratios(p.Sold, p.Worked, p.Attended)
		slices.SortFunc(p.Shares, func(a, b Share) int { return cmp.Or(cmp.Compare(a.Card, b.Card), cmp.Compare(a.Title, b.Title)) })
		slices.SortFunc(p.Pieces, func(a, b Piece) int { return a.Span.From.Compare(b.Span.From) })
		if p.Role == actor.Technician {
			h.Technicians = append(h.Technicians, *p)
			h.Sold, h.Worked, h.Attended = h.Sold+p.Sold, h.Worked+p.Worked, h.Attended+p.Attended
		} else if p.Sold != 0 || p.Worked != 0 {
			h.Others = append(h.Others, *p)
		}
	}
	byName := func(a, b PersonHours) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.StaffID, b.StaffID))
	}
	slices.SortFunc(h.Technicians, byName)
	slices.SortFunc(h.Others, byName)
	h.Ratios = variance.Ratios(h.Sold, h.Worked, h.Attended)
	return h
}

// shareOut gives each of those who worked on a line their part of the hours it
// sold, in proportion to their time on it, to the second and without a rest. A
// line without a clocking is all of whoever ticked it; 0 is nobody.
func shareOut(a Account) map[actor.StaffID]time.Duration {
	var order []actor.StaffID
	worked := map[actor.StaffID]int64{}
	var all int64
	for _, p := range a.Pieces {
		if _, ok := worked[p.StaffID]; !ok {
			order = append(order, p.StaffID)
		}
		seconds := int64(p.Time / time.Second)
		worked[p.StaffID] += seconds
		all += seconds
	}
	if all == 0 {
		return map[actor.StaffID]time.Duration{a.Written.DoneBy: a.Labour.StandardTime}
	}
	slices.Sort(order)
	out := map[actor.StaffID]time.Duration{}
	sold := int64(a.Labour.StandardTime / time.Second)
	var seen, given int64
	for _, id := range order {
		seen += worked[id]
		upTo := sold * seen / all
		out[id] = time.Duration(upTo-given) * time.Second
		given = upTo
	}
	return out
}
