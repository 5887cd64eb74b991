package floorweb

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/a-h/templ"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// lineView is one line with all that a technician needs of its car.
type lineView struct {
	ID, Path, CardPath  string
	CardID              string
	Title, Plate, Car   string
	State, Consent      string
	Said                []string // why it stands as it does
	Promise, Must       string
	Words               string // the customer's own
	Facts               []factView
	Parts               []partView
	Cautions, Unread    []caution.Caution
	Before              []string // lines that must be done first
	Notes               []string
	Spent               string
	Steps               []ui.Step
	Photos              []photoView
	Held                []heldView // parts that keep the gate closed
	Stripped, CanStrip  bool
	NotAgreed           string // why it waits for the customer; empty when it does not
	Ahead               string // why it goes ahead without
	MineNow             bool
	CanStart, CanTick   bool
	CanSnag, CanDefer   bool
	CanWait, CanReopen  bool
	CanCheck, WheelsOff bool

	line  jobcard.Line
	sheet *jobcard.Sheet
	now   time.Time
}

type factView struct{ Name, Value, Source string }

type photoView struct{ Path, Caption string }

func (p pages) line(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return err
	}
	v, err := p.view(r, id)
	if err != nil {
		return err
	}
	page := p.page(r, v.Title, "card:"+v.CardID)
	page.OwnHead = true
	var photo templ.Component
	if p.PhotoForm != nil {
		photo = p.PhotoForm(v.ID, v.Path)
	}
	return p.kit.Render(w, r, http.StatusOK, linePage(page, v, photo))
}

// view reads a line and its card.
func (p pages) view(r *http.Request, id jobcard.LineID) (*lineView, error) {
	who := ui.Who(r.Context())
	cautions, err := p.Clock.Cautions(r.Context(), who, id)
	if err != nil {
		return nil, err
	}
	s, err := p.Cards.Sheet(r.Context(), who, cautions.CardID)
	if err != nil {
		return nil, err
	}
	l, _ := s.Line(id) // a line never leaves its card
	v := &lineView{
		ID: ui.Itoa(id), Path: linePath(id), CardPath: "/cards/" + ui.Itoa(s.ID), CardID: ui.Itoa(s.ID), Title: l.Title,
		Plate: firstOf(s.Vehicle.Mark, s.Vehicle.VIN), Car: s.Vehicle.Name(), State: string(l.WorkState), Consent: string(l.Consent),
		Words: s.CustomerWords, Cautions: caution.Of(cautions.All), Unread: caution.Of(cautions.Unread()),
		NotAgreed: notAgreed(l), WheelsOff: l.WheelsOff,
		line: l, sheet: s, now: p.kit.Now(),
	}
	if l.Consent == jobcard.Asked && l.AheadWhy != "" && !l.Struck() {
		v.Ahead = "It goes ahead all the same, says " + s.Staff[l.AheadBy] + ": " + l.AheadWhy + "."
	}
	v.stand()
	v.facts()
	v.time()
	v.history()
	for _, part := range s.PartsOf(id) {
		v.Parts = append(v.Parts, v.part(part))
	}
	if p.PhotoForm != nil {
		for _, ph := range s.Photos {
			if ph.LineID == id {
				v.Photos = append(v.Photos, photoView{"/photos/" + ui.Itoa(ph.ID), firstOf(ph.Caption, "Photo at "+v.when(ph.At))})
			}
		}
	}
	v.may(who)
	return v, nil
}

// when is a moment on the garage's clock.
func (v *lineView) when(t time.Time) string {
	return clockIn(t, v.sheet.Zone, workday.Of(v.now, v.sheet.Zone))
}

// stand says how the line stands and why.
func (v *lineView) stand() {
	l, s := v.line, v.sheet
	v.Must = "if there is time"
	if l.MustDo {
		v.Must = "must do"
	}
	v.Promise = "no promise"
	if !s.PromisedAt.IsZero() {
		v.Promise = "promised " + v.when(s.PromisedAt)
	}
	switch {
	case l.Struck():
		v.Said = append(v.Said, "struck out: "+l.StruckWhy)
	case l.WorkState == jobcard.Deferred:
		v.Said = append(v.Said, "put off: "+l.StateReason+", decided by "+l.DecidedBy)
	case l.WorkState == jobcard.Waiting:
		v.Said = append(v.Said, "waiting: "+l.StateReason)
	case l.WorkState == jobcard.Done:
		v.Said = append(v.Said, "ticked by "+s.Staff[l.DoneBy]+" at "+v.when(l.DoneAt))
	}
	for _, id := range s.Clocked[l.ID].On {
		v.Said = append(v.Said, s.Staff[id]+" is on it now")
	}
	if l.AssignedTo != 0 {
		v.Said = append(v.Said, "meant for "+s.Staff[l.AssignedTo])
	}
	for _, id := range s.After[l.ID] {
		if b, ok := s.Line(id); ok && !b.Settled() {
			v.Before = append(v.Before, b.Title)
		}
	}
	if c, ok := s.Checks[l.ID]; ok {
		words := "checked by " + s.Staff[c.By] + " at " + v.when(c.At)
		if c.TorqueNm > 0 {
			words += ", wheels at " + torque(c.TorqueNm) + " Nm"
		}
		v.Said = append(v.Said, words)
		if c.Note != "" {
			v.Notes = append(v.Notes, "check: "+c.Note)
		}
	}
}

func (v *lineView) facts() {
	for _, k := range v.sheet.Vehicle.Facts {
		source := k.Best.Source.Words()
		if k.Contradicted {
			source = "sources differ: go and look"
		}
		v.Facts = append(v.Facts, factView{k.Key.Label, k.Key.Shown(k.Best.Value), source})
	}
	if vin := v.sheet.Vehicle.VIN; vin != "" {
		v.Facts = append(v.Facts, factView{Name: "VIN", Value: vin})
	}
}

// time says how long the line has taken, and how long it should.
func (v *lineView) time() {
	worked, e := v.sheet.Clocked[v.line.ID].Worked, v.line.Estimate
	v.Spent = hours.Format(worked) + " of " + hours.Format(e.Likely)
	v.Steps = []ui.Step{
		{Label: "if all goes well", Value: hours.Format(e.Low)},
		{Label: "as a rule", Value: hours.Format(e.Likely)},
		{Label: "if it goes badly", Value: hours.Format(e.High)},
		{Label: "so far", Value: hours.Format(worked), Sum: true},
	}
}

// history gathers what was noted, found and met on the line.
func (v *lineView) history() {
	l, s := v.line, v.sheet
	if l.Note != "" {
		v.Notes = append(v.Notes, l.Note)
	}
	for _, f := range s.Findings {
		if f.Proposed != l.ID && f.LineID != l.ID {
			continue
		}
		words := "found (" + string(f.Severity) + "): " + f.What
		if f.Measured != "" {
			words += ", measured " + f.Measured
		}
		if f.Limit != "" {
			words += ", limit " + f.Limit
		}
		v.Notes = append(v.Notes, words)
	}
	for _, g := range s.Snags {
		if g.LineID != l.ID {
			continue
		}
		words := s.Staff[g.By] + " at " + v.when(g.At) + ": " + string(g.Kind)
		if p, ok := s.Part(g.PartID); ok {
			words += ", " + p.Name
		}
		if g.Note != "" {
			words += ": " + g.Note
		}
		v.Notes = append(v.Notes, words)
	}
}

// notAgreed says why a line waits for the customer.
func notAgreed(l jobcard.Line) string {
	switch {
	case l.Consent != jobcard.Asked || l.MayBeWorkedOn() || l.Struck():
		return ""
	case l.AgreedNet != nil || l.AgreedTime != nil:
		return "It costs more by now than the customer agreed to, so nobody can start or tick it until the desk has asked them again."
	}
	return "The customer has not said yes to this, so nobody can start or tick it until the desk has asked them."
}

// may works out what this person can do with the line now.
func (v *lineView) may(who actor.Actor) {
	l, s := v.line, v.sheet
	clocked := s.Clocked[l.ID]
	live := !l.Struck() && (s.Stage.Workable() || s.Stage == jobcard.Ready)
	at := func(states ...jobcard.WorkState) bool { return live && slices.Contains(states, l.WorkState) }
	willing := l.Consent != jobcard.Declined
	v.MineNow = slices.Contains(clocked.On, who.StaffID)
	if !l.Struck() && l.WorkState != jobcard.Done {
		v.Held = heldOf(l.ID, s.HoldsOf(l.ID))
	}
	v.Stripped = l.Stripped()
	v.CanStrip = willing && s.Stage.Workable() && len(v.Parts) > 0 && at(jobcard.Open, jobcard.InHand, jobcard.Waiting)
	v.CanStart = !v.MineNow && l.MayBeWorkedOn() && len(v.Before) == 0 && !(v.Stripped && len(v.Held) > 0) && at(jobcard.Open, jobcard.InHand, jobcard.Waiting)
	v.CanTick = l.MayBeWorkedOn() && s.Stage.Workable() && at(jobcard.Open, jobcard.InHand)
	v.CanSnag = s.Stage.Workable() && at(jobcard.Open, jobcard.InHand, jobcard.Waiting)
	v.CanDefer = at(jobcard.Open, jobcard.InHand, jobcard.Waiting)
	v.CanWait = willing && at(jobcard.Open, jobcard.InHand)
	v.CanReopen = at(jobcard.Done, jobcard.Deferred, jobcard.Waiting)
	_, checked := s.Checks[l.ID]
	v.CanCheck = at(jobcard.Done) && (l.Safety || l.WheelsOff) && !checked &&
		l.DoneBy != who.StaffID && !slices.Contains(clocked.Hands, who.StaffID)
}

func firstOf(words ...string) string {
	for _, w := range words {
		if strings.TrimSpace(w) != "" {
			return w
		}
	}
	return ""
}

// partView is a part of the line; it has no price here.
type partView struct {
	Path, Name, Number, Quantity string
	Supply, Due, Verdict, By     string
	Version                      int64
	Struck, CanArrive, CanJudge  bool
	Own, Held                    bool
}

func (v *lineView) part(p jobcard.Part) partView {
	x := partView{
		Path: partPath(p.LineID, p.ID), Name: p.Name, Number: p.Number, Quantity: money.FormatQuantity(p.Qty),
		Supply: string(p.Supply), Verdict: string(p.Verdict), Version: int64(p.Version), Struck: p.Struck(),
		Own: p.Source == jobcard.FromCustomer, Held: p.Held,
	}
	if !p.DueAt.IsZero() && p.Outstanding() {
		x.Due = "due " + v.when(p.DueAt)
	}
	if p.VerdictBy != 0 && p.VerdictHow == jobcard.ByHand {
		x.By = v.sheet.Staff[p.VerdictBy]
		if p.VerdictNote != "" {
			x.By += ": " + p.VerdictNote
		}
	}
	open := v.sheet.Stage != jobcard.Collected && v.sheet.Stage != jobcard.Cancelled && !p.Struck()
	x.CanArrive = open && p.Outstanding()
	x.CanJudge = open && p.Counts()
	return x
}
