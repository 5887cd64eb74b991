package fitment

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// MeasureInput is a fact that somebody read off the car for a part.
type MeasureInput struct {
	PartID jobcard.PartID
	Key    string
	Value  string
	// Was is what had been read off the car before, empty for nothing.
	Was string
}

// Measure notes a fact as read off the car, and judges what rests on it anew.
// Messages are at key and value; another reading meanwhile is a Conflict whose
// Current is the vehicle.Fact.
func (s *Service) Measure(ctx context.Context, who actor.Actor, in MeasureInput) (jobcard.Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return jobcard.Changed{}, err
	}
	fact, err := vehicle.FactInput{Key: in.Key, Value: in.Value, Source: vehicle.FromCar}.Clean()
	if err != nil {
		return jobcard.Changed{}, err
	}
	return change.Do(ctx, s.db, who, "measure", in, func(ctx context.Context, tx *change.Tx) (jobcard.Changed, error) {
		var car vehicle.ID
		var out jobcard.Changed
		err := tx.QueryRow(ctx, `select c.vehicle_id, c.id, coalesce(p.line_id, 0), p.version from part p join card c on c.id = p.card_id where p.id = $1`,
			in.PartID).Scan(&car, &out.CardID, &out.LineID, &out.Version)
		if err != nil {
			return out, noPart(err)
		}
		out.PartID = in.PartID
		if err := vehicle.LockFacts(ctx, tx, car); err != nil {
			return out, err
		}
		known, err := vehicle.Facts(ctx, tx, car)
		if err != nil {
			return out, err
		}
		for _, k := range known {
			for _, f := range k.All {
				if k.Key.Key == fact.Key && f.Source == vehicle.FromCar && f.Value != in.Was && f.Value != fact.Value {
					return out, apperr.Stale("fact", f)
				}
			}
		}
		return out, vehicle.PutFact(ctx, tx, car, fact)
	})
}

// Judge brings the verdicts of a card up to date, for a part that fell back
// when what it rested on changed by a door that judges nothing.
func (s *Service) Judge(ctx context.Context, who actor.Actor, id jobcard.CardID) (jobcard.Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return jobcard.Changed{}, err
	}
	return change.Do(ctx, s.db, who, "judge parts", id, func(ctx context.Context, tx *change.Tx) (jobcard.Changed, error) {
		tx.Touch(change.Card, int64(id))
		return jobcard.Changed{CardID: id}, nil
	})
}
