package api

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// Hours are the planned weeks, the days away to come, and who was in lately.
type Hours struct {
	Now       Time                  `json:"now"`
	Weeks     []StaffWeek           `json:"weeks"`
	Version   int64                 `json:"version" doc:"Of all the weeks together; an edit of them is made from it."`
	Absences  []Absence             `json:"absences"`
	Today     []AttendedToday       `json:"today" doc:"Who was in today so far."`
	Forgotten []ForgottenAttendance `json:"forgotten" doc:"Attendances still open past the garage's closing."`
	Since     Day                   `json:"since"`
	Recent    []Attendance          `json:"recent" doc:"The attendances from that day on."`
}

// Shift is when somebody works on a day of the week.
type Shift struct {
	Day          Weekday `json:"day"`
	Starts       Clock   `json:"starts"`
	Ends         Clock   `json:"ends"`
	BreakMinutes int64   `json:"break_minutes,omitempty" minimum:"0" maximum:"1440"`
}

// StaffWeek is the planned week of one of the staff; a day without a shift is
// a day off.
type StaffWeek struct {
	StaffID actor.StaffID `json:"staff_id"`
	Name    string        `json:"name"`
	Role    actor.Role    `json:"role"`
	Shifts  []Shift       `json:"shifts"`
}

func shiftsOf(w roster.Week) []Shift {
	out := []Shift{}
	for i, s := range w.Days {
		if s != nil {
			out = append(out, Shift{weekdays[i], clock(s.Start), clock(s.End), minutes(s.Break)})
		}
	}
	return out
}

func staffWeekOf(w roster.StaffWeek) StaffWeek {
	return StaffWeek{w.StaffID, w.Name, w.Role, shiftsOf(w.Week)}
}

// ShiftsBody is the planned weeks of some of the staff. Those not named stay
// as they are.
type ShiftsBody struct {
	Version int64        `json:"version" doc:"That of the hours that the edit was made from."`
	Weeks   []WeekToPlan `json:"weeks" minItems:"1" maxItems:"200"`
}

// WeekToPlan is the whole planned week of one of the staff.
type WeekToPlan struct {
	StaffID actor.StaffID `json:"staff_id" minimum:"1"`
	Shifts  []Shift       `json:"shifts" maxItems:"7"`
}

func (b ShiftsBody) input() (roster.ShiftsInput, error) {
	in := roster.ShiftsInput{Version: b.Version}
	for n, w := range b.Weeks {
		week := roster.Week{StaffID: w.StaffID}
		for k, s := range w.Shifts {
			i := int(s.Day.day()+6) % 7
			if week.Days[i] != nil {
				return in, fieldError(fmt.Sprintf("weeks.%d.shifts.%d.day", n, k), "one shift a day, please")
			}
			week.Days[i] = &workday.Shift{Start: s.Starts.Clock, End: s.Ends.Clock, Break: ofMinutes(s.BreakMinutes)}
		}
		in.Weeks = append(in.Weeks, week)
	}
	return in, nil
}

// atShifts moves the roster's messages, which are at shift.STAFF.DAY, to the
// shifts as they were sent.
func (b ShiftsBody) atShifts(err error) error {
	place := map[string]string{}
	for n, w := range b.Weeks {
		for k, s := range w.Shifts {
			place[fmt.Sprintf("shift.%d.%d", w.StaffID, slices.Index(weekdays, s.Day))] = fmt.Sprintf("weeks.%d.shifts.%d", n, k)
		}
	}
	return moved(err, func(name string) string { return cmp.Or(place[name], name) })
}

// Absence is a day on which somebody is away.
type Absence struct {
	StaffID actor.StaffID `json:"staff_id"`
	Name    string        `json:"name"`
	Day     Day           `json:"day"`
	Reason  string        `json:"reason,omitempty"`
}

// AbsenceBody is somebody away from one day to another, both included.
type AbsenceBody struct {
	StaffID actor.StaffID `json:"staff_id" minimum:"1"`
	From    Day           `json:"from"`
	To      Day           `json:"to"`
	Reason  string        `json:"reason,omitempty" maxLength:"400"`
}

func (a *API) hoursOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/hours", id: "get-hours", need: actor.ManageGarage, tag: "Hours",
		short: "Planned weeks, days away, and who was in lately",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Hours, error) {
		h, err := a.Roster.Hours(ctx, who)
		if err != nil {
			return Hours{}, err
		}
		return Hours{
			Now: at(h.Now), Weeks: list(h.Weeks, staffWeekOf), Version: h.Version,
			Absences: list(h.Absences, func(x roster.Absence) Absence { return Absence{x.StaffID, x.Name, on(x.Day), x.Reason} }),
			Today:    list(h.Today, attendedOf), Forgotten: list(h.Forgotten, forgottenAttendanceOf), Since: on(h.Since),
			Recent: list(h.Recent, attendanceOf),
		}, nil
	})
	registerEmpty(a, operation{
		method: http.MethodPut, path: "/shifts", id: "save-shifts", need: actor.ManageGarage, tag: "Hours",
		short: "Plan the weeks of some of the staff", long: "All or none. Those not named stay as they are.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body ShiftsBody }) error {
		shifts, err := in.Body.input()
		if err != nil {
			return err
		}
		return in.Body.atShifts(a.Roster.SaveShifts(ctx, who, shifts))
	})
	registerEmpty(a, operation{
		method: http.MethodPost, path: "/absences", id: "add-absence", need: actor.ManageGarage, tag: "Hours",
		short: "Note somebody away, from one day to another",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body AbsenceBody }) error {
		return a.Roster.AddAbsence(ctx, who, roster.AbsenceInput{
			StaffID: in.Body.StaffID, From: in.Body.From.Day, To: in.Body.To.Day, Reason: in.Body.Reason,
		})
	})
	registerEmpty(a, operation{
		method: http.MethodDelete, path: "/absences", id: "remove-absence", need: actor.ManageGarage, tag: "Hours",
		short: "Take days away back, from one day to another",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Staff actor.StaffID `query:"staff" required:"true" minimum:"1"`
		From  Day           `query:"from" required:"true"`
		To    Day           `query:"to" required:"true"`
	}) error {
		return a.Roster.RemoveAbsence(ctx, who, roster.AbsenceInput{StaffID: in.Staff, From: in.From.Day, To: in.To.Day})
	})
	a.attendanceOperations()
}
