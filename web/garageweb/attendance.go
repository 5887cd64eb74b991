package garageweb

import (
	"net/http"
	"strconv"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/roster"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// attendanceView is the page on which one stretch of time is put right, or
// one that was never noted is added.
type attendanceView struct {
	Form   *ui.Form
	Action string
	New    bool
	Name   string
	Stands string
	Staff  []ui.Option
}

func (p pages) attendance(w http.ResponseWriter, r *http.Request) error {
	a, set, err := p.attendanceOf(r)
	if err != nil {
		return err
	}
	f := attendanceForm(a, set.Location())
	f.Values.Set("version", ui.Itoa(a.Version()))
	return p.showAttendance(w, r, f, a, set, http.StatusOK)
}

func (p pages) attendanceOf(r *http.Request) (roster.Attendance, garage.Settings, error) {
	id, err := ui.PathID[roster.AttendanceID](r, "attendance")
	if err != nil {
		return roster.Attendance{}, garage.Settings{}, err
	}
	return p.roster.Attendance(r.Context(), ui.Who(r.Context()), id)
}

func (p pages) showAttendance(w http.ResponseWriter, r *http.Request, f *ui.Form, a roster.Attendance, set garage.Settings, status int) error {
	loc := set.Location()
	row := rowOfTime(a, loc)
	v := attendanceView{Form: f, Action: row.Path, Name: a.Name, Stands: workday.Of(a.From, loc).Long() + ", " + row.Times}
	return p.kit.Render(w, r, status, attendancePage(p.kit.Page(r, "Put a time right", home), v))
}

func attendanceForm(a roster.Attendance, loc *time.Location) *ui.Form {
	return formOf("from", local(a.From, loc), "to", local(a.To, loc), "break", strconv.Itoa(int(a.Break/time.Minute)))
}

// local writes a moment as a datetime-local field takes it; empty for none.
func local(t time.Time, loc *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(loc).Format("2006-01-02T15:04")
}

func (p pages) readTimes(f *ui.Form, loc *time.Location) roster.CorrectionInput {
	f.Required("from", "to", "reason")
	return roster.CorrectionInput{
		Version: f.Version(), From: f.When("from", loc), To: f.When("to", loc),
		Break: time.Duration(f.Int("break", 0, 480)) * time.Minute, Reason: f.Str("reason", 200),
	}
}

// keepSeconds leaves a time that the field showed to the minute as it was,
// when that minute was not changed.
func keepSeconds(typed, was time.Time) time.Time {
	if !was.IsZero() && typed.Equal(was.Truncate(time.Minute)) {
		return was
	}
	return typed
}

func (p pages) correctAttendance(w http.ResponseWriter, r *http.Request) error {
	a, set, err := p.attendanceOf(r)
	if err != nil {
		return err
	}
	var in roster.CorrectionInput
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			in = p.readTimes(f, set.Location())
			in.ID, in.From, in.To = a.ID, keepSeconds(in.From, a.From), keepSeconds(in.To, a.To)
		},
		write: func(who actor.Actor) (string, string, error) {
			_, err := p.roster.Correct(r.Context(), who, in)
			return p.afterTimes(who), "Time put right", err
		},
		again: func(f *ui.Form, status int) error { return p.showAttendance(w, r, f, a, set, status) },
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[roster.Attendance](err)
			path, theirs := "/attendance/"+ui.Itoa(a.ID), attendanceForm(now, set.Location())
			return ui.Stale{Thing: "time", Action: path, Back: path, Version: now.Version(), Rows: []ui.StaleRow{
				{Name: "from", Label: "Came in", Theirs: theirs.Get("from"), Yours: f.Get("from")},
				{Name: "to", Label: "Left", Theirs: theirs.Get("to"), Yours: f.Get("to")},
				{Name: "break", Label: "Breaks, minutes", Theirs: theirs.Get("break"), Yours: f.Get("break")},
				{Name: "reason", Label: "Reason", Yours: f.Get("reason")},
			}}, ok
		},
	})
}

// afterTimes is where somebody goes on once a time is put right.
func (p pages) afterTimes(who actor.Actor) string {
	if who.May(actor.ManageGarage) {
		return hoursPath
	}
	return "/"
}

func (p pages) newAttendance(w http.ResponseWriter, r *http.Request) error {
	return p.showNewAttendance(w, r, formOf("break", "0"), http.StatusOK)
}

func (p pages) showNewAttendance(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	people, err := account.People(r.Context(), p.db.Pool)
	if err != nil {
		return err
	}
	v := attendanceView{Form: f, Action: "/attendance/new", New: true, Staff: []ui.Option{{Label: "not chosen"}}}
	for _, s := range people {
		v.Staff = append(v.Staff, ui.Option{Value: ui.Itoa(s.ID), Label: s.Name})
	}
	return p.kit.Render(w, r, status, attendancePage(p.kit.Page(r, "Add a time", home), v))
}

func (p pages) addAttendance(w http.ResponseWriter, r *http.Request) error {
	set, err := garage.Load(r.Context(), p.db.Pool)
	if err != nil {
		return err
	}
	var in roster.CorrectionInput
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("staff")
			in = p.readTimes(f, set.Location())
			in.Version, in.StaffID = 0, actor.StaffID(f.ID("staff"))
		},
		write: func(who actor.Actor) (string, string, error) {
			_, err := p.roster.Correct(r.Context(), who, in)
			return p.afterTimes(who), "Time added", err
		},
		again: func(f *ui.Form, status int) error { return p.showNewAttendance(w, r, f, status) },
	})
}
