package outlook

import (
	"context"
	"fmt"
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
	"rampside/internal/garage"
	"rampside/internal/workday"
)

// OfferInput is a car that is not booked yet.
type OfferInput struct {
	Operations []garage.OperationID
	// From is the first day to look at; zero is today.
	From workday.Day
}

// Offer is what one day could promise to it.
type Offer struct {
	Day workday.Day
	// Close is when the garage closes that day; Promise the earliest time that
	// is kept with the garage's level.
	Close   time.Time
	Promise Moment
	// Fits is the chance of it being finished by closing.
	Fits float64
	// Lost is what it takes from those booked already, in promises; 0 when
	// nothing surely.
	Lost float64
	// Safe: before closing, and no harm to the others is sure.
	Safe bool
	// Booked is how many cars the day has.
	Booked int
}

// Offers are what the coming days could promise.
type Offers struct {
	Garage garage.Settings
	Level  float64
	Off    string
	Days   []Offer
}

const (
	offerDays = 5
	offerOps  = 30
	// offerLook is how far ahead days are looked for on which the garage works.
	offerLook = 12
)

// Offers looks for a promise that can be kept, over the coming working days,
// for a car that is taken last on each. Today counts from now, the others from
// opening. One look at a time is worked out; who comes while one is going on
// waits for it. Invalid messages are at operations and day.
func (s *Service) Offers(ctx context.Context, who actor.Actor, in OfferInput) (Offers, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return Offers{}, err
	}
	if len(in.Operations) == 0 || len(in.Operations) > offerOps {
		return Offers{}, apperr.Field("operations", "choose between 1 and %d operations", offerOps)
	}
	select {
	case s.offers <- struct{}{}:
		defer func() { <-s.offers }()
	case <-ctx.Done():
		return Offers{}, ctx.Err()
	}
	now := s.db.Now().UTC()
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return Offers{}, err
	}
	today := set.Today(now)
	from := in.From
	if from.IsZero() {
		from = today
	}
	if from.Before(today) || today.DaysUntil(from) > 365 {
		return Offers{}, apperr.Field("day", "choose a day from today on, within a year")
	}
	b, err := readBoard(ctx, s.db.Pool, from, from.AddDays(offerLook), from == today, now)
	if err != nil {
		return Offers{}, err
	}
	out := Offers{Garage: set, Level: b.setting.Level, Off: b.off()}
	if out.Off != "" {
		return out, nil
	}
	all, err := garage.SearchOperations(ctx, s.db.Pool, "", 2000)
	if err != nil {
		return out, err
	}
	ops := map[garage.OperationID]garage.Operation{}
	for _, o := range all {
		ops[o.ID] = o
	}
	m, err := s.modelNow(ctx)
	if err != nil {
		return out, err
	}
	fix, err := correction(ctx, s.db.Pool)
	if err != nil {
		return out, err
	}
	car := forecast.Car{ID: -1, Places: 1}
	for i, id := range in.Operations {
		o, ok := ops[id]
		if !ok {
			return out, apperr.Field("operations", "one of these operations is not there")
		}
		car.Lines = append(car.Lines, m.lineOf(o, int64(-1-i)))
	}
	var engines []*forecast.Engine
	for d := from; len(engines) < offerDays && from.DaysUntil(d) <= offerLook; d = d.AddDays(1) {
		if !set.WorksOn(d) || b.plan.On(d) == 0 {
			continue
		}
		at := workday.At(d, set.Opens, set.Location())
		if d == today {
			if at.Before(now) {
				at = now
			}
			if !at.Before(set.ClosesAt(d)) {
				continue
			}
		}
		made := b.make(d, at, m.finding())
		e, err := forecast.New(made.day, m.fitted, forecast.Options{Seed: seed(set, d), Points: law.Quick, Recalibration: fix})
		if err != nil {
			return out, fmt.Errorf("look at %s: %w", d, err)
		}
		engines = append(engines, e)
		out.Days = append(out.Days, Offer{Day: d, Booked: len(made.day.Cars)})
	}
	offers, err := forecast.Offers(engines, car, b.setting.Level)
	if err != nil {
		return out, err
	}
	for i, o := range offers {
		d := &out.Days[i]
		d.Close, d.Promise, d.Fits, d.Safe = o.Close, Moment(o.Promise), o.Fits, o.Safe
		if o.Others.Mean < 0 && o.Others.Sure(2) {
			d.Lost = -o.Others.Mean
		}
	}
	return out, nil
}

// lineOf is a line of an operation as it would be written on a new card.
func (m *model) lineOf(o garage.Operation, id int64) forecast.Line {
	e := law.ThreePoint{Least: o.Low.Hours(), Likely: o.Likely.Hours(), Most: o.High.Hours()}
	if e.Check() != nil {
		e = law.Single(leastHours)
	}
	l := forecast.Line{ID: id, Operation: operationKey(o.ID, ""), Estimate: e, Ramp: lifts(o), Must: true}
	if o.Inspects {
		f := m.finding().of(l.Operation)
		l.Finds = &f
	}
	return l
}

// SafePromise is the first of the offers that is safe.
func (o Offers) SafePromise() (Offer, bool) {
	for _, d := range o.Days {
		if d.Safe {
			return d, true
		}
	}
	return Offer{}, false
}

// lifts tells whether a car goes up for an operation.
func lifts(o garage.Operation) bool {
	return o.WheelsOff || slices.Contains(o.Cautions, caution.Lifting)
}
