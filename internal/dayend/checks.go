package dayend

import (
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// Check is something to be put right before the figures of a day hold.
type Check struct {
	Words string
	// What it is about; what it is not about is 0.
	Card       jobcard.CardID
	Line       jobcard.LineID
	Clocking   clocking.ID
	Attendance roster.AttendanceID
}

// checks looks for what makes the day's figures doubtful.
func checks(s Snapshot, cards []CardResult, d workday.Day, period workday.Span) []Check {
	var out []Check
	today := s.Garage.Today(s.Now) == d
	titles := map[jobcard.LineID]string{}
	for _, c := range s.Cards {
		for _, l := range c.Lines {
			titles[l.ID] = l.Title
		}
	}
	for _, w := range s.Work {
		if w.Forgotten && (today || period.Contains(w.Span.From)) {
			out = append(out, Check{
				Words: w.Name + " is still clocked on to “" + titles[w.LineID] + "” since " + s.Garage.Today(w.Span.From).Short() +
					": it is counted to when it most likely ended",
				Card: w.CardID, Line: w.LineID, Clocking: w.ID,
			})
		}
	}
	for _, a := range s.Attended {
		if a.Forgotten {
			out = append(out, Check{
				Words:      a.Name + " has not gone home by the record: the time is counted to when they most likely did",
				Attendance: s.Open[a.StaffID],
			})
		}
	}
	byID := map[jobcard.CardID]Card{}
	for _, c := range s.Cards {
		byID[c.ID] = c
	}
	for _, r := range cards {
		for _, a := range r.Accounts {
			if a.In {
				out = append(out, accountChecks(a, byID[r.ID])...)
			}
		}
	}
	return out
}

func accountChecks(a Account, c Card) []Check {
	var out []Check
	if a.Line != 0 && a.Ending == EndDone && a.Spent.Time == 0 {
		out = append(out, Check{Words: "“" + a.Title + "” was ticked with no time clocked on it", Card: a.Card, Line: a.Line})
	}
	if a.Ending != EndDone {
		return out
	}
	for _, p := range c.Parts {
		if p.LineID == a.Line && p.Counts() && p.Supply != jobcard.Fitted {
			words := "“" + a.Title + "” is done, but its " + p.Name + " is " + string(p.Supply) + ": neither its price nor its cost is counted"
			if a.Line == 0 {
				words = "the card is ready, but " + p.Name + " is " + string(p.Supply) + ": neither its price nor its cost is counted"
			}
			out = append(out, Check{Words: words, Card: a.Card, Line: a.Line})
		}
	}
	return out
}
