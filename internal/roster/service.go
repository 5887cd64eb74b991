package roster

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// Service changes the roster, by those with the right.
type Service struct{ db *change.DB }

// New makes the service on a database.
func New(db *change.DB) *Service { return &Service{db: db} }

// SaveShifts replaces the planned weeks given, all or none. Invalid messages
// are at shift.STAFF.DAY; a table changed meanwhile is a Conflict whose
// Current is the Roster as it stands.
func (s *Service) SaveShifts(ctx context.Context, who actor.Actor, in ShiftsInput) error {
	if err := who.Need(actor.ManageGarage); err != nil {
		return err
	}
	if err := in.check(); err != nil {
		return err
	}
	return s.do(ctx, who, "save shifts", in, func(ctx context.Context, tx *change.Tx) error {
		return writeShifts(ctx, tx, in)
	})
}

// AddAbsence notes somebody away on every day from one to another. Invalid
// messages are at staff, from, to and reason.
func (s *Service) AddAbsence(ctx context.Context, who actor.Actor, in AbsenceInput) error {
	if err := who.Need(actor.ManageGarage); err != nil {
		return err
	}
	in, err := in.clean()
	if err != nil {
		return err
	}
	return s.do(ctx, who, "add absence", in, func(ctx context.Context, tx *change.Tx) error {
		return writeAbsence(ctx, tx, in)
	})
}

// RemoveAbsence takes the days away from one to another back; NotFound when
// there are none. Invalid messages are those of AddAbsence.
func (s *Service) RemoveAbsence(ctx context.Context, who actor.Actor, in AbsenceInput) error {
	if err := who.Need(actor.ManageGarage); err != nil {
		return err
	}
	in, err := in.clean()
	if err != nil {
		return err
	}
	return s.do(ctx, who, "remove absence", in, func(ctx context.Context, tx *change.Tx) error {
		return removeAbsence(ctx, tx, in)
	})
}

// Arrive signs whoever asks in to work, from now; nothing changes when they
// are in already.
func (s *Service) Arrive(ctx context.Context, who actor.Actor) (Attendance, error) {
	if err := own(who); err != nil {
		return Attendance{}, err
	}
	return change.Do(ctx, s.db, who, "arrive", nil, func(ctx context.Context, tx *change.Tx) (Attendance, error) {
		a, _, err := EnsurePresent(ctx, tx, who.StaffID)
		return a, err
	})
}

// Leave signs whoever asks out, now. A Conflict when they are not in, when
// they are still clocked on to a line, and when an earlier day was left open.
func (s *Service) Leave(ctx context.Context, who actor.Actor) (Attendance, error) {
	if err := own(who); err != nil {
		return Attendance{}, err
	}
	return change.Do(ctx, s.db, who, "leave", nil, func(ctx context.Context, tx *change.Tx) (Attendance, error) {
		return Leave(ctx, tx, who.StaffID)
	})
}

// own is for what everybody does for themselves.
func own(who actor.Actor) error {
	if err := who.Need(actor.Work); err != nil {
		return err
	}
	if who.StaffID < 1 {
		return apperr.New(apperr.Forbidden, "only somebody of the staff can come in to work")
	}
	return nil
}

// Correct gives an attendance other times, or adds one that was never noted,
// with a reason that is put on record beside both. One's own needs the right
// to work, anybody else's the right to correct clockings. Invalid messages are
// at staff, from, to, break and reason; an attendance changed meanwhile is a
// Conflict with the current Attendance.
func (s *Service) Correct(ctx context.Context, who actor.Actor, in CorrectionInput) (Attendance, error) {
	if err := who.Need(actor.Work); err != nil {
		return Attendance{}, err
	}
	in, err := in.clean(s.db.Now())
	if err != nil {
		return Attendance{}, err
	}
	return change.Do(ctx, s.db, who, "correct attendance", in, func(ctx context.Context, tx *change.Tx) (Attendance, error) {
		whose := in.StaffID
		if in.ID != 0 {
			was, err := ByID(ctx, tx, in.ID)
			if err != nil {
				return Attendance{}, err
			}
			whose = was.StaffID
		}
		if whose != who.StaffID {
			if err := who.Need(actor.CorrectClockings); err != nil {
				return Attendance{}, err
			}
		}
		return correct(ctx, tx, in)
	})
}

// do runs a change that has no result of its own.
func (s *Service) do(ctx context.Context, who actor.Actor, action string, in any, fn func(context.Context, *change.Tx) error) error {
	_, err := change.Do(ctx, s.db, who, action, in, func(ctx context.Context, tx *change.Tx) (struct{}, error) {
		return struct{}{}, fn(ctx, tx)
	})
	return err
}
