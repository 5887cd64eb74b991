package dayend

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
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
	snap, d, err := readWhole(ctx, s.db.Pool, d, now)
	if err != nil {
		return Day{}, err
	}
	return OfDay(snap, d), nil
}

// readWhole reads all that a day is reckoned from in two round trips: what it
// is about, and then the work on that and who was in.
func readWhole(ctx context.Context, q pg.Querier, d workday.Day, now time.Time) (Snapshot, workday.Day, error) {
	snap, d, err := readDay(ctx, q, d, now)
	if err != nil {
		return snap, d, err
	}
	ids := make([]jobcard.CardID, len(snap.Cards))
	for i, c := range snap.Cards {
		ids[i] = c.ID
	}
	var b pgx.Batch
	work := clocking.WorkedOnCardsLater(&b, snap.Garage, snap.Now, ids...)
	attended := roster.AttendedLater(&b, snap.Garage, d, now)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return snap, d, fmt.Errorf("day's end: %w", err)
	}
	if snap.Work, err = work(ctx, q); err != nil {
		return snap, d, err
	}
	snap.Attended = attended()
	return snap, d, nil
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
	if snap.Work, err = clocking.WorkedOnCards(ctx, s.db.Pool, snap.Garage, snap.Now, id); err != nil {
		return Whole{}, err
	}
	r, ok := OfCard(snap, id)
	if !ok {
		return Whole{}, apperr.NoSuch("card")
	}
	return Whole{CardResult: r, Garage: snap.Garage, Now: snap.Now}, nil
}
