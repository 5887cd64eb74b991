package floorweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/floor"
	"rampside/internal/hours"
	"rampside/web/ui"
)

// floorView is the floor as one technician sees it.
type floorView struct {
	Name string
	In   bool
	All  bool // may see everybody's clockings
	Mine *mineView
	Next []rowView
	// Lists are the other lines, by what is the matter with them; none empty.
	Lists []listView
}

// mineView is the line that the technician is on.
type mineView struct {
	rowView
	Since, Spent string
	With         []string // the others on it
	Forgotten    bool
}

type listView struct {
	Title, Note string
	Rows        []rowView
}

// rowView is one line in a list of the floor.
type rowView struct {
	ID                    string
	Path                  string
	State                 string
	Title, Plate, Car     string
	Why                   string
	Hindrances, Looks     []string
	Said                  []string
	Held                  []heldView
	Stripped, CanStrip    bool
	NotAgreed             bool
	CanStart, Join, Check bool
	Unread                []caution.Caution
	First                 bool
}

func (p pages) floor(w http.ResponseWriter, r *http.Request) error {
	plan, err := p.Floor.Plan(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, http.StatusOK, floorPage(p.page(r, "Floor", "garage"), newFloor(plan, ui.Who(r.Context()))))
}

func newFloor(plan floor.Plan, who actor.Actor) floorView {
	v := floorView{Name: who.Name, In: plan.In, All: who.May(actor.SeeMargins)}
	if plan.Mine != nil {
		m := mineView{rowView: row(*plan.Mine), Since: plan.When(plan.MySince()), Spent: plan.Mine.Spent(), Forgotten: plan.Forgotten}
		for _, h := range plan.Mine.On() {
			if h.StaffID != plan.Me {
				m.With = append(m.With, plan.Staff[h.StaffID])
			}
		}
		v.Mine = &m
	}
	for i, it := range plan.Next {
		x := row(it)
		// Whose hands are free reads the cautions of the next line without
		// opening them.
		x.CanStart, x.First = !it.Stopped(), i == 0 && plan.Mine == nil
		v.Next = append(v.Next, x)
	}
	v.list("In hand now", "", plan.InHand, func(it floor.Item, x *rowView) {
		x.Said, x.Join, x.Why = plan.Who(it.Line), !it.Stopped(), ""
	})
	v.list("To be checked by a second person", "", plan.ToCheck, func(it floor.Item, x *rowView) {
		x.Why = ""
		if x.Check = !it.OwnWork; it.OwnWork {
			x.Said = []string{"you worked on it: somebody else has to check it"}
		}
	})
	v.list("Waiting on parts", "", plan.Waiting, func(it floor.Item, x *rowView) { x.Said = []string{it.StateReason} })
	v.list("Not agreed yet", "The customer has not said yes to these, so they wait. The desk asks, and notes the answer on the card.", plan.NotAgreed,
		func(it floor.Item, x *rowView) { x.CanStart = !it.Stopped() })
	v.list("Deferred at this visit", "", plan.Deferred, func(it floor.Item, x *rowView) {
		x.Said, x.Why, x.Hindrances, x.Looks, x.Held = []string{it.StateReason + " (" + it.DecidedBy + ")"}, "", nil, nil, nil
	})
	return v
}

func (v *floorView) list(title, note string, items []floor.Item, more func(floor.Item, *rowView)) {
	if len(items) == 0 {
		return
	}
	l := listView{Title: title, Note: note}
	for _, it := range items {
		x := row(it)
		more(it, &x)
		l.Rows = append(l.Rows, x)
	}
	v.Lists = append(v.Lists, l)
}

func row(it floor.Item) rowView {
	return rowView{
		ID: ui.Itoa(it.ID), Path: linePath(it.ID), State: string(it.WorkState), Title: it.Title, Plate: it.Car.Mark, Car: it.Car.Name,
		Why: joined(it.Why) + ", " + hours.Format(it.Estimate.Likely), Hindrances: it.Hindrances, Looks: it.Looks,
		NotAgreed: it.Unagreed(), Unread: caution.Of(it.Unread),
		Held: heldOf(it.ID, it.Holds), Stripped: it.Stripped, CanStrip: len(it.Parts) > 0,
	}
}

func (p pages) off(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadForm(r)
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	done, err := p.Clock.ClockOff(r.Context(), who, clocking.OffInput{})
	if err != nil {
		return err
	}
	if done.LineID != 0 {
		p.kit.Flash(w, "Clocked off")
	}
	return ui.SeeOther(w, r, back(f))
}

// here notes that somebody has come in, before the first clocking would.
func (p pages) here(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	if _, err := p.Roster.Arrive(r.Context(), who); err != nil {
		return err
	}
	p.kit.Flash(w, "You are in")
	return ui.SeeOther(w, r, floorPath)
}

func (p pages) home(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	if _, err := p.Clock.GoHome(r.Context(), who, clocking.OffInput{}); err != nil {
		return err
	}
	p.kit.Flash(w, "You are clocked off and signed out of work")
	return ui.SeeOther(w, r, floorPath)
}
