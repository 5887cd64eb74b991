package garage

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// TestMaxima lists what the law lets anybody charge for a test at most: by
// class, the newest first.
func TestMaxima(ctx context.Context, q pg.Querier) ([]pricing.Maximum, error) {
	rows, err := q.Query(ctx, `select class, from_day, fee_minor from test_maximum order by class, from_day desc limit 500`)
	if err != nil {
		return nil, fmt.Errorf("test fees: %w", err)
	}
	return collect(rows, "test fees", func(row pgx.Row) (m pricing.Maximum, err error) {
		var from time.Time
		err = row.Scan(&m.Class, &from, &m.Fee)
		m.From = workday.FromDate(from)
		return m, err
	})
}

// TestMaxima lists the maxima for whoever prices a card.
func (s *Service) TestMaxima(ctx context.Context, who actor.Actor) ([]pricing.Maximum, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	return TestMaxima(ctx, s.db.Pool)
}

// SetTestMaximum notes the most that a test of a class may cost from a day on,
// which may lie in the past, since a law may be noticed late; cards keep what
// was charged. Messages are at class, from and fee.
func (s *Service) SetTestMaximum(ctx context.Context, who actor.Actor, in pricing.Maximum) (pricing.Maximum, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return pricing.Maximum{}, err
	}
	f := apperr.Fields{}
	in.Class = f.Line("class", in.Class, 60)
	f.Must("class", in.Class, "the class of vehicle")
	if in.From.IsZero() {
		f.Add("from", "please give the first day of the new fee")
	}
	within(f, "fee", in.Fee)
	if err := f.Err(); err != nil {
		return pricing.Maximum{}, err
	}
	return change.Do(ctx, s.db, who, "set test fee", in, func(ctx context.Context, tx *change.Tx) (pricing.Maximum, error) {
		set, err := Load(ctx, tx)
		if err != nil {
			return in, err
		}
		if set.Today(tx.At).DaysUntil(in.From) > vatDaysAhead {
			return in, apperr.Field("from", "that is more than five years ahead")
		}
		var count int
		if err := tx.QueryRow(ctx, `select count(*) from test_maximum`).Scan(&count); err != nil {
			return in, fmt.Errorf("test fee: %w", err)
		}
		if count >= 500 {
			return in, apperr.Field("class", "there is no room for more test fees")
		}
		if _, err := tx.Exec(ctx, `insert into test_maximum (class, from_day, fee_minor) values ($1, $2, $3)
			on conflict on constraint test_maximum_pk do update set fee_minor = excluded.fee_minor`, in.Class, in.From.UTC(), in.Fee); err != nil {
			return in, fmt.Errorf("test fee: %w", err)
		}
		tx.Record("test fee set", 0, in.Class, map[string]any{"from": in.From, "at most": money.FormatPlain(in.Fee)})
		return in, nil
	})
}

// RemoveTestMaximum takes a maximum back that was noted by mistake; NotFound
// when it is not there.
func (s *Service) RemoveTestMaximum(ctx context.Context, who actor.Actor, class string, from workday.Day) error {
	if err := who.Need(actor.ManageGarage); err != nil {
		return err
	}
	if from.IsZero() {
		return apperr.NoSuch("test fee")
	}
	in := pricing.Maximum{Class: class, From: from}
	_, err := change.Do(ctx, s.db, who, "remove test fee", in, func(ctx context.Context, tx *change.Tx) (struct{}, error) {
		var fee money.Minor
		err := tx.QueryRow(ctx, `delete from test_maximum where class = $1 and from_day = $2 returning fee_minor`, class, from.UTC()).Scan(&fee)
		if errors.Is(err, pgx.ErrNoRows) {
			return struct{}{}, apperr.NoSuch("test fee")
		}
		if err != nil {
			return struct{}{}, fmt.Errorf("test fee: %w", err)
		}
		tx.Record("test fee taken back", 0, class, map[string]any{"from": from, "at most": money.FormatPlain(fee)})
		return struct{}{}, nil
	})
	return err
}
