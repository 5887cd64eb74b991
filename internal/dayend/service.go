package dayend

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// Service reckons days and cards up, for those who may see margins.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// Day reckons a day up, today so far when d is zero. Errors: Forbidden;
// Invalid at day for a day out of all reason.
func (s *Service) Day(ctx context.Context, who actor.Actor, d workday.Day) (Day, error) {
	if err := who.Need(actor.SeeMargins); err != nil {
		return Day{}, err
	}
	if y, _, _ := d.Date(); !d.IsZero() && (y < workday.FirstYear || y > workday.LastYear) {
		return Day{}, apperr.Field("day", "%s", workday.ErrYear)
	}
	now := s.db.Now().UTC()
	snap, d, err := readDay(ctx, s.db.Pool, d, now)
	if err != nil {
		return Day{}, err
	}
	if err := s.fill(ctx, &snap); err != nil {
		return Day{}, err
	}
	if snap.Attended, err = roster.Attended(ctx, s.db.Pool, d, now); err != nil {
		return Day{}, err
	}
	return OfDay(snap, d), nil
}

// Whole is the whole of a card's life, so far.
type Whole struct {
	CardResult
	Garage garage.Settings
	Now    time.Time
}

// Card reckons the whole of one card up. Errors: Forbidden, NotFound.
func (s *Service) Card(ctx context.Context, who actor.Actor, id jobcard.CardID) (Whole, error) {
	if err := who.Need(actor.SeeMargins); err != nil {
		return Whole{}, err
	}
	snap, err := readCard(ctx, s.db.Pool, id, s.db.Now().UTC())
	if err != nil {
		return Whole{}, err
	}
	if err := s.fill(ctx, &snap); err != nil {
		return Whole{}, err
	}
	r, ok := OfCard(snap, id)
	if !ok {
		return Whole{}, apperr.NoSuch("card")
	}
	return Whole{CardResult: r, Garage: snap.Garage, Now: snap.Now}, nil
}

// fill reads the work on the snapshot's cards.
func (s *Service) fill(ctx context.Context, snap *Snapshot) (err error) {
	if len(snap.Cards) == 0 {
		return nil
	}
	ids := make([]jobcard.CardID, len(snap.Cards))
	for i, c := range snap.Cards {
		ids[i] = c.ID
	}
	snap.Work, err = clocking.WorkedOnCards(ctx, s.db.Pool, snap.Garage, snap.Now, ids...)
	return err
}
