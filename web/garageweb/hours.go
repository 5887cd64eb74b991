package garageweb

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/hours"
	"rampside/internal/live"
	"rampside/internal/roster"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const hoursPath = home + "/hours"

// hoursView is the page of hours: three tables and two forms.
type hoursView struct {
	// Shifts is the form of the planned weeks, Away the one of an absence.
	Shifts, Away *ui.Form
	Version      int64
	Weeks        []weekRow
	Absences     []absenceRow
	Today        []todayRow
	Forgotten    []timeRow
	Recent       []timeRow
	Staff        []ui.Option
	Closed       string
}

type weekRow struct {
	Staff, Name string
	Cells       []ui.Input
}

type absenceRow struct {
	Staff, Name, From, To, Days, Reason string
}

type todayRow struct {
	Name, Spells, Break, Attended, Note string
}

type timeRow struct {
	Path, Name, Day, Times, Break, Note string
}

func (p pages) hours(w http.ResponseWriter, r *http.Request) error {
	return p.showHours(w, r, nil, nil, http.StatusOK)
}

// showHours shows the page with one of its forms as it was posted, or none.
func (p pages) showHours(w http.ResponseWriter, r *http.Request, shifts, away *ui.Form, status int) error {
	h, err := p.roster.Hours(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	v := hoursView{Shifts: shifts, Away: away, Version: h.Version}
	if shifts != nil {
		v.Version = shifts.Version()
	} else {
		v.Shifts = shiftsForm(h.Weeks)
	}
	v.Weeks = weekRows(v.Shifts, h.Weeks)
	v.Absences = absenceRows(h.Absences)
	v.Today = todayRows(h)
	loc := h.Garage.Location()
	for _, f := range h.Forgotten {
		row := rowOfTime(f.Attendance, loc)
		row.Note = "most likely left at " + f.Likely.In(loc).Format("15:04")
		v.Forgotten = append(v.Forgotten, row)
	}
	for _, a := range h.Recent {
		if !a.Open() {
			v.Recent = append(v.Recent, rowOfTime(a, loc))
		}
	}
	v.Staff = []ui.Option{{Label: "not chosen"}}
	for _, s := range h.Weeks {
		v.Staff = append(v.Staff, ui.Option{Value: ui.Itoa(s.StaffID), Label: s.Name})
	}
	page := p.kit.Page(r, "Hours", home).Follow(r, live.All)
	page.Wide = true
	return p.kit.Render(w, r, status, hoursPage(page, v))
}

func cellName(staff actor.StaffID, day int) string { return fmt.Sprintf("shift.%d.%d", staff, day) }

func shiftsForm(weeks []roster.StaffWeek) *ui.Form {
	f := formOf()
	for _, s := range weeks {
		for i, shift := range s.Days {
			f.Values.Set(cellName(s.StaffID, i), roster.FormatShift(shift))
		}
	}
	return f
}

func weekRows(f *ui.Form, weeks []roster.StaffWeek) []weekRow {
	rows := make([]weekRow, len(weeks))
	for n, s := range weeks {
		rows[n].Staff, rows[n].Name = ui.Itoa(s.StaffID), s.Name
		for i := range s.Days {
			rows[n].Cells = append(rows[n].Cells, f.Field(cellName(s.StaffID, i), s.Name+", "+roster.Weekday(i).String()))
		}
	}
	return rows
}

// absenceRows puts days in a row of the same person and reason together.
func absenceRows(days []roster.Absence) []absenceRow {
	type run struct {
		roster.Absence
		last workday.Day
	}
	var runs []*run
	open := map[actor.StaffID]*run{}
	for _, a := range days {
		if r := open[a.StaffID]; r != nil && r.last.AddDays(1) == a.Day && r.Reason == a.Reason {
			r.last = a.Day
			continue
		}
		r := &run{a, a.Day}
		open[a.StaffID], runs = r, append(runs, r)
	}
	rows := make([]absenceRow, len(runs))
	for i, r := range runs {
		rows[i] = absenceRow{ui.Itoa(r.StaffID), r.Name, r.Day.String(), r.last.String(), r.Day.Long(), r.Reason}
		if r.last != r.Day {
			rows[i].Days += " to " + r.last.Long()
		}
	}
	return rows
}

func todayRows(h roster.Hours) []todayRow {
	loc := h.Garage.Location()
	rows := make([]todayRow, len(h.Today))
	for i, a := range h.Today {
		row := todayRow{Name: a.Name, Break: hours.Format(a.Break), Attended: hours.Format(a.Attended)}
		for n, s := range a.Spells {
			if n > 0 {
				row.Spells += ", "
			}
			row.Spells += s.From.In(loc).Format("15:04")
			if n == len(a.Spells)-1 && a.Open {
				row.Spells += " until now"
			} else {
				row.Spells += " to " + s.To.In(loc).Format("15:04")
			}
		}
		if a.Forgotten {
			row.Note = "still in after closing"
		}
		rows[i] = row
	}
	return rows
}

func rowOfTime(a roster.Attendance, loc *time.Location) timeRow {
	row := timeRow{
		Path: "/attendance/" + ui.Itoa(a.ID), Name: a.Name, Day: workday.Of(a.From, loc).Short(),
		Times: a.From.In(loc).Format("15:04") + " until now", Break: hours.Format(a.Break),
	}
	if !a.Open() {
		row.Times = a.From.In(loc).Format("15:04") + " to " + a.To.In(loc).Format("15:04")
	}
	if a.Corrected {
		row.Note = "put in afterwards"
	}
	return row
}

// readShifts reads the cells of the staff that the form names, whoever they
// are: the service knows who works here.
func readShifts(f *ui.Form) roster.ShiftsInput {
	in := roster.ShiftsInput{Version: f.Version()}
	for _, id := range f.IDs("staff", 200) {
		w := roster.Week{StaffID: actor.StaffID(id)}
		for i := range w.Days {
			w.Days[i] = ui.Read(f, cellName(w.StaffID, i), roster.ParseShift)
		}
		in.Weeks = append(in.Weeks, w)
	}
	return in
}

func (p pages) saveShifts(w http.ResponseWriter, r *http.Request) error {
	var in roster.ShiftsInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readShifts(f) },
		write: func(who actor.Actor) (string, string, error) {
			return hoursPath, "Shifts saved", p.roster.SaveShifts(r.Context(), who, in)
		},
		again: func(f *ui.Form, status int) error { return p.showHours(w, r, f, nil, status) },
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[roster.Roster](err)
			return staleShifts(f, in, now), ok
		},
	})
}

// staleShifts shows the cells that differ; the others go along as they stand.
func staleShifts(f *ui.Form, in roster.ShiftsInput, now roster.Roster) ui.Stale {
	s := ui.Stale{Thing: "table of shifts", Action: hoursPath, Back: hoursPath, Version: now.Version}
	theirs := shiftsForm(now.Weeks)
	for _, w := range now.Weeks {
		posted := false
		for _, mine := range in.Weeks {
			posted = posted || mine.StaffID == w.StaffID
		}
		if !posted {
			continue
		}
		s.Keep = append(s.Keep, ui.Carried{Name: "staff", Value: ui.Itoa(w.StaffID)})
		for i := range w.Days {
			name := cellName(w.StaffID, i)
			if theirs.Get(name) == f.Get(name) {
				s.Keep = append(s.Keep, ui.Carried{Name: name, Value: f.Get(name)})
				continue
			}
			s.Rows = append(s.Rows, ui.StaleRow{
				Name: name, Label: w.Name + ", " + roster.Weekday(i).String(), Theirs: theirs.Get(name), Yours: f.Get(name),
			})
		}
	}
	return s
}

func readAbsence(f *ui.Form) roster.AbsenceInput {
	f.Required("staff", "from")
	in := roster.AbsenceInput{
		StaffID: actor.StaffID(f.ID("staff")), From: ui.Read(f, "from", workday.Parse), To: ui.Read(f, "to", workday.Parse), Reason: f.Str("reason", 120),
	}
	if in.To.IsZero() && f.Problem("to") == "" {
		in.To = in.From // one day
	}
	return in
}

func (p pages) addAbsence(w http.ResponseWriter, r *http.Request) error {
	var in roster.AbsenceInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readAbsence(f) },
		write: func(who actor.Actor) (string, string, error) {
			return hoursPath, "Absence noted", p.roster.AddAbsence(r.Context(), who, in)
		},
		again: func(f *ui.Form, status int) error { return p.showHours(w, r, nil, f, status) },
	})
}

func (p pages) removeAbsence(w http.ResponseWriter, r *http.Request) error {
	var in roster.AbsenceInput
	return p.save(w, r, save{
		read: func(f *ui.Form) { in = readAbsence(f) },
		write: func(who actor.Actor) (string, string, error) {
			return hoursPath, "Absence taken back", p.roster.RemoveAbsence(r.Context(), who, in)
		},
		again: func(f *ui.Form, status int) error { return p.showHours(w, r, nil, f, status) },
	})
}

// cellID is the id that a message about the cell leads to.
func cellID(c ui.Input) string { return "f-" + strings.ReplaceAll(c.Name, ".", "-") }

func cellHint(c ui.Input) string {
	if c.Problem != "" {
		return cellID(c) + "-problem"
	}
	return "shift-hint"
}
