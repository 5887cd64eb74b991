package jobcard

import (
	"context"
	"fmt"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// StageInput moves a card on.
type StageInput struct {
	CardID CardID
	Stage  Stage
	// Reason is needed to cancel.
	Reason string
}

// SetStage moves a card to another stage. It can be ready only when nothing
// on it is left open and every safety line has its second check.
func (s *Service) SetStage(ctx context.Context, who actor.Actor, in StageInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	if in.Stage == Cancelled {
		f.Must("reason", in.Reason, "the reason")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "set stage", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, err := Lock(ctx, tx, in.CardID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.Stage.mayBecome(in.Stage); err != nil {
			return Changed{}, err
		}
		busy, err := clockedOn(ctx, tx, `l.card_id = $1`, c.ID)
		if err != nil {
			return Changed{}, err
		}
		if busy && in.Stage != InWork {
			return Changed{}, apperr.Field("stage", "somebody is clocked on to this card: clock off first")
		}
		if in.Stage == Ready {
			sh, err := readSheet(ctx, tx, c.ID, tx.At)
			if err != nil {
				return Changed{}, err
			}
			if why := sh.NotReady(); len(why) > 0 {
				return Changed{}, apperr.Field("stage", "not ready yet: %s", strings.Join(why, "; "))
			}
		}
		if in.Stage == Collected {
			if err := mustBeHandedOver(ctx, tx, c.ID); err != nil {
				return Changed{}, err
			}
		}
		if in.Stage == Cancelled {
			if _, err := tx.Exec(ctx, `update card set cancel_reason = $2 where id = $1`, c.ID, in.Reason); err != nil {
				return Changed{}, fmt.Errorf("cancel: %w", err)
			}
		}
		if err := setStage(ctx, tx, c, in.Stage); err != nil {
			return Changed{}, err
		}
		return Changed{CardID: c.ID, Version: c.Version + 1}, nil
	})
}

// setStage writes the stage of a locked card and when it was reached.
func setStage(ctx context.Context, tx *change.Tx, c Card, to Stage) error {
	_, err := tx.Exec(ctx, `
		update card set stage = $2, version = version + 1,
			on_site_at = case when $2 = 'on site' then $3 when $2 = 'booked' then null else on_site_at end,
			ready_at = case when $2 = 'ready' then coalesce(ready_at, $3) when $2 in ('collected', 'cancelled') then ready_at end,
			collected_at = case when $2 = 'collected' then $3::timestamptz end
		where id = $1`, c.ID, to, tx.At)
	if err != nil {
		return fmt.Errorf("set stage: %w", err)
	}
	tx.Record("card "+string(to), int64(c.ID), "", map[string]any{"was": c.Stage})
	return nil
}
