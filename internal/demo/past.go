package demo

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// deed is something that somebody does at a time.
type deed struct {
	at time.Time
	do func(context.Context) error
}

// perform does deeds in the order of their times, on the maker's clock.
func (m *maker) perform(ctx context.Context, deeds []deed) error {
	slices.SortStableFunc(deeds, func(a, b deed) int { return a.at.Compare(b.at) })
	for _, d := range deeds {
		m.at = d.at
		if err := d.do(ctx); err != nil {
			return fmt.Errorf("at %s: %w", d.at.Format("2006-01-02 15:04"), err)
		}
	}
	return nil
}

// past makes the finished cards of the months behind the day.
func (m *maker) past(ctx context.Context) error {
	for day, n := m.first, 0; day.Before(m.today); day, n = day.AddDays(1), n+1 {
		if wd := day.Weekday(); wd == time.Saturday || wd == time.Sunday {
			continue
		}
		if n%30 <= 2 && day.Weekday() == time.Monday {
			m.say("writing up the cards of " + day.Long())
		}
		if err := m.pastDay(ctx, day); err != nil {
			return err
		}
	}
	return nil
}

// hand is a technician's day as it fills up.
type hand struct {
	who  actor.Actor
	free time.Time
	busy bool
}

// pastDay books the cars of a day one after the other, then lets everything
// else happen in the order of its times.
func (m *maker) pastDay(ctx context.Context, day workday.Day) error {
	open := workday.At(day, 8*60+30, m.loc)
	hands := []*hand{{who: m.posy, free: open.Add(22 * time.Minute)}, {who: m.bram, free: open.Add(25 * time.Minute)}}
	var deeds []deed
	for i := range 2 + m.rand.IntN(2) {
		c := m.nextCar(day)
		if c == nil {
			break
		}
		more, err := m.pastVisit(ctx, day, c, hands, open.Add(time.Duration(i*7)*time.Minute))
		if err != nil {
			return err
		}
		deeds = append(deeds, more...)
	}
	for _, h := range hands {
		if h.busy {
			deeds = append(deeds, deed{later(workday.At(day, 17*60+25, m.loc), h.free), func(ctx context.Context) error {
				_, err := m.clocks.GoHome(ctx, h.who, clocking.OffInput{})
				return err
			}})
		}
	}
	// The cars are in and nothing is begun: what the day looks like now is held
	// against what becomes of it.
	m.at = open.Add(21 * time.Minute)
	if _, err := m.looks.Refresh(ctx); err != nil {
		return err
	}
	_, end := workday.Bounds(day, m.loc)
	deeds = append(append(deeds, m.restock(day)...), m.fallen(end)...)
	return m.perform(ctx, append(deeds, m.due(end)...))
}

// nextCar picks a car that has not been in for a while.
func (m *maker) nextCar(day workday.Day) *car {
	for range 20 {
		c := &m.fleet[m.rand.IntN(len(m.fleet))]
		if c.lastSeen.AddDays(35).Before(day) || c.lastSeen.Before(m.first) {
			c.miles += 20 * c.lastSeen.DaysUntil(day)
			c.lastSeen = day
			return c
		}
	}
	return nil
}

// pastVisit books a car, and gives what happens to it until it is collected.
func (m *maker) pastVisit(ctx context.Context, day workday.Day, c *car, hands []*hand, at time.Time) ([]deed, error) {
	names := m.pickLines()
	in := jobcard.Booking{
		VehicleID: c.id, Here: true,
		Visit: jobcard.Visit{BookedFor: day, ArrivesAt: at, PromisedAt: m.pastPromise(day, names, hands), Mileage: &c.miles, MileageUnit: "miles"},
	}
	for _, n := range names {
		in.Lines = append(in.Lines, jobcard.NewLine{OperationID: m.ops[n], LineTerms: jobcard.LineTerms{MustDo: true}})
	}
	m.at = at
	done, err := m.cards.Book(ctx, m.ida, in)
	if err != nil {
		return nil, err
	}
	s, err := m.cards.Sheet(ctx, m.ida, done.CardID)
	if err != nil {
		return nil, err
	}
	declined, err := m.pastAnswer(ctx, s, c, m.written(day))
	if err != nil {
		return nil, err
	}
	var deeds []deed
	last := at
	for _, l := range s.Lines {
		if l.ID != declined {
			end, more := m.pastLine(l, hands)
			deeds = append(deeds, more...)
			last = later(last, end)
		}
	}
	stage := func(to jobcard.Stage) func(context.Context) error {
		return func(ctx context.Context) error {
			_, err := m.cards.SetStage(ctx, m.ida, jobcard.StageInput{CardID: s.ID, Stage: to})
			return err
		}
	}
	fetched := stage(jobcard.Collected)
	if m.written(day) {
		fetched = func(ctx context.Context) error { return m.handOver(ctx, s.ID, c) }
	}
	deeds = append(deeds, m.billFor(s.ID, day, last.Add(20*time.Minute))...)
	return append(deeds, deed{last.Add(6 * time.Minute), stage(jobcard.Ready)}, deed{last.Add(35 * time.Minute), fetched}), nil
}

// pastPromise is what the desk promised: when whoever is free first would have
// done it by the hours as they are written, and a while on top. How long a while
// differs, since the desk is in a hurry on some days; so some promises were not
// kept.
func (m *maker) pastPromise(day workday.Day, names []string, hands []*hand) time.Time {
	begin := hands[0].free
	if hands[1].free.Before(begin) {
		begin = hands[1].free
	}
	var sum time.Duration
	for _, n := range names {
		sum += duration(operationOf(n).likely)
	}
	spare := []time.Duration{30, 90, 0, 60, 15, 150, 45, 20, 240, 75, 10}[(m.first.DaysUntil(day)*3+len(names)*5+len(names[0]))%11]
	at := begin.Add(sum).Add(spare * time.Minute).Truncate(10 * time.Minute)
	if last := workday.At(day, 17*60, m.loc); at.After(last) {
		return last
	}
	return at
}

func operationOf(name string) operation {
	return operations[slices.IndexFunc(operations, func(o operation) bool { return o.name == name })]
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// pickLines picks what a car came for: never twice the same, and short enough
// for the day.
func (m *maker) pickLines() []string {
	var out []string
	left := 3 * time.Hour
	for range 1 + m.rand.IntN(3) {
		o := operations[m.rand.IntN(len(operations))]
		if likely := duration(o.likely); likely <= left && !slices.Contains(out, o.name) {
			out = append(out, o.name)
			left -= likely
		}
	}
	if len(out) == 0 {
		out = []string{"Service, small"}
	}
	return out
}

// pastAnswer puts parts on some lines and records what the customer said; one
// line in a while is declined. Where it is written, a quote was handed over.
func (m *maker) pastAnswer(ctx context.Context, s *jobcard.Sheet, c *car, written bool) (declined jobcard.LineID, err error) {
	for _, l := range s.Lines {
		if err := m.pastParts(ctx, s.ID, l); err != nil {
			return 0, err
		}
	}
	m.at = m.at.Add(4 * time.Minute)
	how := jobcard.Ways[m.rand.IntN(2)]
	if len(s.Lines) > 1 && m.rand.IntN(6) == 0 {
		declined = s.Lines[len(s.Lines)-1].ID
	}
	if written {
		return declined, m.answered(ctx, s, c, declined)
	}
	if declined != 0 {
		if _, err = m.cards.Answer(ctx, m.ida, jobcard.ConsentInput{
			CardID: s.ID, Lines: []jobcard.LineID{declined}, Answer: jobcard.Declined, SaidBy: c.keeper.Name, How: how,
		}); err != nil {
			return 0, err
		}
	}
	_, err = m.cards.Answer(ctx, m.ida, jobcard.ConsentInput{CardID: s.ID, Answer: jobcard.Agreed, SaidBy: c.keeper.Name, How: how})
	return declined, err
}

// stock are parts that operations take.
var stock = map[string][]struct {
	name string
	cost money.Minor
	qty  int64
}{
	"Service, small":       {{"Oil filter", 480, 1000}, {"Engine oil, litre", 390, 4200}},
	"Service, full":        {{"Oil filter", 480, 1000}, {"Engine oil, litre", 390, 4500}, {"Air filter", 1150, 1000}, {"Cabin filter", 990, 1000}},
	"Oil and filter":       {{"Oil filter", 480, 1000}, {"Engine oil, litre", 390, 4200}},
	"Front brake pads":     {{"Pad set, front", 2650, 1000}},
	"Front discs and pads": {{"Disc, front", 3400, 2000}, {"Pad set, front", 2650, 1000}},
	"Rear brake shoes":     {{"Shoe set, rear", 2900, 1000}},
	"Brake fluid change":   {{"Brake fluid, litre", 620, 1000}},
	"Thermostat housing":   {{"Thermostat housing", 5200, 1000}, {"Coolant, litre", 410, 3000}},
	"12 V battery":         {{"Battery, 12 V", 7400, 1000}},
	"Two front tyres":      {{"Tyre", 5600, 2000}, {"Valve", 120, 2000}},
	"Wiper blades":         {{"Wiper blade", 850, 2000}},
	"Exhaust rear section": {{"Rear silencer", 6900, 1000}, {"Clamp", 210, 2000}},
	"Front drop links":     {{"Drop link", 1450, 2000}},
}

func (m *maker) pastParts(ctx context.Context, card jobcard.CardID, l jobcard.Line) error {
	for _, p := range stock[l.Title] {
		cost := p.cost + money.Minor(m.rand.IntN(int(p.cost)/10+1))
		terms := jobcard.PartTerms{
			LineID: l.ID, Name: p.name, Number: partNumber(p.name, p.cost), SupplierID: m.supplier(0),
			Qty: p.qty, Cost: cost, Supply: jobcard.Arrived,
		}
		id, version, err := m.takeFromShelf(ctx, card, terms)
		if err != nil {
			return err
		}
		if id == 0 {
			added, err := m.cards.AddPart(ctx, m.ida, jobcard.AddPartInput{CardID: card, PartTerms: terms})
			if err != nil {
				return err
			}
			id, version = added.PartID, added.Version
		}
		if err := m.foundToFit(ctx, id, version); err != nil {
			return err
		}
	}
	return nil
}

// partNumber is the number that the demo's first supplier has for a part.
func partNumber(name string, cost money.Minor) string {
	return fmt.Sprintf("EM-%04d", (int(cost)*7+len(name)*131)%10000)
}

// foundToFit notes that somebody held a part against the old one.
func (m *maker) foundToFit(ctx context.Context, id jobcard.PartID, version int) error {
	_, err := m.cards.SetVerdict(ctx, m.posy, jobcard.VerdictInput{PartID: id, Version: version, Verdict: jobcard.Fits, Note: "held against the old one"})
	return err
}

func (m *maker) supplier(i int) garage.SupplierID { return m.suppliers[i%len(m.suppliers)] }

// pastLine lets the technician who is free first do a line, and somebody else
// check it where that is asked.
func (m *maker) pastLine(l jobcard.Line, hands []*hand) (time.Time, []deed) {
	h := slices.MinFunc(hands, func(a, b *hand) int { return a.free.Compare(b.free) })
	other := hands[0]
	if other == h {
		other = hands[1]
	}
	from, to := h.free, h.free.Add(m.taken(l))
	h.free, h.busy = to.Add(4*time.Minute), true
	deeds := []deed{
		{from, func(ctx context.Context) error { return m.clockOn(ctx, h.who, l.ID) }},
		{to, func(ctx context.Context) error {
			_, err := m.clocks.Tick(ctx, h.who, clocking.LineInput{LineID: l.ID})
			return err
		}},
	}
	if !l.Safety && !l.WheelsOff {
		return to, deeds
	}
	torque := float64(95 + 5*m.rand.IntN(6))
	end := to.Add(7 * time.Minute)
	return end, append(deeds, deed{end, func(ctx context.Context) error {
		_, err := m.cards.SecondCheck(ctx, other.who, jobcard.CheckInput{LineID: l.ID, TorqueNm: torque})
		return err
	}})
}

// clockOn reads a line's cautions and clocks on to it.
func (m *maker) clockOn(ctx context.Context, who actor.Actor, id jobcard.LineID) error {
	c, err := m.clocks.Cautions(ctx, who, id)
	if err != nil {
		return err
	}
	var read []caution.Key
	read = append(read, c.Unread()...)
	_, err = m.clocks.ClockOn(ctx, who, clocking.OnInput{LineID: id, Read: read})
	return err
}

// taken is how long a line really took: each operation has its own bias, each
// line its own luck, and now and then something sticks.
func (m *maker) taken(l jobcard.Line) time.Duration {
	bias := 0.05 + 0.18*math.Sin(float64(len(l.Title))*2.1)
	f := math.Exp(bias + 0.28*m.rand.NormFloat64())
	if m.rand.IntN(18) == 0 {
		f *= 1.7
	}
	d := time.Duration(float64(l.Estimate.Likely) * min(f, 3))
	return max(d.Round(time.Minute), 5*time.Minute)
}
