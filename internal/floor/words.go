package floor

import (
	"slices"
	"time"

	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// index finds lines by their number, and who waits for whom.
type index struct {
	Snapshot
	lines map[jobcard.LineID]Line
	// holds names a line that waits for the one it is found by.
	holds map[jobcard.LineID]string
}

func newIndex(s Snapshot) index {
	x := index{Snapshot: s, lines: make(map[jobcard.LineID]Line, len(s.Lines)), holds: map[jobcard.LineID]string{}}
	for _, l := range s.Lines {
		x.lines[l.ID] = l
	}
	for _, l := range s.Lines {
		if l.settled() {
			continue
		}
		for _, id := range l.After {
			if x.holds[id] == "" {
				x.holds[id] = l.Title
			}
		}
	}
	return x
}

func (x index) item(l Line) Item {
	it := Item{Line: l, Car: x.Cars[l.CardID]}
	it.Hindrances, it.OutOfTurn = x.hindrances(l)
	it.Looks = looks(l)
	it.Holds = holds(l)
	it.Why = x.why(l, it.Car)
	for _, k := range caution.Merge(l.Cautions) {
		if !slices.Contains(l.Read, k) {
			it.Unread = append(it.Unread, k)
		}
	}
	return it
}

// hindrances says what keeps a line from being worked on.
func (x index) hindrances(l Line) (words []string, outOfTurn bool) {
	for _, id := range l.After {
		if before, ok := x.lines[id]; ok && !before.settled() {
			words = append(words, "comes after “"+before.Title+"”")
			outOfTurn = true
		}
	}
	switch {
	case l.settled() || !l.Unagreed():
	case l.Again:
		words = append(words, "dearer than what was agreed: the desk asks the customer again")
	default:
		words = append(words, "the customer has not said yes: the desk asks them")
	}
	for _, p := range l.Parts {
		switch {
		case p.outstanding():
			words = append(words, x.partWords(p))
		case p.Held && p.Verdict == jobcard.DoesNotFit:
			words = append(words, p.Name+" does not fit")
		}
	}
	if l.Stripped && len(holds(l)) > 0 {
		words = append(words, "the old parts are off, and "+holds(l)[0].Words())
	}
	if l.Blocked != "" {
		words = append(words, l.Blocked)
	}
	return words, outOfTurn
}

func (x index) partWords(p Part) string {
	s := p.Name + " is " + string(p.Supply)
	switch {
	case p.DueAt.IsZero():
		return s
	case p.DueAt.Before(x.Now):
		return s + ", was due " + x.When(p.DueAt)
	}
	return s + ", due " + x.When(p.DueAt)
}

// looks says what to look at first: parts that are here, and that nobody has
// found to fit.
func looks(l Line) []string {
	var out []string
	for _, p := range l.Parts {
		if p.Held && p.Supply == jobcard.Arrived && (p.Verdict == jobcard.Unchecked || p.Verdict == jobcard.CannotTell) {
			out = append(out, "check that "+p.Name+" fits before the old one comes off")
		}
	}
	return out
}

// holds are the parts that keep the gate of a line closed while it is worked
// on.
func holds(l Line) []jobcard.Hold {
	if l.settled() {
		return nil
	}
	var out []jobcard.Hold
	for _, p := range l.Parts {
		if p.Held {
			out = append(out, jobcard.Hold{PartID: p.ID, Name: p.Name, Number: p.Number, Verdict: p.Verdict})
		}
	}
	return out
}

// why says what put a line where it stands, the weightiest first.
func (x index) why(l Line, c Car) []string {
	var out []string
	if l.MustDo {
		out = append(out, "must do")
	} else {
		out = append(out, "if there is time")
	}
	if l.Consent == jobcard.Asked && l.Ahead != "" && !l.settled() {
		out = append(out, "not agreed, go ahead because "+l.Ahead)
	}
	if h, ok := l.hand(x.Me); ok && h.Since.IsZero() {
		out = append(out, "you began it")
	} else if !ok && len(l.Hands) > 0 && len(l.On()) == 0 {
		out = append(out, x.Staff[l.Hands[0].StaffID]+" began it")
	}
	switch l.AssignedTo {
	case 0:
	case x.Me:
		out = append(out, "meant for you")
	default:
		out = append(out, "meant for "+x.Staff[l.AssignedTo])
	}
	out = append(out, x.promise(c))
	if next := x.holds[l.ID]; next != "" && !l.settled() {
		out = append(out, "“"+next+"” waits for it")
	}
	return out
}

func (x index) promise(c Car) string {
	switch {
	case c.PromisedAt.IsZero():
		return "no promise"
	case c.PromisedAt.Before(x.Now):
		return "promised " + x.When(c.PromisedAt) + ", which has passed"
	}
	return "promised " + x.When(c.PromisedAt)
}

// When writes a moment as the garage's clock shows it, with the day unless
// that is today.
func (s Snapshot) When(t time.Time) string {
	loc := s.Garage.Location()
	clock := workday.FormatClock(workday.ClockOf(t, loc))
	if day := workday.Of(t, loc); day != s.Garage.Today(s.Now) {
		return day.Short() + " " + clock
	}
	return clock
}

// Who names those who are on a line, with since when.
func (p Plan) Who(l Line) []string {
	var out []string
	for _, h := range l.On() {
		out = append(out, p.Staff[h.StaffID]+" since "+p.When(h.Since))
	}
	return out
}

// MySince is when the technician began what they are on.
func (p Plan) MySince() time.Time {
	if p.Mine == nil {
		return time.Time{}
	}
	h, _ := p.Mine.hand(p.Me)
	return h.Since
}

// Spent compares the time put into a line with the time there is for it, such
// as "0.6 h of 1.5 h".
func (l Line) Spent() string {
	return hours.Format(l.Worked()) + " of " + hours.Format(l.Estimate.Likely)
}
