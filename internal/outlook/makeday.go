package outlook

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/lateness"
	"rampside/internal/workday"
)

// Judgements of this package, no published source; see its doc.
const (
	notHereYet = 30 * time.Minute // until a car comes that should be here
	overtime   = 30 * time.Minute // that somebody stays after their shift
	manyRamps  = 200              // while nobody has said how many there are
	leastHours = 0.1              // of a line that was estimated at nothing
)

// made is a day made ready for the forecast, with what its numbers stand for.
type made struct {
	day   forecast.Day
	opens time.Time
	cars  map[int64]*Car
	order []int64
	lines map[int64]lineRow
	men   map[int64]string
	notes []string
	// waits are the lines that wait for a part that may come late.
	waits []waiting
}

type waiting struct {
	line  jobcard.LineID
	card  jobcard.CardID
	part  string
	until time.Time // the next working day
}

// operationKey names what a line is an instance of, for learning.
func operationKey(id garage.OperationID, title string) string {
	if id == 0 {
		return "own words: " + strings.ToLower(title)
	}
	return strconv.FormatInt(int64(id), 10)
}

func vehicleKey(id int64) string { return strconv.FormatInt(id, 10) }

// estimate is a line's in hours, as today's hours of its operation would have
// it.
func (b *board) estimate(c cardRow, l lineRow) law.ThreePoint {
	f := b.accepted.factor(l.operation, c.created) / 60
	e := law.ThreePoint{Least: float64(l.low) * f, Likely: float64(l.likely) * f, Most: float64(l.high) * f}
	if e.Check() != nil {
		return law.Single(leastHours)
	}
	return e
}

// make reckons day d as it stands at now; found are the chances learned of
// finding something.
func (b *board) make(d workday.Day, now time.Time, found finding) *made {
	set, loc := b.plan.Garage, b.plan.Garage.Location()
	m := &made{
		day:   forecast.Day{Now: now, Close: set.ClosesAt(d), Ramps: cmp.Or(b.setting.Ramps, manyRamps)},
		opens: workday.At(d, set.Opens, loc), cars: map[int64]*Car{}, lines: map[int64]lineRow{}, men: map[int64]string{},
	}
	next := b.nextOpening(d)
	today := d == set.Today(b.now)
	var cards []cardRow
	for _, c := range b.cards {
		if c.day == d || today && c.day.Before(d) {
			cards = append(cards, c)
		}
	}
	slices.SortStableFunc(cards, turn)
	b.technicians(m, d, now, today)
	unordered, missing := 0, 0
	for _, c := range cards {
		car := forecast.Car{ID: int64(c.id), Vehicle: vehicleKey(c.vehicle), Promise: c.promised, Places: 1, Pinned: c.pinned}
		v := &Car{Card: c.id, Mark: c.mark, Name: cmp.Or(c.name, c.mark), Promise: c.promised, Over: c.day.Before(d), Here: c.stage != jobcard.Booked, Pinned: c.pinned}
		in := map[jobcard.LineID]bool{}
		for _, l := range b.lines[c.id] {
			in[l.id] = true
		}
		comes := b.comes(c, d, now, m.opens)
		if !comes.IsZero() && c.arrives.Before(now) {
			missing++
		}
		on, up, upLeft := 0, false, false
		for _, l := range b.lines[c.id] {
			v.Lines++
			m.lines[int64(l.id)] = l
			done := l.state == jobcard.Done
			if done {
				v.Done++
				if start, _ := workday.Bounds(d, loc); l.done.Before(start) {
					continue // in the model already
				}
			}
			w := forecast.Line{
				ID: int64(l.id), Operation: operationKey(l.operation, l.title), Layout: c.layout, Estimate: b.estimate(c, l), Ramp: l.lifts,
				Done: done, Must: l.must || l.safety, Sales: int64(l.net), Snag: l.snag && !done,
			}
			w.Spent, w.On = b.spent(l.id, now)
			if !done {
				on += len(w.On)
				w.Men = max(1, min(2, len(w.On)))
				if l.consent == jobcard.Asked && len(w.On) == 0 {
					// It cannot be started before the customer has said yes.
					w.Asked = &forecast.Asked{Agreed: learn.AgreedChance(found.yes), Answer: forecast.UsualFinds.Asking}
				}
				if !comes.IsZero() {
					w.Parts = append(w.Parts, forecast.Part{Due: comes, Sure: true})
				}
				for _, p := range b.parts[l.id] {
					part, known := b.part(p, next)
					if part.NotComing {
						v.Stuck = p.name
					} else if !known {
						unordered++
					}
					if !part.NotComing && part.Due.Before(next) {
						m.waits = append(m.waits, waiting{l.id, c.id, p.name, next})
					}
					w.Parts = append(w.Parts, part)
				}
				for _, a := range b.after[l.id] {
					if in[a] {
						w.After = append(w.After, int64(a))
					}
				}
				if l.inspects && l.found == 0 {
					f := found.of(w.Operation)
					w.Finds = &f
				}
				upLeft = upLeft || l.lifts
			}
			up = up || l.lifts && (w.Spent > 0)
			car.Lines = append(car.Lines, w)
		}
		dropDone(&car)
		car.OnRamp = up && upLeft
		car.Places = max(1, min(on, 2))
		v.Finished = v.Lines > 0 && v.Done == v.Lines
		m.cars[car.ID] = v
		m.order = append(m.order, car.ID)
		m.day.Cars = append(m.day.Cars, car)
	}
	m.noteOn(unordered, missing, b.setting.Ramps)
	return m
}

func (m *made) noteOn(unordered, missing, ramps int) {
	if unordered > 0 {
		m.notes = append(m.notes, count(unordered, "part is", "parts are")+" not ordered or without a time: reckoned as coming when the garage opens on the next working day")
	}
	if missing > 0 {
		m.notes = append(m.notes, count(missing, "car", "cars")+" should be here and not yet come: reckoned as coming within half an hour")
	}
	if ramps == 0 {
		m.notes = append(m.notes, "nobody has said how many ramps there are, so that none is ever waited for")
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// dropDone takes lines that are not in the day out of what others come after.
func dropDone(c *forecast.Car) {
	in := map[int64]bool{}
	for _, l := range c.Lines {
		in[l.ID] = true
	}
	for k := range c.Lines {
		c.Lines[k].After = slices.DeleteFunc(c.Lines[k].After, func(id int64) bool { return !in[id] })
	}
}

// turn is the order in which cars are taken: the one that was set, else as the
// floor has it, by promise, and those of earlier days before today's.
func turn(a, b cardRow) int {
	last := func(unset bool) int {
		if unset {
			return 1
		}
		return 0
	}
	return cmp.Or(
		cmp.Compare(last(a.place == 0), last(b.place == 0)), cmp.Compare(a.place, b.place),
		cmp.Compare(last(a.promised.IsZero()), last(b.promised.IsZero())), a.promised.Compare(b.promised), cmp.Compare(a.id, b.id))
}

// comes is when a car that is not here yet comes; zero when it is here.
func (b *board) comes(c cardRow, d workday.Day, now, opens time.Time) time.Time {
	if c.stage != jobcard.Booked {
		return time.Time{}
	}
	at := c.arrives
	if at.IsZero() {
		at = opens
	}
	if soon := now.Add(notHereYet); at.Before(now) && now.After(opens) {
		return soon
	}
	return at
}

// part is what is known of when a part comes; known is false where nobody has
// ordered it or said when.
func (b *board) part(p partRow, next time.Time) (forecast.Part, bool) {
	if p.supply == jobcard.NotComing {
		return forecast.Part{NotComing: true}, true
	}
	out := forecast.Part{Due: p.due}
	known := p.supply == jobcard.Ordered && !p.due.IsZero()
	if !known {
		out.Due = next
	}
	out.OnTime, out.Late, out.Never = record(b.late[p.supplier])
	return out, known
}

// record counts a supplier's deliveries as the forecast wants them: on time,
// late by less than a day, and later than that.
func record(r lateness.Record) (onTime, late, never int) {
	never = r.Never
	for _, l := range r.Came {
		switch {
		case l <= time.Minute:
			onTime++
		case l <= r.Day:
			late++
		default:
			never++
		}
	}
	return onTime, late, never
}

// nextOpening is when the garage opens on the next day that it works.
func (b *board) nextOpening(d workday.Day) time.Time {
	set := b.plan.Garage
	for range 14 {
		if d = d.AddDays(1); set.WorksOn(d) {
			break
		}
	}
	return workday.At(d, set.Opens, set.Location())
}

// spent is how long was worked on a line in hours, and who is on it now. A
// clocking that was forgotten counts to where it most likely ended.
func (b *board) spent(id jobcard.LineID, now time.Time) (float64, []int64) {
	var sum time.Duration
	var on []int64
	for _, s := range b.stints[id] {
		to := s.to
		if to.IsZero() {
			if clocking.Forgot(b.plan.Garage, s.from, now) {
				to = clocking.LikelyEnd(b.plan.Garage, b.shift(s.staff, s.from), s.from, now)
			} else {
				to = now
				on = append(on, int64(s.staff))
			}
		}
		sum += max(0, to.Sub(s.from))
	}
	return sum.Hours(), on
}

func (b *board) shift(id actor.StaffID, at time.Time) *workday.Shift {
	for _, w := range b.plan.Technicians {
		if w.StaffID == id {
			return w.On(b.plan.Garage.Today(at))
		}
	}
	return nil
}

// technicians puts in who works when from d on. Breaks are in the middle of a
// shift, as everywhere in the roster.
func (b *board) technicians(m *made, d workday.Day, now time.Time, today bool) {
	loc := b.plan.Garage.Location()
	busy := map[actor.StaffID]string{}
	if today {
		for _, list := range b.stints {
			for _, s := range list {
				if s.to.IsZero() && !clocking.Forgot(b.plan.Garage, s.from, now) {
					busy[s.staff] = s.name
				}
			}
		}
	}
	for _, w := range b.plan.Technicians {
		t := forecast.Technician{ID: int64(w.StaffID)}
		for k := range ahead {
			day := d.AddDays(k)
			if b.plan.Hours(w.Week, day) <= 0 {
				continue
			}
			if in, seen := b.in[w.StaffID]; k == 0 && today && seen && !in && busy[w.StaffID] == "" {
				continue // went home
			}
			t.Spans = append(t.Spans, spansOf(*w.On(day), day, loc)...)
		}
		if today && (b.in[w.StaffID] || busy[w.StaffID] != "") {
			t.Spans = staysOn(t.Spans, now)
		}
		delete(busy, w.StaffID)
		m.men[t.ID] = w.Name
		m.day.Technicians = append(m.day.Technicians, t)
	}
	// Somebody else who is at a line: the owner, perhaps. Until closing.
	for id, name := range busy {
		t := forecast.Technician{ID: int64(id), Spans: staysOn(nil, now)}
		if m.day.Close.After(t.Spans[0].To) {
			t.Spans[0].To = m.day.Close
		}
		m.men[t.ID] = name
		m.day.Technicians = append(m.day.Technicians, t)
	}
	slices.SortFunc(m.day.Technicians, func(a, b forecast.Technician) int { return cmp.Compare(a.ID, b.ID) })
}

// spansOf is a shift with its break taken out of the middle.
func spansOf(s workday.Shift, d workday.Day, loc *time.Location) []forecast.Span {
	span := s.Span(d, loc)
	if s.Break <= 0 {
		return []forecast.Span{{From: span.From, To: span.To}}
	}
	middle := span.From.Add(span.Elapsed() / 2)
	out := []forecast.Span{{From: span.From, To: middle.Add(-s.Break / 2)}, {From: middle.Add(s.Break / 2), To: span.To}}
	return slices.DeleteFunc(out, func(s forecast.Span) bool { return !s.To.After(s.From) })
}

// staysOn makes sure that somebody who is in works for a while yet: they came
// early, work through their break, or stay on.
func staysOn(spans []forecast.Span, now time.Time) []forecast.Span {
	for _, s := range spans {
		if !now.Before(s.From) && now.Before(s.To) {
			return spans
		}
	}
	stay := forecast.Span{From: now, To: now.Add(overtime)}
	var out []forecast.Span
	placed := false
	for _, s := range spans {
		if !s.To.After(now) {
			continue
		}
		if !placed {
			if stay.To.After(s.From) {
				s.From = now
				placed = true
			} else {
				out, placed = append(out, stay), true
			}
		}
		out = append(out, s)
	}
	if !placed {
		out = append(out, stay)
	}
	return out
}

// finding is what was learned of operations that look for things.
type finding struct {
	by  map[string]learn.Counts
	yes learn.Counts
}

func (f finding) of(operation string) forecast.Finds {
	out := forecast.UsualFinds
	out.Chance = learn.FoundChance(f.by[operation])
	out.Agreed = learn.AgreedChance(f.yes)
	return out
}
