package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/workday"
)

// Hours is what the page of hours shows, as seen at Now.
type Hours struct {
	Garage garage.Settings
	Now    time.Time
	Weeks  []StaffWeek
	// Version is what an edit of Weeks is made from.
	Version  int64
	Absences []Absence
	// Today is who was in today so far.
	Today     []DayAttendance
	Forgotten []Forgotten
	// Recent are the attendances of the days from Since on.
	Since  workday.Day
	Recent []Attendance
}

// recentDays is how many days back attendances are offered for correction.
const recentDays = 13

// Hours reads the planned weeks, the absences to come, and who was in lately.
func (s *Service) Hours(ctx context.Context, who actor.Actor) (h Hours, err error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return h, err
	}
	q := s.db.Pool
	h.Now = s.db.Now()
	var b pgx.Batch
	garage.LoadLater(&b, &h.Garage)
	shiftsLater(&b, &h.Weeks)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return h, fmt.Errorf("hours: %w", err)
	}
	h.Version = versionOf(h.Weeks)
	today := h.Garage.Today(h.Now)
	h.Since = today.AddDays(-recentDays)
	var day dayLoad
	var open []Attendance
	b = pgx.Batch{}
	absencesLater(&b, today, 400, &h.Absences)
	day.later(&b, today)
	openLater(&b, &open)
	betweenLater(&b, h.Garage, h.Since, today, 400, &h.Recent)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return h, fmt.Errorf("hours: %w", err)
	}
	h.Today = day.attended(h.Garage, today, h.Now)
	h.Forgotten, err = forgotten(ctx, q, h.Garage, open, h.Now)
	return h, err
}

// Attendance reads one attendance with the garage's settings: one's own with
// the right to work, anybody's with the right to correct clockings.
func (s *Service) Attendance(ctx context.Context, who actor.Actor, id AttendanceID) (a Attendance, set garage.Settings, err error) {
	if err := who.Need(actor.Work); err != nil {
		return a, set, err
	}
	if a, err = ByID(ctx, s.db.Pool, id); err != nil {
		return a, set, err
	}
	if a.StaffID != who.StaffID && !who.May(actor.CorrectClockings) {
		return Attendance{}, set, apperr.New(apperr.Forbidden, "that is somebody else's time")
	}
	set, err = garage.Load(ctx, s.db.Pool)
	return a, set, err
}
