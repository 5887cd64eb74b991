package floorweb

import (
	"net/http"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// dayView is the clockings of one day.
type dayView struct {
	Title     string
	Path      string // of the list itself
	All       bool   // everybody's
	Day       string // as a date field takes it
	Long      string
	Prev      string
	Next      string
	Other     string // everybody's, where one's own are shown and those may be seen
	Forgotten []forgottenView
	People    []personView
}

type personView struct {
	Name, Worked string
	Rows         []clockingView
}

type clockingView struct {
	Path, LinePath, Title, Car, From, To, Worked string
	Voided, CanCorrect                           bool
	Corrections                                  []string
}

// forgottenView is a clocking that goes on although the garage has closed.
type forgottenView struct {
	clockingView
	Name           string
	Likely, Ending string // as it is shown, and as a field takes it
	Start          string
	Version        int64
}

func (p pages) mine(w http.ResponseWriter, r *http.Request) error {
	who := ui.Who(r.Context())
	return p.day(w, r, clocking.DayQuery{StaffID: who.StaffID}, dayView{Title: "My clockings", Path: floorPath + "/clockings"})
}

func (p pages) everybody(w http.ResponseWriter, r *http.Request) error {
	return p.day(w, r, clocking.DayQuery{}, dayView{Title: "Clockings", Path: "/clockings", All: true})
}

func (p pages) day(w http.ResponseWriter, r *http.Request, q clocking.DayQuery, v dayView) error {
	f := ui.ReadQuery(r)
	q.Day = ui.Read(f, "day", workday.Parse)
	if err := f.Err(); err != nil {
		return err
	}
	who := ui.Who(r.Context())
	d, err := p.Clock.OnDay(r.Context(), who, q)
	if err != nil {
		return err
	}
	v.fill(d, who)
	if !v.All && who.May(actor.SeeMargins) {
		v.Other = "/clockings?day=" + v.Day
	}
	page := p.page(r, v.Title, "garage")
	return p.kit.Render(w, r, http.StatusOK, dayPage(page, v))
}

func (v *dayView) fill(d clocking.Day, who actor.Actor) {
	loc := d.Garage.Location()
	today := d.Garage.Today(d.Now)
	v.Day, v.Long = d.Day.String(), d.Day.Long()
	v.Prev = v.Path + "?day=" + d.Day.AddDays(-1).String()
	if d.Day.Before(today) {
		v.Next = v.Path + "?day=" + d.Day.AddDays(1).String()
	}
	one := func(k clocking.Clocking) clockingView {
		x := clockingView{
			Path: clockingPath(k.ID), LinePath: linePath(k.LineID), Title: k.Title, Car: k.Car, From: clockIn(k.From, loc, d.Day), To: "now",
			Voided: k.Voided, CanCorrect: !k.Voided && (k.StaffID == who.StaffID || who.May(actor.CorrectClockings)),
		}
		if !k.To.IsZero() {
			x.To = clockIn(k.To, loc, d.Day)
		}
		if !k.Voided {
			x.Worked = hours.Format(k.Span(d.Now).OnDay(d.Day, loc))
		}
		for _, c := range d.Corrections[k.ID] {
			x.Corrections = append(x.Corrections, correctionWords(c, loc, d.Day))
		}
		return x
	}
	for _, k := range d.Forgotten {
		x := forgottenView{
			clockingView: one(k.Clocking), Name: k.Name, Likely: clockIn(k.Likely, loc, today),
			Ending: fieldTime(k.Likely, loc), Start: fieldTime(k.From, loc), Version: int64(k.Version),
		}
		x.From = clockIn(k.From, loc, today)
		v.Forgotten = append(v.Forgotten, x)
	}
	var last actor.StaffID
	for _, k := range d.Clockings {
		if k.StaffID != last {
			v.People = append(v.People, personView{Name: k.Name, Worked: hours.Format(d.Worked(k.StaffID))})
			last = k.StaffID
		}
		p := &v.People[len(v.People)-1]
		p.Rows = append(p.Rows, one(k))
	}
}

// correctionWords says what a correction changed, why, and who made it.
func correctionWords(c clocking.Correction, loc *time.Location, day workday.Day) string {
	span := func(s workday.Span) string {
		if s.To.IsZero() {
			return "from " + clockIn(s.From, loc, day) + " on"
		}
		return clockIn(s.From, loc, day) + " to " + clockIn(s.To, loc, day)
	}
	words := "was " + span(c.Was)
	if c.Voided {
		words += ", struck out"
	} else {
		words += ", became " + span(c.Became)
	}
	words += ": " + c.Reason
	if c.By != "" {
		words += " (" + c.By + ", " + clockIn(c.At, loc, day) + ")"
	}
	return words
}

// fieldTime is a moment as a date and time field takes it, to the minute.
func fieldTime(t time.Time, loc *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(loc).Format("2006-01-02T15:04")
}

// readTime reads such a field. Left as it was shown, it is the very moment,
// with its seconds: else it would reach into the clocking before.
func readTime(f *ui.Form, name string, was time.Time, loc *time.Location) time.Time {
	if !was.IsZero() && f.Get(name) == fieldTime(was, loc) {
		return was
	}
	return f.When(name, loc)
}

func (p pages) clocking(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[clocking.ID](r, "clocking")
	if err != nil {
		return err
	}
	return p.showClocking(w, r, http.StatusOK, id, nil)
}

// editView is one clocking being corrected.
type editView struct {
	Path, Title, Car, Name string
	From, To               string
	Open, Voided           bool
	Version                int64
}

func (p pages) showClocking(w http.ResponseWriter, r *http.Request, status int, id clocking.ID, f *ui.Form) error {
	k, err := p.Clock.ByID(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	loc, err := p.Garage.Zone(r.Context())
	if err != nil {
		return err
	}
	v := editView{
		Path: clockingPath(id), Title: k.Title, Car: k.Car, Name: k.Name, From: fieldTime(k.From, loc), To: fieldTime(k.To, loc),
		Open: k.Open(), Voided: k.Voided, Version: int64(k.Version),
	}
	return p.kit.Render(w, r, status, clockingPage(p.page(r, "Correct a clocking"), v, f))
}

func (p pages) correct(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[clocking.ID](r, "clocking")
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	k, err := p.Clock.ByID(r.Context(), who, id)
	if err != nil {
		return err
	}
	loc, err := p.Garage.Zone(r.Context())
	if err != nil {
		return err
	}
	in := clocking.CorrectInput{
		ClockingID: id, Version: int(f.Version()), Void: f.Bool("void"), Reason: f.Str("reason", jobcard.MaxShort),
	}
	if !in.Void {
		in.From, in.To = readTime(f, "from", k.From, loc), readTime(f, "to", k.To, loc)
	}
	if err = f.Err(); err == nil {
		_, err = p.Clock.Correct(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[clocking.Clocking](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "clocking", Action: clockingPath(id), Back: backToDay(f, who, k), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "from", Label: "From", Theirs: fieldTime(now.From, loc), Yours: f.Get("from")},
				{Name: "to", Label: "To", Theirs: fieldTime(now.To, loc), Yours: f.Get("to")},
				{Name: "reason", Label: "Why", Yours: f.Get("reason")},
			},
		})
	}
	switch {
	case err == nil:
		p.kit.Flash(w, "Corrected")
		return ui.SeeOther(w, r, backToDay(f, who, k))
	case f.Take(err):
		return p.showClocking(w, r, http.StatusUnprocessableEntity, id, f)
	}
	return err
}

// backToDay is the list that a correction was made from.
func backToDay(f *ui.Form, who actor.Actor, k clocking.Clocking) string {
	if b := f.Get("back"); b != "" {
		return ui.LocalPath(b)
	}
	if k.StaffID == who.StaffID {
		return floorPath + "/clockings"
	}
	return "/clockings"
}
