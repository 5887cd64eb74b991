package handover

import (
	"fmt"
	"hash/fnv"
	"strconv"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Stop is something unsettled. A hard one must be settled before the car goes;
// with any other it may go, for a reason that is kept.
type Stop struct {
	Words string
	Hard  bool
	// Path is where it is settled.
	Path string
}

// Plan is a card as it would be handed over.
type Plan struct {
	Sheet                *jobcard.Sheet
	Garage               garage.Settings
	Done, NotDone, Found []Item
	// Unsafe is dangerous or major and was not put right. Of those in Doubt
	// nobody proposed a line: whoever hands over says which were put right.
	Unsafe, Doubt []Item
	// OldParts are parts that were fitted: the old ones may go home.
	OldParts []string
	// Due is what the garage's intervals propose, from today.
	Due   []Item
	Stops []Stop
	// Seen stands for what is listed: a handover is made from what was looked
	// at.
	Seen string
	// Past are earlier handovers of this card, the newest first.
	Past []ID
}

// Hard gives the stops that must be settled first.
func (p Plan) Hard() []Stop { return p.stops(true) }

// Soft gives the stops that need a reason only.
func (p Plan) Soft() []Stop { return p.stops(false) }

func (p Plan) stops(hard bool) []Stop {
	var out []Stop
	for _, s := range p.Stops {
		if s.Hard == hard {
			out = append(out, s)
		}
	}
	return out
}

// unpaid is what is owed on one bill of the card; below nothing, it was paid
// too much.
type unpaid struct {
	id     int64
	number string
	open   money.Minor
}

// facts is what a plan needs beside the sheet.
type facts struct {
	set       garage.Settings
	intervals map[garage.OperationID]Interval
	bills     []unpaid
	billed    bool // there is a bill
	// deposits are set against no bill; kept is all that is kept for the
	// customer, those deposits among it.
	deposits, kept money.Minor
	past           []ID
	// free are lines that are not charged for: nobody need agree to them.
	free map[jobcard.LineID]bool
}

func newPlan(s *jobcard.Sheet, f facts, now time.Time) Plan {
	p := Plan{Sheet: s, Garage: f.set, Past: f.past}
	for _, l := range s.Lines {
		switch {
		case l.Struck():
		case l.WorkState == jobcard.Done:
			p.Done = append(p.Done, doneItem(s, l))
		default:
			p.NotDone = append(p.NotDone, Item{Kind: NotDone, LineID: l.ID, What: l.Title, Why: whyNot(s, l)})
		}
	}
	for _, x := range s.Findings {
		i := Item{Kind: Found, LineID: x.Proposed, FindingID: x.ID, What: x.What, Severity: x.Severity, Measured: x.Measured, Limit: x.Limit}
		var right bool
		i.Why, right = became(s, x)
		p.Found = append(p.Found, i)
		if grave(x.Severity) && !right {
			i.Kind = Unsafe
			if _, proposed := s.Line(x.Proposed); proposed {
				p.Unsafe = append(p.Unsafe, i)
			} else {
				p.Doubt = append(p.Doubt, i)
			}
		}
	}
	for _, part := range s.Parts {
		if part.Supply == jobcard.Fitted && !part.Struck() {
			p.OldParts = append(p.OldParts, "Old "+quantity(part)+part.Name)
		}
	}
	p.due(f, now)
	p.stop(f)
	p.Seen = p.seen()
	return p
}

func grave(s jobcard.Severity) bool { return s == jobcard.Dangerous || s == jobcard.Major }

func quantity(p jobcard.Part) string {
	if p.Qty == 1000 {
		return ""
	}
	return money.FormatQuantity(p.Qty) + " × "
}

func doneItem(s *jobcard.Sheet, l jobcard.Line) Item {
	i := Item{Kind: Done, LineID: l.ID, What: l.Title}
	if k, ok := s.Checks[l.ID]; ok {
		words := "Checked by " + s.Staff[k.By]
		if k.TorqueNm > 0 {
			words += ", wheels tightened to " + strconv.FormatFloat(k.TorqueNm, 'f', -1, 64) + " Nm"
		}
		if k.Note != "" {
			words += ": " + k.Note
		}
		i.Checks = append(i.Checks, words)
	}
	for _, p := range s.PartsOf(l.ID) {
		if p.Supply == jobcard.Fitted && !p.Struck() {
			words := quantity(p) + p.Name
			if p.Number != "" {
				words += " " + p.Number
			}
			if p.Source == jobcard.FromCustomer {
				words += " (brought by the customer)"
			}
			i.Parts = append(i.Parts, words)
		}
	}
	return i
}

// whyNot says why a line was not done.
func whyNot(s *jobcard.Sheet, l jobcard.Line) string {
	switch {
	case l.Consent == jobcard.Declined:
		return declined(s, l)
	case l.WorkState == jobcard.Deferred:
		why := "Put off: " + l.StateReason
		if l.DecidedBy != "" {
			why += " (decided by " + l.DecidedBy + ")"
		}
		return why
	case l.WorkState == jobcard.Waiting:
		why := "Waiting on parts: " + l.StateReason
		for _, p := range s.PartsOf(l.ID) {
			if p.Outstanding() && !p.DueAt.IsZero() {
				why += "; " + p.Name + " is expected " + p.DueAt.In(s.Zone).Format("Monday 2 January 2006")
			}
		}
		return why
	}
	return "Not finished"
}

// declined says who said no, when and how.
func declined(s *jobcard.Sheet, l jobcard.Line) string {
	for i := len(s.Consents) - 1; i >= 0; i-- {
		if c := s.Consents[i]; c.LineID == l.ID && c.Answer == jobcard.Declined {
			return fmt.Sprintf("Declined by %s on %s, %s", c.SaidBy, c.At.In(s.Zone).Format("Monday 2 January 2006, 15:04"), c.How)
		}
	}
	return "Declined"
}

// became says what became of a finding, and whether it was put right.
func became(s *jobcard.Sheet, x jobcard.Finding) (words string, right bool) {
	l, ok := s.Line(x.Proposed)
	switch {
	case !ok:
		return "Not put right", false
	case l.Struck():
		return "Not put right: " + l.StruckWhy, false
	case l.WorkState == jobcard.Done:
		return "Put right: " + l.Title, true
	}
	return whyNot(s, l), false
}

// due proposes when the work that was done is due again.
func (p *Plan) due(f facts, now time.Time) {
	today := f.set.Today(now)
	for _, l := range p.Sheet.Lines {
		v, ok := f.intervals[l.OperationID]
		if !ok || l.OperationID == 0 || l.WorkState != jobcard.Done || l.Struck() {
			continue
		}
		i := Item{Kind: Due, LineID: l.ID, What: l.Title}
		if v.Months > 0 {
			i.DueOn = AddMonths(today, v.Months)
		}
		if v.Distance > 0 && p.Sheet.Mileage != nil {
			i.DueAt = *p.Sheet.Mileage + v.Distance
		}
		if !i.DueOn.IsZero() || i.DueAt > 0 {
			p.Due = append(p.Due, i)
		}
	}
}

// AddMonths is the same day of the month n months on, or that month's last
// where it has no such day (common practice, no published source).
func AddMonths(d workday.Day, n int) workday.Day {
	y, m, dom := d.Date()
	last := time.Date(y, m+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC)
	return workday.FromDate(last.AddDate(0, 0, min(dom, last.Day())-last.Day()))
}

// stop says what is unsettled.
func (p *Plan) stop(f facts) {
	s := p.Sheet
	path := "/cards/" + strconv.FormatInt(int64(s.ID), 10)
	add := func(hard bool, path, words string) { p.Stops = append(p.Stops, Stop{words, hard, path}) }
	if s.Stage != jobcard.Ready && !s.Stage.Workable() {
		add(true, path, "the card is "+string(s.Stage)+": there is no car to hand over")
		return
	}
	agreed := false
	for _, l := range s.Lines {
		title := "“" + l.Title + "”"
		switch {
		case len(s.Clocked[l.ID].On) > 0:
			add(true, path, "somebody is clocked on to "+title)
		case !l.Settled() && l.WorkState == jobcard.Waiting:
			add(false, path, title+" still waits on parts")
		case !l.Settled():
			add(true, path, title+" is "+string(l.WorkState)+": tick it, put it off, or strike it out")
		case l.WorkState == jobcard.Done && !l.Struck():
			for _, h := range s.HoldsOf(l.ID) {
				add(true, path, title+" is done, and "+h.Words())
			}
			if _, ok := s.Checks[l.ID]; !ok && l.WheelsOff {
				add(true, path, title+" needs a second person's check with the torque of the wheels")
			} else if !ok && l.Safety {
				add(true, path, title+" needs a second person's check")
			}
			if l.Consent == jobcard.Asked && !f.free[l.ID] {
				add(false, path, title+" was done and nobody has said yes to it")
			}
			agreed = agreed || l.Consent == jobcard.Agreed
		}
	}
	if agreed && !f.billed {
		add(false, path+"/bill", "no bill has been made")
	}
	p.owed(f)
}

// owed says what of the money is unsettled.
func (p *Plan) owed(f facts) {
	cur := f.set.Money().Format
	card := "/cards/" + strconv.FormatInt(int64(p.Sheet.ID), 10)
	add := func(path, words string) { p.Stops = append(p.Stops, Stop{words, false, path}) }
	owed := false
	for _, b := range f.bills {
		path := "/bills/" + strconv.FormatInt(b.id, 10)
		switch {
		case b.open < 0:
			add(path, "bill "+b.number+" was paid too much by "+cur(-b.open)+": it is given back, or kept for the customer's next bill")
		case f.kept > 0:
			owed = true
			add(path, "bill "+b.number+" is not paid: "+cur(b.open)+" are owed, and "+cur(f.kept)+" kept for the customer can be set against it")
		default:
			owed = true
			add(path, "bill "+b.number+" is not paid: "+cur(b.open)+" are owed")
		}
	}
	if f.deposits > 0 && !owed {
		add(card+"/deposit", "a deposit of "+cur(f.deposits)+" is set against no bill: it is given back, or kept for the customer's next bill")
	}
}

// seen is a fingerprint of what the customer is told.
func (p Plan) seen() string {
	h := fnv.New64a()
	for _, list := range [][]Item{p.Done, p.NotDone, p.Found, p.Unsafe, p.Doubt} {
		for _, i := range list {
			fmt.Fprintln(h, i.Kind, i.LineID, i.FindingID, i.What, i.Why, i.Severity, i.Measured, i.Limit, i.Checks, i.Parts)
		}
	}
	for _, s := range p.Stops {
		fmt.Fprintln(h, s.Words, s.Hard)
	}
	return strconv.FormatUint(h.Sum64(), 36)
}

// What the categories mean, as Directive 2014/45/EU, article 7(2), has them
// (in plain words).
var means = map[jobcard.Severity]string{
	jobcard.Dangerous: "a direct and immediate risk on the road",
	jobcard.Major:     "likely to make the car unsafe on the road",
}

// Told is what the customer acknowledges to have been told of the car.
func Told(car string, unsafe []Item) string {
	if len(unsafe) == 0 {
		return ""
	}
	advice := "to have this put right without delay"
	var whats []string
	for _, i := range unsafe {
		whats = append(whats, fmt.Sprintf("%s (%s: %s)", strings.TrimRight(i.What, ". "), i.Severity, means[i.Severity]))
		if i.Severity == jobcard.Dangerous {
			advice = "not to drive the car before this is put right"
		}
	}
	return "I was told that " + car + " is not safe as it is: " + strings.Join(whats, "; ") + ". The garage advises me " + advice + "."
}

// carWords names the car as people do.
func carWords(s *jobcard.Sheet) string {
	if s.Vehicle.Mark == "" {
		return s.Vehicle.Name()
	}
	return s.Vehicle.Name() + " " + s.Vehicle.Mark
}

// Hands tells whether who may hand cars over.
func Hands(who actor.Actor) bool { return who.May(actor.HandOver) }
