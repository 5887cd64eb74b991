package demo

import (
	"context"
	"fmt"
	"time"

	"rampside/internal/actor"
	"rampside/internal/assembly"
	"rampside/internal/clocking"
	"rampside/internal/fitment"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

// The day as it has gone so far, in minutes since it began. It is told over
// two and a half hours, or over as much of the day as there has been.
const dayLength = 150

// when gives the moment a number of minutes into the day.
func (m *maker) when(minute int) time.Time {
	start, _ := workday.Bounds(m.today, m.loc)
	begin := m.now.Add(-dayLength * time.Minute)
	if begin.Before(start.Add(time.Minute)) {
		begin = start.Add(time.Minute)
	}
	return begin.Add(time.Duration(float64(m.now.Sub(begin)) * float64(minute) / dayLength)).Truncate(time.Second)
}

// promise gives a time of today that is still to come, before the garage
// closes.
func (m *maker) promise(after time.Duration) time.Time {
	_, closes := m.opening()
	last := workday.At(m.today, closes, m.loc).Add(-15 * time.Minute)
	if t := m.now.Add(after).Truncate(10 * time.Minute); t.Before(last) {
		return t
	}
	return last
}

// visit is one of today's cars.
type visit struct {
	car      int
	at       int // minutes into the day
	promised time.Duration
	words    string
	keys     string
	lines    []jobcard.NewLine
	parts    []todayPart
	sheet    *jobcard.Sheet
}

// todayPart is a part of one of today's cars, for a line counted from 0.
type todayPart struct {
	line     int
	name     string
	number   string
	qty      int64
	cost     money.Minor
	supplier int
	supply   jobcard.Supply
	due      time.Time
	own      bool
	fits     jobcard.Verdict
	by       string
	fit      fitment.PutInput // what it asks of a car, and what it is
}

func (m *maker) op(name string, must bool) jobcard.NewLine {
	return jobcard.NewLine{OperationID: m.ops[name], LineTerms: jobcard.LineTerms{MustDo: must}}
}

func (m *maker) visits() []*visit {
	nextDay := m.today.AddDays(1)
	for nextDay.Weekday() == time.Saturday || nextDay.Weekday() == time.Sunday {
		nextDay = nextDay.AddDays(1)
	}
	tomorrow := workday.At(nextDay, 10*60, m.loc)
	return []*visit{
		{
			car: alder, at: 0, promised: 6 * time.Hour, keys: "hook 1", words: "Pedal goes to the floor and it will not go into reverse. We need it for the morning round.",
			lines: []jobcard.NewLine{m.op("Clutch", true), m.op("Lamps and levels check", false)},
			parts: []todayPart{
				{line: 0, name: "Clutch kit", number: "CK-7714", qty: 1000, cost: 14250, supply: jobcard.Arrived, fits: jobcard.Fits, by: "spline count and plate diameter against the old one"},
				{line: 0, name: "Slave cylinder", number: "SC-0932", qty: 1000, cost: 5880, supplier: 1, supply: jobcard.Ordered, due: tomorrow},
			},
		},
		{
			car: tern, at: 4, promised: 5 * time.Hour, keys: "hook 2", words: "Loses coolant, the garage in town said thermostat housing. Heater blows cold.",
			lines: []jobcard.NewLine{m.op("Thermostat housing", true), m.op("Coolant strength and level", true), m.op("Wiper blades", false)},
			parts: []todayPart{
				{line: 0, name: "Thermostat housing", number: "TH-1404", qty: 1000, cost: 5240, supplier: 1, supply: jobcard.Arrived,
					fit: fitment.PutInput{Rule: "engine layout is inline", BoxWords: "Tern, in-line engines, three bolts"}},
				{line: 0, name: "Coolant, litre", number: "EM-2873", qty: 4000, cost: 410, supply: jobcard.Arrived, fits: jobcard.Fits, by: "held against the old one"},
				{line: 2, name: "Wiper blade", number: "EM-1507", qty: 2000, cost: 850, supply: jobcard.Arrived, fits: jobcard.Fits, by: "held against the old one"},
			},
		},
		{
			car: pike, at: 9, promised: 6*time.Hour + 30*time.Minute, keys: "in the key safe", words: "Springs to carry hay, and a tow bar with the socket wired. My own tow ball is on the seat.",
			lines: []jobcard.NewLine{m.op("Rear load springs", true), m.op("Tow bar and electrics", true), m.op("Two front tyres", false)},
			parts: []todayPart{
				{line: 0, name: "Load spring set", number: "HR-550L", qty: 1000, cost: 18600, supplier: 1, supply: jobcard.Arrived, fits: jobcard.Fits, by: "leaf width 70 mm, measured"},
				{line: 1, name: "Tow bar", number: "HR-TB41", qty: 1000, cost: 13400, supplier: 1, supply: jobcard.Arrived, fits: jobcard.Fits, by: "bolt pattern offered up"},
				{line: 1, name: "Socket loom, 13 pin", number: "HR-L13", qty: 1000, cost: 6150, supplier: 1, supply: jobcard.Arrived},
				{line: 1, name: "Tow ball", qty: 1000, supply: jobcard.Arrived, own: true},
				// 94 carries 670 kg: too little for this axle.
				{line: 2, name: "Tyre 205/65 R16 94H", number: "TY-2056516", qty: 2000, cost: 6400, supply: jobcard.Arrived,
					fit: fitment.PutInput{Kind: string(assembly.Tyre), Props: map[string]string{"axle": "front", "tyre_size": "205/65 R16 94H"}}},
			},
		},
		{
			car: lumen, at: 14, promised: 4 * time.Hour, keys: "locked away, see owner", words: "Dead in the mornings, jumps fine, dash full of lights.",
			lines: []jobcard.NewLine{m.op("Find a 12 V fault", true)},
		},
		{
			car: gull, at: 20, promised: 7 * time.Hour, keys: "hook 3", words: "Stumbles when I pull away and smells of petrol. Take care of the paint, please.",
			lines: []jobcard.NewLine{m.op("Carburettor overhaul", true), m.op("Ignition timing and tune", true)},
			parts: []todayPart{
				{line: 0, name: "Gasket and jet kit", number: "GC-1968", qty: 1000, cost: 4300, supplier: 2, supply: jobcard.Arrived, fits: jobcard.Fits, by: "held against the old one"},
			},
		},
		{
			car: dart, at: 26, promised: 5*time.Hour + 30*time.Minute, keys: "hook 4", words: "Ready for winter, please. Is the tyre on the kerb side all right?",
			lines: []jobcard.NewLine{m.op("Service, small", true), m.op("Coolant strength and level", true), m.op("Lamps and levels check", true), m.op("Two front tyres", false)},
			parts: []todayPart{
				{line: 0, name: "Oil filter", number: "EM-0480", qty: 1000, cost: 480, supply: jobcard.Arrived, fits: jobcard.Fits, by: "held against the old one"},
				{line: 0, name: "Engine oil, litre", number: "EM-0390", qty: 4200, cost: 390, supply: jobcard.Arrived, fits: jobcard.Fits, by: "held against the old one"},
				{line: 3, name: "Tyre 195/55 R16 87H", number: "TY-1955516", qty: 2000, cost: 5600, supply: jobcard.Ordered, due: m.when(105)},
				// Over this caliper it leaves 1.5 mm where 3 mm stay free.
				{line: 3, name: "Winter wheel, 15 in", number: "WW-1560", qty: 2000, cost: 4900, supplier: 1, supply: jobcard.Arrived,
					fit: fitment.PutInput{Kind: string(assembly.Wheel), Props: map[string]string{"axle": "front", "barrel_radius_mm": "160.5", "measured_to_mm": "0"}}},
			},
		},
	}
}

// day books today's six cars and lets the morning happen.
func (m *maker) day(ctx context.Context) error {
	m.say("today's six cars")
	vs := m.visits()
	for _, v := range vs {
		if err := m.bookToday(ctx, v); err != nil {
			return fmt.Errorf("%s: %w", m.fleet[v.car].in.Model, err)
		}
	}
	return m.perform(ctx, m.morning(vs))
}

func (m *maker) bookToday(ctx context.Context, v *visit) error {
	c := &m.fleet[v.car]
	c.miles += 3000
	m.at = m.when(v.at)
	done, err := m.cards.Book(ctx, m.ida, jobcard.Booking{VehicleID: c.id, Here: true, Lines: v.lines, Visit: jobcard.Visit{
		BookedFor: m.today, ArrivesAt: m.when(v.at), PromisedAt: m.promise(v.promised), Mileage: &c.miles, MileageUnit: "miles",
		CustomerWords: v.words, KeysNote: v.keys, ContactName: c.keeper.Name, ContactPhone: c.keeper.Phone,
	}})
	if err != nil {
		return err
	}
	if v.sheet, err = m.cards.Sheet(ctx, m.ida, done.CardID); err != nil {
		return err
	}
	for _, p := range v.parts {
		terms := jobcard.PartTerms{
			LineID: v.sheet.Lines[p.line].ID, Name: p.name, Number: p.number, Qty: p.qty, Cost: p.cost, Supply: p.supply, DueAt: p.due,
		}
		if p.own {
			terms.Source = jobcard.FromCustomer
		} else {
			terms.SupplierID = m.supplier(p.supplier)
		}
		if p.supply == jobcard.Ordered {
			terms.Supply, terms.DueAt = jobcard.Needed, time.Time{}
		}
		added, err := m.cards.AddPart(ctx, m.ida, jobcard.AddPartInput{CardID: done.CardID, PartTerms: terms})
		if err != nil {
			return err
		}
		if p.supply == jobcard.Ordered {
			if err := m.orderPart(ctx, added.PartID, terms.SupplierID, p.due); err != nil {
				return err
			}
		}
		if err := m.putFit(ctx, added.PartID, p.fit); err != nil {
			return err
		}
		if p.fits != "" {
			if _, err := m.cards.SetVerdict(ctx, m.ida, jobcard.VerdictInput{PartID: added.PartID, Version: 1, Verdict: p.fits, Note: p.by}); err != nil {
				return err
			}
		}
	}
	m.at = m.when(v.at + 3)
	_, err = m.cards.Answer(ctx, m.ida, jobcard.ConsentInput{CardID: done.CardID, Answer: jobcard.Agreed, SaidBy: c.keeper.Name, How: "in person"})
	return err
}

// morning is what has happened since the cars came in.
func (m *maker) morning(vs []*visit) []deed {
	line := func(car, n int) jobcard.LineID { return vs[car].sheet.Lines[n].ID }
	var deeds []deed
	on := func(minute int, who actor.Actor, car, n int) {
		deeds = append(deeds, deed{m.when(minute), func(ctx context.Context) error { return m.clockOn(ctx, who, line(car, n)) }})
	}
	off := func(minute int, who actor.Actor) {
		deeds = append(deeds, deed{m.when(minute), func(ctx context.Context) error {
			_, err := m.clocks.ClockOff(ctx, who, clocking.OffInput{})
			return err
		}})
	}
	tick := func(minute int, who actor.Actor, car, n int) {
		deeds = append(deeds, deed{m.when(minute), func(ctx context.Context) error {
			_, err := m.clocks.Tick(ctx, who, clocking.LineInput{LineID: line(car, n)})
			return err
		}})
	}
	snag := func(minute int, who actor.Actor, in func(context.Context) (jobcard.SnagInput, error)) {
		deeds = append(deeds, deed{m.when(minute), func(ctx context.Context) error {
			s, err := in(ctx)
			if err != nil {
				return err
			}
			_, err = m.clocks.Snag(ctx, who, s)
			return err
		}})
	}

	// The van's clutch waits on its slave cylinder.
	deeds = append(deeds, deed{m.when(32), func(ctx context.Context) error {
		_, err := m.clocks.Wait(ctx, m.bram, clocking.ReasonInput{LineID: line(alder, 0), Reason: "the slave cylinder comes tomorrow"})
		return err
	}})
	// The estate's housing is for the smaller engine.
	on(35, m.posy, tern, 0)
	deeds = append(deeds, deed{m.when(47), func(ctx context.Context) error { return m.atTheBench(ctx, vs[tern].sheet.ID) }})
	snag(58, m.posy, func(ctx context.Context) (jobcard.SnagInput, error) {
		s, err := m.cards.Sheet(ctx, m.posy, vs[tern].sheet.ID)
		if err != nil {
			return jobcard.SnagInput{}, err
		}
		return jobcard.SnagInput{LineID: line(tern, 0), PartID: s.Parts[0].ID, Kind: jobcard.WrongPart,
			Note: "three bolts, ours has four: this one is for the in-line engine"}, nil
	})
	deeds = append(deeds, deed{m.when(70), func(ctx context.Context) error { return m.orderAgain(ctx, vs[tern].sheet.ID) }})
	// The pick-up's springs go on.
	on(36, m.bram, pike, 0)
	off(72, m.bram) // for his break
	on(102, m.bram, pike, 0)
	tick(136, m.bram, pike, 0)
	on(138, m.bram, pike, 1)
	// The hybrid's 12 V fault is found.
	on(62, m.posy, lumen, 0)
	snag(88, m.posy, func(context.Context) (jobcard.SnagInput, error) {
		return jobcard.SnagInput{LineID: line(lumen, 0), Kind: jobcard.FoundFault, Note: "one cell is gone; the charging side is well", Found: &jobcard.Found{
			Title: "12 V battery", OperationID: m.ops["12 V battery"], Severity: jobcard.Major, Measured: "10.6 V at rest", Limit: "12.4 V",
		}}, nil
	})
	tick(90, m.posy, lumen, 0)
	deeds = append(deeds, deed{m.when(96), func(ctx context.Context) error { return m.askBattery(ctx, vs[lumen]) }})
	// The classic's carburettor grows, after her break.
	on(121, m.posy, gull, 0)
	snag(142, m.posy, func(context.Context) (jobcard.SnagInput, error) {
		return jobcard.SnagInput{LineID: line(gull, 0), Kind: jobcard.JobGrown, Note: "the throttle spindle rocks in its body", Found: &jobcard.Found{
			Title: "Re-bush the throttle spindle", Estimate: hours.Estimate{Low: duration("1.5"), Likely: duration("2.5"), High: duration("4.0")},
		}}, nil
	})
	return deeds
}

// askBattery sends the estimate for the battery, which waits for an answer.
func (m *maker) askBattery(ctx context.Context, v *visit) error {
	_, err := m.quoted(ctx, v.sheet.ID, quote.Estimate, quote.ByLink, m.fleet[v.car].keeper.Name, "The car starts with a booster, but not by itself.")
	return err
}

// orderAgain orders the part that is needed again after the wrong one.
func (m *maker) orderAgain(ctx context.Context, id jobcard.CardID) error {
	s, err := m.cards.Sheet(ctx, m.ida, id)
	if err != nil {
		return err
	}
	for _, p := range s.Parts {
		if p.Supply == jobcard.Needed && p.Name == "Thermostat housing" {
			markUp := money.Rate(3000)
			_, err := m.cards.EditPart(ctx, m.ida, jobcard.EditPartInput{PartID: p.ID, Version: p.Version, PartTerms: jobcard.PartTerms{
				LineID: p.LineID, Name: p.Name, Number: "TH-1604", SupplierID: m.supplier(1), Qty: p.Qty, Cost: p.Cost, MarkUp: &markUp,
				Supply: jobcard.Needed,
			}})
			if err != nil {
				return err
			}
			// The supplier and the block do not agree on the engine's code.
			if err := m.putFit(ctx, p.ID, fitment.PutInput{
				Rule: "engine layout is V and engine code begins with BRT16", BoxWords: "Tern, V engines from 1.6, four bolts",
			}); err != nil {
				return err
			}
			return m.orderPart(ctx, p.ID, m.supplier(1), m.promise(90*time.Minute))
		}
	}
	return nil
}
