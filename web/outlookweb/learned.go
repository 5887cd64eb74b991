package outlookweb

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type learnedView struct {
	Head, Basis string
	Rows        []learnedRow
	Offers      []hoursOffer
	May         bool // change hours and ramps
	Ramps       string
	Form        *ui.Form // of the ramps
}

type learnedRow struct {
	Name, Hours, Takes, Between string
	Lines                       string
	From                        []fromRow
	More                        string
}

type fromRow struct {
	Path, Card, Day, Estimate, Worked, Note string
}

// hoursOffer is a suggestion for an operation's hours.
type hoursOffer struct {
	ID, Version   string
	Name, Words   string
	Likely        string // minutes
	Accept, Value string
}

func (p pages) learned(w http.ResponseWriter, r *http.Request) error {
	return p.showLearned(w, r, http.StatusOK, nil)
}

func (p pages) showLearned(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	l, err := p.looks.Learned(r.Context(), who)
	if err != nil {
		return err
	}
	v := newLearnedView(l, who, f)
	page := p.kit.Page(r, "What was learned of your hours", Path)
	page.Wide = true
	return p.kit.Render(w, r, status, learnedPage(page, v))
}

func newLearnedView(l outlook.Learned, who actor.Actor, f *ui.Form) *learnedView {
	v := &learnedView{May: who.May(actor.ManageGarage), Form: f}
	if l.Setting.Ramps > 0 {
		v.Ramps = ui.Itoa(int64(l.Setting.Ramps))
	}
	loc := l.Garage.Location()
	switch {
	case l.At.IsZero():
		v.Head = "Nothing has been learned yet. It is looked at once a day, when the first thing happens."
	case l.Young:
		v.Head = fmt.Sprintf("%s have been worked on: too few to learn from. The outlook is still going on your estimates.", lines(l.Lines))
	default:
		v.Head = fmt.Sprintf("Taken all together, half of what is done here takes no longer than %s times its estimate. Something sticks in about %.0f of a hundred lines.", times(l.Over), l.Snag*100)
	}
	if !l.At.IsZero() {
		v.Basis = fmt.Sprintf("Learned on %s at %s from %s that were clocked on. What is not finished counts as longer than it has run; a clocking that was left on or is a slip counts little; what is a year old counts half.",
			workday.Of(l.At, loc).Long(), workday.FormatClock(workday.ClockOf(l.At, loc)), lines(l.Lines))
	}
	for _, o := range l.Operations {
		v.Rows = append(v.Rows, newLearnedRow(o, loc))
		if o.Suggested > 0 && v.May {
			v.Offers = append(v.Offers, hoursOffer{
				ID: ui.Itoa(o.Operation.ID), Version: ui.Itoa(int64(o.Operation.Version)), Name: o.Operation.Name, Likely: ui.Itoa(int64(o.Suggested / time.Minute)),
				Words: fmt.Sprintf("%s is estimated at %s. By the %s of it that were done, half take no longer than about %s.",
					o.Operation.Name, hours.Format(o.Operation.Likely), lines(o.Lines), hours.Format(o.Suggested)),
				Accept: fmt.Sprintf("Set %s to %s", o.Operation.Name, hours.Format(o.Suggested)),
			})
		}
	}
	return v
}

func newLearnedRow(o outlook.OperationLearned, loc *time.Location) learnedRow {
	row := learnedRow{Name: o.Operation.Name, Hours: hours.Format(o.Operation.Likely), Takes: times(o.Times), Between: times(o.Low) + " to " + times(o.High), Lines: ui.Itoa(int64(o.Lines))}
	if o.Layout != "" {
		row.Name += ", engine " + o.Layout
	}
	for _, f := range o.From {
		x := fromRow{
			Path: "/cards/" + ui.Itoa(f.Card), Card: ui.Itoa(f.Card), Day: workday.Of(f.At, loc).Short(),
			Estimate: hours.Format(f.Estimate), Worked: hours.Format(f.Worked.Round(time.Minute)),
		}
		switch {
		case f.Doubtful:
			x.Note = "the clocking is most likely wrong"
		case f.Open:
			x.Note = "not finished: longer than that"
		case f.Snag:
			x.Note = "something stuck, most likely"
		}
		row.From = append(row.From, x)
	}
	if o.Lines > len(o.From) {
		row.More = fmt.Sprintf("The last %d of %d.", len(o.From), o.Lines)
	}
	return row
}

func times(x float64) string { return fmt.Sprintf("%.2f", x) }

// accept sets an operation's hours to what was suggested.
func (p pages) accept(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := outlook.AcceptInput{OperationID: garage.OperationID(f.ID("operation")), Version: int(f.Version()), Likely: time.Duration(f.Int("likely", 1, 12000)) * time.Minute}
	if err := f.Err(); err != nil {
		return err
	}
	o, err := p.looks.Accept(r.Context(), who, in)
	if apperr.Is(err, apperr.Conflict) {
		f.Summary = "somebody has changed this operation meanwhile: look at what is learned of it now"
		return p.showLearned(w, r, http.StatusConflict, f)
	}
	if err != nil {
		return err
	}
	p.kit.Flash(w, o.Name+" is estimated at "+hours.Format(o.Likely)+" from now on")
	return ui.SeeOther(w, r, LearnedPath)
}

// ramps says how many cars can be up at once.
func (p pages) ramps(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := outlook.Setting{}
	if f.Get("ramps") != "" {
		in.Ramps = f.Int("ramps", 1, 50)
	}
	if f.Err() == nil {
		_, err := p.looks.SetRamps(r.Context(), who, in)
		if err == nil {
			p.kit.Flash(w, "Noted: the outlook counts with it from now on")
			return ui.SeeOther(w, r, LearnedPath)
		}
		var stale *apperr.Error
		if !errors.As(err, &stale) || !f.Take(err) {
			return err
		}
	}
	return p.showLearned(w, r, http.StatusUnprocessableEntity, f)
}
