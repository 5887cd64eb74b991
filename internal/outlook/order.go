package outlook

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// OrderInput is the order to take the day's cars in.
type OrderInput struct {
	// Day is the one it is meant for, so that yesterday's page cannot set
	// today's order.
	Day   workday.Day
	Cards []jobcard.CardID
	// Pinned are those that keep their places when another order is looked for.
	Pinned []jobcard.CardID
}

// SetOrder sets the order that today's cars are taken in; no cards at all is
// the usual one, by promise. The floor goes by it. Invalid messages are at
// cards and day.
func (s *Service) SetOrder(ctx context.Context, who actor.Actor, in OrderInput) error {
	if err := who.Need(actor.EditCard); err != nil {
		return err
	}
	seen := map[jobcard.CardID]bool{}
	for _, id := range in.Cards {
		if seen[id] || id < 1 {
			return apperr.Field("cards", "each car stands in the order once")
		}
		seen[id] = true
	}
	if len(in.Cards) > cardsMax {
		return apperr.Field("cards", "at most %d cars", cardsMax)
	}
	for _, id := range in.Pinned {
		if !seen[id] {
			return apperr.Field("cards", "a car that keeps its place stands in the order")
		}
	}
	_, err := change.Do(ctx, s.db, who, "set the order of the day", in, func(ctx context.Context, tx *change.Tx) (struct{}, error) {
		set, err := garage.Load(ctx, tx)
		if err != nil {
			return struct{}{}, err
		}
		if today := set.Today(tx.At); in.Day != today {
			return struct{}{}, apperr.Field("day", "this order was made for %s: look at today's", in.Day.Long())
		}
		return struct{}{}, putOrder(ctx, tx, in)
	})
	return err
}

func putOrder(ctx context.Context, tx *change.Tx, in OrderInput) error {
	if _, err := tx.Exec(ctx, `delete from outlook_order where day = $1`, in.Day.UTC()); err != nil {
		return fmt.Errorf("the order of the day: %w", err)
	}
	if len(in.Cards) > 0 {
		pinned := make([]bool, len(in.Cards))
		for i, id := range in.Cards {
			pinned[i] = slices.Contains(in.Pinned, id)
		}
		tag, err := tx.Exec(ctx, `
			insert into outlook_order (day, card_id, place, pinned)
			select $1, o.id, o.n, o.pinned from unnest($2::bigint[], $3::boolean[]) with ordinality o(id, pinned, n) join card c on c.id = o.id
			where c.stage in ('booked', 'on site', 'in work')`, in.Day.UTC(), in.Cards, pinned)
		if err != nil {
			return fmt.Errorf("the order of the day: %w", err)
		}
		if int(tag.RowsAffected()) != len(in.Cards) {
			return apperr.Field("cards", "one of the cars is not in the garage any more: look at the order again")
		}
	}
	tx.Record("order of the day", 0, in.Day.String(), map[string]any{"cards": in.Cards, "pinned": in.Pinned})
	return nil
}

// SetRamps says how many cars can be up at once; 0 is not to say. Invalid
// messages are at ramps.
func (s *Service) SetRamps(ctx context.Context, who actor.Actor, in Setting) (Setting, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return in, err
	}
	if in.Ramps < 0 || in.Ramps > 50 {
		return in, apperr.Field("ramps", "a garage has between 1 and 50 ramps")
	}
	return change.Do(ctx, s.db, who, "say how many ramps there are", in, func(ctx context.Context, tx *change.Tx) (Setting, error) {
		var out Setting
		err := tx.QueryRow(ctx, `
			insert into outlook_setting (id, ramps) values (1, nullif($1::int, 0))
			on conflict on constraint outlook_setting_pk do update set ramps = excluded.ramps, version = outlook_setting.version + 1
			where outlook_setting.version = $2 or $2 = 0 returning coalesce(ramps, 0), level, version`, in.Ramps, in.Version).
			Scan(&out.Ramps, &out.Level, &out.Version)
		if noRow(err) {
			now, err := settingOf(ctx, tx)
			if err != nil {
				return in, err
			}
			return in, apperr.Stale("the number of ramps", now)
		}
		if err != nil {
			return in, fmt.Errorf("the number of ramps: %w", err)
		}
		tx.Record("ramps", 0, "", map[string]int{"ramps": in.Ramps})
		return out, nil
	})
}

// Setting reads what the outlook needs to know of the garage.
func (s *Service) Setting(ctx context.Context, who actor.Actor) (Setting, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Setting{}, err
	}
	return settingOf(ctx, s.db.Pool)
}

func settingOf(ctx context.Context, q pg.Querier) (Setting, error) {
	out := Setting{Level: usualLevel}
	err := q.QueryRow(ctx, `select coalesce(ramps, 0), level, version from outlook_setting where id = 1`).Scan(&out.Ramps, &out.Level, &out.Version)
	if err != nil && !noRow(err) {
		return out, fmt.Errorf("what the outlook knows of the garage: %w", err)
	}
	return out, nil
}
