package roster

import (
	"fmt"
	"hash/fnv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/workday"
)

// AttendanceID names one attendance.
type AttendanceID int64

// Attendance is one stretch of time that somebody was in.
type Attendance struct {
	ID      AttendanceID
	StaffID actor.StaffID
	Name    string
	Role    actor.Role
	From    time.Time
	// To is zero while they are in.
	To time.Time
	// Break is what is taken off for breaks; zero while they are in.
	Break time.Duration
	// Corrected says that the end was put in afterwards.
	Corrected bool
}

// Open tells whether they are still in.
func (a Attendance) Open() bool { return a.To.IsZero() }

// Version is what an edit of the attendance is made from: another number when
// its times are others.
func (a Attendance) Version() int64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d %d %d %d", a.ID, a.From.UnixMicro(), a.To.UnixMicro(), a.Break)
	return positive(h.Sum(nil))
}

// Forgotten is an attendance still open past the garage's closing.
type Forgotten struct {
	Attendance
	// Likely is when it most likely ended.
	Likely time.Time
}

// DayAttendance is how long one of the staff was in on one day.
type DayAttendance struct {
	StaffID actor.StaffID
	Name    string
	Role    actor.Role
	// In is the time they were in, Break what is taken off it for breaks, and
	// Attended the rest.
	In, Break, Attended time.Duration
	// Open says that they are in now, Forgotten that they are thought to have
	// left: In then goes to when they most likely did.
	Open, Forgotten bool
	// Spells are the times themselves, as far as they fall on the day.
	Spells []workday.Span
}

// breakDue is how much of a shift's break counts as taken by somebody who
// arrived first at first and left last at last, having been out in between
// for so long. See the package comment.
func breakDue(shift *workday.Shift, d workday.Day, loc *time.Location, first, last time.Time, out time.Duration) time.Duration {
	if shift == nil {
		return 0
	}
	middle := workday.At(d, (shift.Start+shift.End)/2, loc)
	if !first.Before(middle) || !last.After(middle) {
		return 0
	}
	return max(0, shift.Break-out)
}

// dayBreak is the break due over the attendances of one day, in order.
func dayBreak(shift *workday.Shift, d workday.Day, loc *time.Location, spells []workday.Span) time.Duration {
	if len(spells) == 0 {
		return 0
	}
	var out time.Duration
	for i := 1; i < len(spells); i++ {
		out += max(0, spells[i].From.Sub(spells[i-1].To))
	}
	return breakDue(shift, d, loc, spells[0].From, spells[len(spells)-1].To, out)
}

// spreadBreak says how much of the day's break each of its attendances bears,
// the earliest as much as it can. Corrected ones keep theirs.
func spreadBreak(shift *workday.Shift, d workday.Day, loc *time.Location, all []Attendance) []time.Duration {
	var spells []workday.Span
	var fixed time.Duration
	for _, a := range all {
		spells = append(spells, workday.Span{From: a.From, To: a.To})
		if a.Corrected {
			fixed += a.Break
		}
	}
	due := dayBreak(shift, d, loc, spells) - fixed
	pauses := make([]time.Duration, len(all))
	for i, a := range all {
		if a.Corrected {
			pauses[i] = a.Break
			continue
		}
		// Whole minutes, as they are kept; never all of the time.
		pauses[i] = max(0, min(due, a.To.Sub(a.From)-time.Minute)).Truncate(time.Minute)
		due -= pauses[i]
	}
	return pauses
}

// likelyEnd is when an attendance that was not ended most likely was: at the
// end of the shift, or of the garage's day where there was none, or with the
// last clocking if that came later; after it began, and not after now.
func likelyEnd(a Attendance, shiftEnd, lastClocked, now time.Time) time.Time {
	end := shiftEnd
	if lastClocked.After(end) {
		end = lastClocked
	}
	if !end.After(a.From) {
		end = a.From.Add(time.Minute)
	}
	if end.After(now) {
		end = now
	}
	return end.UTC()
}

// CorrectionInput gives an attendance other times, with a reason; ID 0 adds
// one that was never noted, for StaffID.
type CorrectionInput struct {
	ID      AttendanceID
	Version int64
	StaffID actor.StaffID
	From    time.Time
	To      time.Time
	Break   time.Duration
	Reason  string
}

// attendanceMax is the longest time that anybody was in at a stretch.
const attendanceMax = 24 * time.Hour

func (in CorrectionInput) clean(now time.Time) (CorrectionInput, error) {
	f := apperr.Fields{}
	in.From, in.To = in.From.UTC().Truncate(time.Microsecond), in.To.UTC().Truncate(time.Microsecond)
	in.Reason = f.Line("reason", in.Reason, 200)
	f.Must("reason", in.Reason, "the reason, for the record")
	if in.ID == 0 && in.StaffID < 1 {
		f.Add("staff", "please choose who was in")
	}
	switch {
	case in.From.IsZero() || in.From.Year() < workday.FirstYear:
		f.Add("from", "please give when they came in")
	case in.To.IsZero():
		f.Add("to", "please give when they left")
	case !in.To.After(in.From):
		f.Add("to", "they must leave after they came in")
	case in.To.After(now):
		f.Add("to", "that is still to come")
	case in.To.Sub(in.From) > attendanceMax:
		f.Add("to", "nobody is in for more than 24 hours at a stretch")
	case in.Break < 0 || in.Break > breakMax || in.Break%time.Minute != 0 || in.Break >= in.To.Sub(in.From):
		f.Add("break", "breaks are whole minutes, shorter than the time they were in and at most 8 hours")
	}
	return in, f.Err()
}
