package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/roster"
)

// AttendanceAt is one attendance in the address.
type AttendanceAt struct {
	Attendance roster.AttendanceID `path:"attendance" minimum:"1"`
}

// Attendance is one stretch of time that somebody was in.
type Attendance struct {
	ID           roster.AttendanceID `json:"id"`
	StaffID      actor.StaffID       `json:"staff_id"`
	Name         string              `json:"name"`
	From         Time                `json:"from"`
	To           Time                `json:"to,omitzero" doc:"Absent while they are in."`
	BreakMinutes int64               `json:"break_minutes" doc:"Taken off for breaks."`
	Corrected    bool                `json:"corrected" doc:"Its end was put in afterwards."`
	Version      int64               `json:"version"`
}

func attendanceOf(t roster.Attendance) Attendance {
	return Attendance{t.ID, t.StaffID, t.Name, at(t.From), at(t.To), minutes(t.Break), t.Corrected, t.Version()}
}

// ForgottenAttendance is an attendance still open past the garage's closing.
type ForgottenAttendance struct {
	Attendance
	Likely Time `json:"likely_end" doc:"When it most likely ended."`
}

func forgottenAttendanceOf(f roster.Forgotten) ForgottenAttendance {
	return ForgottenAttendance{attendanceOf(f.Attendance), at(f.Likely)}
}

// AttendedToday is how long one of the staff was in today.
type AttendedToday struct {
	StaffID   actor.StaffID `json:"staff_id"`
	Name      string        `json:"name"`
	Role      actor.Role    `json:"role"`
	In        int64         `json:"in_seconds"`
	Break     int64         `json:"break_seconds"`
	Attended  int64         `json:"attended_seconds" doc:"In, less breaks."`
	Open      bool          `json:"open" doc:"They are in now."`
	Forgotten bool          `json:"forgotten" doc:"They are thought to have left."`
	Spells    []Span        `json:"spells"`
}

func attendedOf(d roster.DayAttendance) AttendedToday {
	return AttendedToday{
		d.StaffID, d.Name, d.Role, seconds(d.In), seconds(d.Break), seconds(d.Attended), d.Open, d.Forgotten, list(d.Spells, spanOf),
	}
}

// AttendanceTimes are the times of an attendance, with the reason for the
// record.
type AttendanceTimes struct {
	From         Time   `json:"from"`
	To           Time   `json:"to"`
	BreakMinutes int64  `json:"break_minutes,omitempty" minimum:"0" maximum:"1440"`
	Reason       string `json:"reason" maxLength:"800"`
}

func (t AttendanceTimes) input() roster.CorrectionInput {
	return roster.CorrectionInput{From: t.From.Time, To: t.To.Time, Break: ofMinutes(t.BreakMinutes), Reason: t.Reason}
}

// NewAttendance is one that was never noted.
type NewAttendance struct {
	StaffID actor.StaffID `json:"staff_id" minimum:"1"`
	AttendanceTimes
}

// AttendanceEdit gives an attendance other times.
type AttendanceEdit struct {
	AttendanceTimes
	Version int64 `json:"version"`
}

func (a *API) attendanceOperations() {
	const whose = "Your own; anybody else's needs the right to correct clockings."
	register(a, operation{
		method: http.MethodPost, path: "/attendance", id: "add-attendance", need: actor.Work, tag: "Hours", status: http.StatusCreated,
		short: "Add an attendance that was never noted, with the reason", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body NewAttendance }) (Attendance, error) {
		c := in.Body.input()
		c.StaffID = in.Body.StaffID
		t, err := a.Roster.Correct(ctx, who, c)
		return attendanceOf(t), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/attendance/{attendance}", id: "get-attendance", need: actor.Work, tag: "Hours",
		short: "One attendance", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *AttendanceAt) (Attendance, error) {
		t, _, err := a.Roster.Attendance(ctx, who, in.Attendance)
		return attendanceOf(t), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/attendance/{attendance}", id: "correct-attendance", need: actor.Work, tag: "Hours",
		short: "Correct an attendance, with the reason", long: whose,
	}, func(ctx context.Context, who actor.Actor, in *struct {
		AttendanceAt
		Body AttendanceEdit
	}) (Attendance, error) {
		c := in.Body.input()
		c.ID, c.Version = in.Attendance, in.Body.Version
		t, err := a.Roster.Correct(ctx, who, c)
		return attendanceOf(t), err
	})
}
