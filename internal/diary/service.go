package diary

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Service reads the diary.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// Day reads the diary of one day, today when d is zero, in one round trip.
// Today shows besides what is carried over from earlier days. Telephone
// numbers are there for those who may read customers.
func (s *Service) Day(ctx context.Context, who actor.Actor, d workday.Day) (Diary, error) {
	return s.read(ctx, who, d, func(d workday.Day) (from, to workday.Day) { return d, d })
}

// Week reads the seven days from the Monday of d's week, of this week when d
// is zero.
func (s *Service) Week(ctx context.Context, who actor.Actor, d workday.Day) (Diary, error) {
	return s.read(ctx, who, d, func(d workday.Day) (from, to workday.Day) {
		return d.WeekStart(), d.WeekStart().AddDays(6)
	})
}

func (s *Service) read(ctx context.Context, who actor.Actor, d workday.Day, span func(workday.Day) (from, to workday.Day)) (Diary, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Diary{}, err
	}
	if y, _, _ := d.Date(); !d.IsZero() && (y < workday.FirstYear || y > workday.LastYear) {
		return Diary{}, apperr.Field("day", "%s", workday.ErrYear)
	}
	now := s.db.Now().UTC()
	out, err := load(ctx, s.db.Pool, d, span, now)
	if err == nil && !who.May(actor.ReadPeople) {
		out.withoutPhones()
	}
	return out, err
}

func (d *Diary) withoutPhones() {
	for i := range d.Days {
		for _, list := range [][]Booking{d.Days[i].Bookings, d.Days[i].Over, d.Days[i].Missed} {
			for k := range list {
				list[k].Phone = ""
			}
		}
	}
}

// load reads and works out the days that span gives for d. While nobody knows
// which day it is in the garage's zone, it reads every day that may be meant.
func load(ctx context.Context, q pg.Querier, d workday.Day, span func(workday.Day) (from, to workday.Day), now time.Time) (Diary, error) {
	utc := workday.FromDate(now)
	from, to := span(d)
	if d.IsZero() {
		from, _ = span(utc.AddDays(-1))
		_, to = span(utc.AddDays(1))
	}
	l, plan, err := readAll(ctx, q, from, to, utc, now)
	if err != nil {
		return Diary{}, err
	}
	out := Diary{Garage: plan.Garage, Now: now, Today: plan.Garage.Today(now), Cut: l.cut}
	if d.IsZero() {
		from, to = span(out.Today)
	}
	for d := from; !d.After(to); d = d.AddDays(1) {
		day := l.onDay(d, plan.Garage, now)
		day.Room = roomOn(day, plan, now)
		out.Days = append(out.Days, day)
	}
	return out, nil
}
