package outlook

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/forecast/law"
	"rampside/internal/live"
)

var fullPoints, briefPoints = law.Full, law.Points{N: 251, Factor: 76}

const (
	// pause is the least time between two workings-out, so that a burst of
	// events is one.
	pause = 300 * time.Millisecond
	// again is when it is tried again after something went wrong.
	again = 10 * time.Second
)

// Work keeps the outlook up to date until ctx ends: whenever something was
// changed, through whichever server, and whenever somebody asked. What comes
// while it works is looked at once, afterwards; nothing queues up.
func (s *Service) Work(ctx context.Context, log *slog.Logger, changes <-chan live.Change) {
	for {
		if _, err := s.safely(ctx); err != nil && ctx.Err() == nil && !nothingYet(err) {
			log.Error("the outlook could not be worked out", "error", err)
			if sleep(ctx, again) {
				continue
			}
			return
		}
		if !sleep(ctx, pause) {
			return
		}
		select {
		case <-ctx.Done():
			return
		case _, open := <-changes:
			if !open {
				return
			}
		case <-s.ask:
		}
	}
}

// nothingYet tells that there is no garage to work an outlook out of.
func nothingYet(err error) bool { return apperr.Is(err, apperr.NotFound) }

// safely keeps a mistake in the reckoning from taking the server down.
func (s *Service) safely(ctx context.Context) (worked bool, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("outlook: panic: %v", p)
		}
	}()
	return s.Refresh(ctx)
}

func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
		return true
	}
}
