package outlook

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/forecast/score"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

const (
	// quantiles is how many of a car's finishes are kept.
	quantiles = 41
	// moved is by how much a chance has to change for the forecast to be kept
	// again: less is not seen on a page, where it is said in twentieths.
	moved = 0.01
	// outlooksKept is how many days' outlooks stay, forecastsKept how long the
	// forecasts do: more than a year, so that every season is in them.
	outlooksKept  = 14
	forecastsKept = 500 * 24 * time.Hour
	settleAtOnce  = 2000
)

// print tells two readings of a day apart, but for how late it is.
func (b *board) print(d workday.Day, modelID int64, fixed int) []byte {
	h := sha256.New()
	fmt.Fprintln(h, d, modelID, fixed, b.cards, b.lines, b.parts, b.after, b.stints, b.in, b.setting, b.accepted, b.anyWork)
	g := b.plan.Garage
	fmt.Fprintln(h, g.Opens, g.Closes, g.WorkDays, g.ZoneName, g.Name)
	for _, t := range b.plan.Technicians {
		fmt.Fprint(h, t.StaffID, t.Name)
		for k := range ahead {
			if s := t.On(d.AddDays(k)); s != nil {
				fmt.Fprint(h, *s, b.plan.Hours(t.Week, d.AddDays(k)))
			}
		}
	}
	return h.Sum(nil)
}

// stamp is what is known of the outlook that is there.
type stamp struct {
	day   workday.Day
	event int64
	at    time.Time
	print []byte
}

func lastStamp(ctx context.Context, q pg.Querier) (s stamp, event int64, err error) {
	var day time.Time
	var b pgx.Batch
	b.Queue(`select coalesce(max(id), 0) from event`).QueryRow(func(r pgx.Row) error { return r.Scan(&event) })
	b.Queue(`select day, event_id, computed_at, fingerprint from outlook order by day desc limit 1`).QueryRow(func(r pgx.Row) error {
		err := r.Scan(&day, &s.event, &s.at, &s.print)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		s.day = workday.FromDate(day)
		return err
	})
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return s, 0, fmt.Errorf("look at the last outlook: %w", err)
	}
	return s, event, nil
}

// keep writes an outlook, and the forecasts that say something new, and tells
// the pages. It is derived from what others did: nobody did it, and no event
// says so.
func (s *Service) keep(ctx context.Context, q pg.Querier, r *reckoned, fix score.Recalibration, print []byte, modelID int64, took time.Duration) error {
	body, err := json.Marshal(r.Outlook)
	if err != nil {
		return fmt.Errorf("keep the outlook: %w", err)
	}
	said, err := lastSaid(ctx, q, r)
	if err != nil {
		return err
	}
	var b pgx.Batch
	b.Queue(`
		insert into outlook (day, event_id, computed_at, fingerprint, took_ms, body) values ($1, $2, $3, $4, $5, $6)
		on conflict on constraint outlook_pk do update set event_id = excluded.event_id, computed_at = excluded.computed_at,
			fingerprint = excluded.fingerprint, took_ms = excluded.took_ms, body = excluded.body`,
		r.Day.UTC(), r.Event, r.At, print, took.Milliseconds(), body)
	b.Queue(`delete from outlook where day < $1::date - $2::int`, r.Day.UTC(), outlooksKept)
	b.Queue(`delete from forecast_made where made_at < $1`, r.At.Add(-forecastsKept))
	levels := make([]float32, len(shownLevels))
	for k, l := range shownLevels {
		levels[k] = float32(fix.Level(l))
	}
	for i := range r.answers {
		c := r.Cars[i]
		if c.Promise.IsZero() || c.Finished || !c.Promise.After(r.At) || !said.news(c) {
			continue
		}
		hours := make([]float32, quantiles)
		for k, h := range r.answers[i].Finishes(quantiles) {
			hours[k] = float32(h)
		}
		b.Queue(`
			insert into forecast_made (card_id, day, made_at, model_id, promised_at, chance, raw, added, normal, hours, levels)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
			c.Card, r.Day.UTC(), r.At, modelID, c.Promise, c.Chance, c.Raw, c.Added, c.Normal, hours, levels)
	}
	b.Queue(`select pg_notify('rampside', 'outlook')`)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("keep the outlook: %w", err)
	}
	return nil
}

// shownLevels are those of the times that are shown: half, eight in ten, nine in
// ten.
var shownLevels = []float64{0.5, 0.8, 0.9}

// said is what was kept last of each car.
type said map[jobcard.CardID]struct {
	chance   float64
	promised time.Time
	day      workday.Day
}

func (s said) news(c Car) bool {
	was, ok := s[c.Card]
	return !ok || math.Abs(was.chance-c.Chance) >= moved || !was.promised.Equal(c.Promise)
}

func lastSaid(ctx context.Context, q pg.Querier, r *reckoned) (said, error) {
	out := said{}
	ids := make([]jobcard.CardID, len(r.Cars))
	for i, c := range r.Cars {
		ids[i] = c.Card
	}
	rows, err := q.Query(ctx, `
		select c.id, f.chance, f.promised_at from unnest($1::bigint[]) c(id)
		cross join lateral (select chance, promised_at from forecast_made where card_id = c.id and day = $2 order by made_at desc limit 1) f`, ids, r.Day.UTC())
	if err != nil {
		return nil, fmt.Errorf("what was said last: %w", err)
	}
	var id jobcard.CardID
	var chance float64
	var promised time.Time
	_, err = pgx.ForEachRow(rows, []any{&id, &chance, &promised}, func() error {
		out[id] = struct {
			chance   float64
			promised time.Time
			day      workday.Day
		}{chance, promised, r.Day}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("what was said last: %w", err)
	}
	return out, nil
}

// settle joins forecasts with what became of them: when the car is collected,
// or was ready on an earlier day. A cancelled one says nothing. The level that
// promises are made at moves with each car's first forecast of a day.
func (s *Service) settle(ctx context.Context, q pg.Querier, dayStart, now time.Time) error {
	type row struct {
		id       int64
		made     time.Time
		promised time.Time
		hours    []float32
		finished *time.Time
		first    bool
	}
	var open []row
	rows, err := q.Query(ctx, `
		select f.id, f.made_at, f.promised_at, f.hours, case when c.stage = 'cancelled' then null else coalesce(c.ready_at, c.collected_at) end,
			not exists (select from forecast_made e where e.card_id = f.card_id and e.day = f.day and (e.made_at, e.id) < (f.made_at, f.id))
		from forecast_made f join card c on c.id = f.card_id
		where f.settled_at is null and (c.stage in ('collected', 'cancelled') or c.stage = 'ready' and c.ready_at < $1)
		order by f.made_at, f.id limit $2`, dayStart, settleAtOnce)
	if err != nil {
		return fmt.Errorf("settle forecasts: %w", err)
	}
	var r row
	if _, err := pgx.ForEachRow(rows, []any{&r.id, &r.made, &r.promised, &r.hours, &r.finished, &r.first}, func() error {
		open = append(open, r)
		r.hours = nil
		return nil
	}); err != nil {
		return fmt.Errorf("settle forecasts: %w", err)
	}
	if len(open) == 0 {
		return nil
	}
	level, fix := 0.0, score.Recalibration{}
	if err := q.QueryRow(ctx, `select coalesce((select level from outlook_setting where id = 1), $1)`, usualLevel).Scan(&level); err != nil {
		return fmt.Errorf("settle forecasts: %w", err)
	}
	if fix, err = correction(ctx, q); err != nil {
		return err
	}
	var b pgx.Batch
	for _, r := range open {
		if r.finished == nil || r.finished.Before(r.made) {
			b.Queue(`update forecast_made set settled_at = $2 where id = $1`, r.id, now)
			continue
		}
		place := placeAmong(r.hours, r.finished.Sub(r.made).Hours())
		if r.first {
			level = score.Adapt(level, usualLevel, place <= fix.Level(level))
		}
		b.Queue(`update forecast_made set settled_at = $2, finished_at = $3, place = $4, kept = $5 where id = $1`,
			r.id, now, *r.finished, place, !r.finished.After(r.promised))
	}
	b.Queue(`insert into outlook_setting (id, level) values (1, $1) on conflict on constraint outlook_setting_pk do update set level = excluded.level`, level)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("settle forecasts: %w", err)
	}
	return nil
}

// usualLevel is how many of a hundred promises are to be kept, of those that
// were made as safe.
const usualLevel = 0.9

// placeAmong finds where hours fall among evenly spread quantiles, between two
// of them in proportion.
func placeAmong(q []float32, hours float64) float64 {
	n := len(q) - 1
	if n < 1 {
		return 0.5
	}
	low, high := 0, 0 // how many are below, and how many not above
	for _, v := range q {
		if float64(v) < hours {
			low++
		}
		if float64(v) <= hours {
			high++
		}
	}
	switch {
	case high > low: // on one of them, or on several that are equal
		return (float64(low) + float64(high-1)) / 2 / float64(n)
	case low == 0:
		return 0
	case low > n:
		return 1
	}
	a, b := float64(q[low-1]), float64(q[low])
	part := 0.5
	if !math.IsInf(b, 1) {
		part = (hours - a) / (b - a)
	}
	return (float64(low-1) + part) / float64(n)
}

// correction is learned from where the last outcomes fell in the first
// forecasts of their days: those of a day stand for one outcome.
func correction(ctx context.Context, q pg.Querier) (score.Recalibration, error) {
	rows, err := q.Query(ctx, `
		select place from (select distinct on (day, card_id) day, card_id, place from forecast_made where kept is not null order by day desc, card_id, made_at limit $1) f`, correctedBy)
	if err != nil {
		return score.Recalibration{}, fmt.Errorf("what corrects the forecast: %w", err)
	}
	places, err := pgx.CollectRows(rows, pgx.RowTo[float64])
	if err != nil {
		return score.Recalibration{}, fmt.Errorf("what corrects the forecast: %w", err)
	}
	return score.Recalibrate(places), nil
}

// correctedBy is how many outcomes are looked back on: a year of a small
// garage, less of a large one.
const correctedBy = 1000
