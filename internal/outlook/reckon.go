package outlook

import (
	"cmp"
	"hash/fnv"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/score"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// seed is the same for a garage and a day, so that figures move when something
// happened and not because somebody looked again.
func seed(set garage.Settings, d workday.Day) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(set.Name + "\x00" + d.String()))
	return h.Sum64()
}

// off says why there can be no forecast; empty when there can.
func (b *board) off() string {
	switch {
	case !b.anyWork:
		return "The garage has no operations with hours yet. Write them under Garage, Operations: the outlook begins with those."
	case len(b.plan.Technicians) == 0:
		return "No technician is on the staff yet. Add one under Garage, Staff."
	}
	for d := b.plan.From; !d.After(b.plan.To); d = d.AddDays(1) {
		if b.plan.On(d) > 0 {
			return ""
		}
	}
	return "Nobody is planned to work in the coming days. Say who works when under Garage, Hours."
}

// mostCosts is how many of the things that may go wrong are reckoned.
const mostCosts = 6

// reckon works a day out. Points of zero are the full ones.
func (b *board) reckon(d workday.Day, mod *model, fix score.Recalibration, points law.Points) (*reckoned, error) {
	set := b.plan.Garage
	o := Outlook{Day: d, At: b.now, Event: b.event, Opens: workday.At(d, set.Opens, set.Location()), Close: set.ClosesAt(d), Ramps: b.setting.Ramps, Off: b.off()}
	if o.Off != "" {
		return &reckoned{Outlook: o}, nil
	}
	m := b.make(d, b.now, mod.finding())
	o.Notes, o.Lines, o.Young, o.Corrected = m.notes, len(mod.lessons.Lines), mod.fitted.Young(), fix.N
	for _, c := range b.cards {
		o.Ordered = o.Ordered || c.place > 0
	}
	e, err := forecast.New(m.day, mod.fitted, forecast.Options{Seed: seed(set, d), Points: points, Recalibration: fix})
	if err != nil {
		return nil, err
	}
	look := e.Look()
	plain := e.Plain()
	o.AllDone, o.Draws = look.AllDone, look.Draws
	for i := range look.Cars {
		a := &look.Cars[i]
		c := m.cars[a.Car]
		c.Chance, c.Error, c.Raw = a.Chance, a.Error, a.Raw
		c.Half, c.Eighty, c.Ninety = Moment(a.Half), Moment(a.Eighty), Moment(a.Ninety)
		for k, dot := range a.Dots {
			c.Dots[k] = Moment(dot)
		}
		for _, x := range a.Causes {
			if x.Share >= 0.005 {
				c.Causes = append(c.Causes, Cause{x.Kind, jobcard.LineID(x.Line), m.lines[x.Line].title, x.Share})
			}
		}
		c.Added, c.Normal = plain[i].Added, plain[i].Normal
		if !c.Promise.IsZero() {
			o.Promised++
			o.OnTime += c.Chance
		}
		o.Cars = append(o.Cars, *c)
	}
	return &reckoned{o, m, e, look.Cars}, nil
}

// reckoned is an outlook with what it came from; made is nil where it is off.
type reckoned struct {
	Outlook
	made    *made
	engine  *forecast.Engine
	answers []forecast.Answer
}

// choices adds what could be done: it takes longer than the outlook itself.
func (r *reckoned) choices() error {
	o, m, e := &r.Outlook, r.made, r.engine
	if m == nil || o.Promised == 0 {
		return nil
	}
	all, err := e.LeaveOut(0)
	if err != nil {
		return err
	}
	for _, c := range all {
		l := Leave{Card: jobcard.CardID(c.Car), Move: c.Move, Sales: money.Minor(c.Sales), Gain: c.Gain.Mean, Error: c.Gain.Error, Before: c.Before, After: c.After}
		for _, id := range c.Lines {
			l.Lines = append(l.Lines, jobcard.LineID(id))
			l.Titles = append(l.Titles, m.lines[id].title)
		}
		o.Leave = append(o.Leave, l)
	}
	if p := e.BestOrder(); p.Changed {
		o.Order = &Order{Before: p.Before, After: p.After, Gain: p.Gain.Mean, Error: p.Gain.Error}
		for _, id := range p.Order {
			o.Order.Cards = append(o.Order.Cards, jobcard.CardID(id))
		}
	}
	add := func(c Cost, ch forecast.Change) {
		c.Lost, c.Error = -ch.OnTime.Mean, ch.OnTime.Error
		if c.Lost <= 0 || !ch.OnTime.Sure(2) {
			return
		}
		for _, x := range ch.Cars {
			if x.Before-x.After > c.Worst.Before-c.Worst.After {
				c.Worst = Helped{jobcard.CardID(x.Car), x.Before, x.After}
			}
		}
		o.Costs = append(o.Costs, c)
	}
	for k, w := range m.waits {
		if k == mostCosts {
			break
		}
		ch, err := e.IfLate(int64(w.line), w.until)
		if err != nil {
			return err
		}
		add(Cost{Line: w.line, Card: w.card, Until: w.until, Name: w.part}, ch)
	}
	for k, t := range m.day.Technicians {
		if k == mostCosts {
			break
		}
		if len(t.Spans) == 0 || t.Spans[0].From.After(m.day.Close) {
			continue
		}
		ch, err := e.IfAway(t.ID, m.day.Now)
		if err != nil {
			return err
		}
		add(Cost{Staff: actor.StaffID(t.ID), Name: m.men[t.ID]}, ch)
	}
	slices.SortStableFunc(o.Costs, func(a, b Cost) int { return cmp.Compare(b.Lost, a.Lost) })
	return nil
}
