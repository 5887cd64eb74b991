package diaryweb

import (
	"strconv"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/diary"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// view is the diary as the page shows it: every word and figure made.
type view struct {
	Title string
	Week  bool
	// Day is the day or the Monday shown, as a date field sends it.
	Day              string
	Prev, Next, Here link // Here leads to today; empty when it is shown
	Quotes           link // those that are out, for whoever sends them
	Other            link // the week of this day, or the days of this week
	Caption          string
	// Room and BookIn are those of the one day.
	Room   *roomView
	BookIn link
	Word   string // what is unusual about the day
	Groups []groupView
	Form   *ui.Form
	Cut    bool
}

type link struct{ Path, Label string }

// groupView is a stretch of the list under a head of its own: a day of the
// week, or what a day holds besides its own bookings.
type groupView struct {
	Head   string
	Path   string // the day alone; empty where it is
	BookIn link   // empty for those who may not
	Room   *roomView
	Rows   []rowView
	// Empty stands where there are no rows.
	Empty string
}

type rowView struct {
	Card, CardPath         string
	Mark, Car, CarPath     string
	Customer, CustomerPath string
	Phone                  string
	Stage                  string
	Comes, Promise         string
	Late                   bool
	Lines                  string
	Hours                  string
	Steps                  []ui.Step
	Waits                  []waitView
	// Look is what the outlook says of the car, nil where it says nothing.
	Look *outlook.Strip
	id   jobcard.CardID
	live bool
}

type waitView struct {
	Words string
	Late  bool
}

type roomView struct {
	Figure string // as a fraction and in words
	Words  string
	Steps  []ui.Step
	Left   string // what is left of today; empty on other days
	Rest   []ui.Step
}

func diaryPath(d workday.Day, week bool) string {
	p := "/diary?day=" + d.String()
	if week {
		p += "&view=week"
	}
	return p
}

func newView(d diary.Diary, week bool, who actor.Actor, f *ui.Form) *view {
	first := d.Days[0].Day
	v := &view{Week: week, Day: first.String(), Form: f, Cut: d.Cut}
	if week {
		v.Title = "Diary, week of " + first.Long()
		v.Prev = link{diaryPath(first.AddDays(-7), true), "Week before"}
		v.Next = link{diaryPath(first.AddDays(7), true), "Week after"}
		v.Other = link{diaryPath(first, false), first.Short() + " alone"}
		if d.Today.WeekStart() != first {
			v.Here = link{"/diary?view=week", "This week"}
		} else {
			v.Other = link{diaryPath(d.Today, false), "Today alone"}
		}
	} else {
		v.Title = "Diary, " + first.Long()
		v.Prev = link{diaryPath(first.AddDays(-1), false), "Day before"}
		v.Next = link{diaryPath(first.AddDays(1), false), "Day after"}
		v.Other = link{diaryPath(first, true), "Whole week"}
		if d.Today != first {
			v.Here = link{"/diary", "Today"}
		}
	}
	if who.May(actor.SendQuote) {
		v.Quotes = link{"/quotes", "Quotes that are out"}
	}
	v.Caption = "Cars of the day"
	if week {
		v.Caption = "Cars of the week"
	}
	for _, day := range d.Days {
		v.day(d, day, who)
	}
	return v
}

func (v *view) day(d diary.Diary, day diary.Day, who actor.Actor) {
	room := newRoom(day.Room)
	own := groupView{Head: "Booked for this day", Empty: "Nothing is booked."}
	var book link
	if who.May(actor.BookIn) && !day.Day.Before(d.Today) {
		book = link{"/book-in?day=" + day.Day.String(), "Book in"}
	}
	name := ""
	if v.Week {
		name = day.Day.Short()
		own.Head, own.Path, own.Room = name, diaryPath(day.Day, false), &room
		if day.Day == d.Today {
			own.Head = "Today, " + name
		}
		if !day.Works {
			own.Empty = "The garage is closed."
		}
		if book.Path != "" {
			book.Label += " for " + name
		}
		own.BookIn = book
	} else {
		v.Room, v.BookIn = &room, book
		if !day.Works {
			v.Word = "The garage is closed on this day."
		}
	}
	rows := func(list []diary.Booking) (out []rowView) {
		for _, b := range list {
			out = append(out, newRow(d, day.Day, b, who))
		}
		return out
	}
	own.Rows = rows(day.Bookings)
	over := groupView{Head: "Still here from earlier days", Rows: rows(day.Over)}
	missed := groupView{Head: "Booked for earlier days and never came", Rows: rows(day.Missed)}
	groups := []groupView{over, own, missed}
	if v.Week { // the day's own head comes first
		groups = []groupView{own, over, missed}
	}
	for _, g := range groups {
		if len(g.Rows) > 0 || g.Empty != "" {
			v.Groups = append(v.Groups, g)
		}
	}
}

func newRow(d diary.Diary, day workday.Day, b diary.Booking, who actor.Actor) rowView {
	loc := d.Garage.Location()
	row := rowView{id: b.Card, live: b.Stage.Live() && b.Stage != jobcard.Ready,
		Card: ui.Itoa(b.Card), CardPath: "/cards/" + ui.Itoa(b.Card),
		Mark: b.Mark, Car: b.Car, CarPath: "/vehicles/" + ui.Itoa(b.VehicleID),
		Customer: b.Customer, Phone: b.Phone, Stage: string(b.Stage),
		Comes: clockOn(b.ArrivesAt, day, loc), Promise: clockOn(b.PromisedAt, day, loc), Late: b.Late,
		Lines: strconv.Itoa(b.Done) + " of " + strconv.Itoa(b.Lines),
		Hours: hours.Format(b.Hours), Steps: hourSteps(b),
	}
	if b.BookedFor != day && b.ArrivesAt.IsZero() {
		row.Comes = b.BookedFor.Short()
	}
	if who.May(actor.ReadPeople) {
		row.CustomerPath = "/customers/" + ui.Itoa(b.CustomerID)
	}
	if !b.CollectedAt.IsZero() && b.Stage == jobcard.Collected {
		row.Waits = append(row.Waits, waitView{Words: "went home " + clockOn(b.CollectedAt, day, loc)})
	}
	for _, w := range b.Waits {
		row.Waits = append(row.Waits, waitView{w.Words, w.Late})
	}
	return row
}

// hourSteps opens the hours a card takes of the day: line by line, with what
// is off them and what is left.
func hourSteps(b diary.Booking) []ui.Step {
	var out []ui.Step
	for _, h := range b.Shares {
		label := h.Title
		switch {
		case h.Before > 0 && h.Takes == 0 && h.Done:
			label += ", done on an earlier day"
		case h.Before > 0:
			label += ", " + hours.Format(h.Likely) + " less " + hours.Format(h.Before) + " of earlier days"
		}
		out = append(out, ui.Step{Label: label, Value: hours.Format(h.Takes)})
	}
	out = append(out, ui.Step{Label: "of the day", Value: hours.Format(b.Hours), Sum: true})
	if b.Stage.Live() && b.Left != b.Hours {
		out = append(out, ui.Step{Label: "left of it now", Value: hours.Format(b.Left)})
	}
	return out
}

func newRoom(r diary.Room) roomView {
	v := roomView{Figure: r.Full().Fraction()}
	if p, ok := r.Full().Percent(); ok {
		v.Figure += ", " + p.String()
	}
	switch free := r.Free(); {
	case r.There == 0 && r.Booked == 0:
		v.Figure = "no hours, none booked"
	case free < 0:
		v.Words = hours.Format(-free) + " more than there are"
	default:
		v.Words = hours.Format(free) + " free"
	}
	for _, j := range r.Jobs {
		v.Steps = append(v.Steps, ui.Step{Label: jobWords(j), Value: hours.Format(j.Hours)})
	}
	v.Steps = append(v.Steps, ui.Step{Label: "booked", Value: hours.Format(r.Booked), Sum: true})
	for _, h := range r.Hands {
		v.Steps = append(v.Steps, ui.Step{Label: h.Name, Value: hours.Format(h.Hours)})
	}
	v.Steps = append(v.Steps, ui.Step{Label: "hours there are, breaks and absences off", Value: hours.Format(r.There), Sum: true})
	if r.Today {
		v.Left = hours.Format(r.Left) + " of work, " + hours.Format(r.LeftThere) + " of shifts"
		for _, j := range r.Jobs {
			v.Rest = append(v.Rest, ui.Step{Label: jobWords(j), Value: hours.Format(j.Left)})
		}
		v.Rest = append(v.Rest, ui.Step{Label: "work left", Value: hours.Format(r.Left), Sum: true})
		for _, h := range r.Hands {
			v.Rest = append(v.Rest, ui.Step{Label: h.Name, Value: hours.Format(h.Left)})
		}
		v.Rest = append(v.Rest, ui.Step{Label: "left of the shifts", Value: hours.Format(r.LeftThere), Sum: true})
	}
	return v
}

func jobWords(j diary.Job) string {
	words := strings.TrimSpace("Card " + ui.Itoa(j.Card) + " " + j.Mark)
	if j.Over {
		words += ", carried over"
	}
	return words
}

// clockOn writes a time by the garage's clock: alone when it is on the day,
// else with its own.
func clockOn(t time.Time, day workday.Day, loc *time.Location) string {
	if t.IsZero() {
		return ""
	}
	clock := workday.FormatClock(workday.ClockOf(t, loc))
	if on := workday.Of(t, loc); on != day {
		return on.Short() + " " + clock
	}
	return clock
}
