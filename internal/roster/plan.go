package roster

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/workday"
)

// Plan is the hours that were planned for a stretch of days.
type Plan struct {
	Garage   garage.Settings
	From, To workday.Day
	// Technicians are those whose hours can be sold.
	Technicians []StaffWeek
	away        map[absentOn]bool
}

type absentOn struct {
	staff actor.StaffID
	day   workday.Day
}

// Hours is how long one technician is there for work on a day: their shift
// less its breaks, nothing when they are away or the garage is closed. It is
// real time: a shift over the hour that the clocks skip is an hour shorter.
func (p Plan) Hours(w Week, d workday.Day) time.Duration {
	shift := w.On(d)
	if shift == nil || !p.Garage.WorksOn(d) || p.away[absentOn{w.StaffID, d}] {
		return 0
	}
	return shift.Available(d, p.Garage.Location())
}

// On is the hours there are on a day, all technicians together.
func (p Plan) On(d workday.Day) time.Duration {
	var sum time.Duration
	for _, w := range p.Technicians {
		sum += p.Hours(w.Week, d)
	}
	return sum
}

// ByDay is On for every day of the plan.
func (p Plan) ByDay() map[workday.Day]time.Duration {
	out := map[workday.Day]time.Duration{}
	for d := p.From; !d.After(p.To); d = d.AddDays(1) {
		out[d] = p.On(d)
	}
	return out
}
