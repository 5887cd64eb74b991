// Package roster is who is planned to work when, who is away, and who really
// was in. From the first two come the hours there are to sell, from the last
// the hours attended. Everything is by the garage's day.
//
// # Breaks
//
// A shift says how long its breaks are, not when. They are taken off the time
// that somebody was in when they were there on both sides of the middle of
// their planned shift, less what they were out between arriving first and
// leaving last that day: who goes home at noon took no break, and who signs
// out for it has had it. The figure is kept with the attendance when it ends,
// so that a later change of plan does not change what was; a correction may
// give another.
//
// # Forgotten
//
// An attendance still open when the garage has closed is shown as forgotten.
// If its owner arrives on another day first, it is ended where it most likely
// did: at the end of their shift, or with their last clocking if that was
// later. That is on record, and can be corrected like any other.
package roster

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/workday"
)

// Week is somebody's planned shifts, Monday first; nil is a day off.
type Week struct {
	StaffID actor.StaffID
	Days    [7]*workday.Shift
}

// Weekday is the day of the week at a place in Week.Days.
func Weekday(i int) time.Weekday { return time.Weekday((i + 1) % 7) }

func place(d time.Weekday) int { return int(d+6) % 7 }

// On is the shift planned for a day, nil when there is none.
func (w Week) On(d workday.Day) *workday.Shift { return w.Days[place(d.Weekday())] }

// StaffWeek is the planned week of one of the staff.
type StaffWeek struct {
	Name string
	Role actor.Role
	Week
}

// Roster is all the planned weeks, and the version that an edit of them is
// made from.
type Roster struct {
	Weeks   []StaffWeek
	Version int64
}

// versionOf is a number that another set of shifts does not have: the table
// carries no version of its own.
func versionOf(weeks []StaffWeek) int64 {
	h := fnv.New64a()
	for _, w := range weeks {
		for i, s := range w.Days {
			if s != nil {
				fmt.Fprintf(h, "%d %d %d %d %d;", w.StaffID, i, s.Start, s.End, s.Break)
			}
		}
	}
	return positive(h.Sum(nil))
}

// positive makes a version that a form can carry: above zero.
func positive(sum []byte) int64 { return int64(binary.BigEndian.Uint64(sum)>>1) | 1 }

// ShiftsInput is the planned weeks of some of the staff, edited from Version
// of the whole table. Those not named stay as they are.
type ShiftsInput struct {
	Version int64
	Weeks   []Week
}

const staffMax = 200

// check has its messages at shift.STAFF.DAY, such as shift.3.0 for the Monday
// of staff 3.
func (in ShiftsInput) check() error {
	if len(in.Weeks) > staffMax {
		return apperr.New(apperr.Invalid, "no more than %d people at once", staffMax)
	}
	f := apperr.Fields{}
	for _, w := range in.Weeks {
		for i, s := range w.Days {
			if s == nil {
				continue
			}
			if err := s.Check(); err != nil {
				f.Add(fmt.Sprintf("shift.%d.%d", w.StaffID, i), "%s", err)
			} else if s.Break > breakMax || s.Break%time.Minute != 0 {
				f.Add(fmt.Sprintf("shift.%d.%d", w.StaffID, i), "breaks are whole minutes, at most 8 hours")
			}
		}
	}
	return f.Err()
}

const breakMax = 8 * time.Hour

// Absence is a day on which somebody is away.
type Absence struct {
	StaffID actor.StaffID
	Name    string
	Day     workday.Day
	Reason  string
}

// AbsenceInput is somebody away from one day to another, both included.
type AbsenceInput struct {
	StaffID  actor.StaffID
	From, To workday.Day
	Reason   string
}

// absenceDays is the longest absence entered at once.
const absenceDays = 366

func (in AbsenceInput) clean() (AbsenceInput, error) {
	f := apperr.Fields{}
	if in.StaffID < 1 {
		f.Add("staff", "please choose who is away")
	}
	in.Reason = f.Line("reason", in.Reason, 120)
	switch {
	case in.From.IsZero():
		f.Add("from", "please give the first day away")
	case in.To.IsZero():
		f.Add("to", "please give the last day away")
	case in.To.Before(in.From):
		f.Add("to", "the last day away cannot come before the first")
	case in.From.DaysUntil(in.To) >= absenceDays:
		f.Add("to", "at most %d days at once", absenceDays)
	}
	return in, f.Err()
}
