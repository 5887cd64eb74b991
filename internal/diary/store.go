package diary

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// The most that is read at once. A garage takes in a handful of cars a day.
const (
	cardsMax  = 400
	missedMax = 50
	rowsMax   = 2*cardsMax*jobcard.MaxLines + missedMax
	stintsMax = 50_000
)

// chosen are the cards to be shown: those of the days from $1 to $2; and of
// days before $3, those still in the garage and those that never came. $3 is
// null when today is not among the days.
const chosen = `
	with booked as (select id from card where booked_for between $1 and $2 and stage <> 'cancelled' order by booked_for, id limit $4),
	carried as (select id from card where stage in ('on site', 'in work', 'ready') and booked_for < $3 order by booked_for, id limit $4),
	missed as (select id from card where stage = 'booked' and booked_for < $3 order by booked_for desc, id limit $5),
	chosen as (select id from booked union select id from carried union select id from missed) `

// readAll reads cards, their lines, parts and work, and the plan, in one round
// trip. utc is the date in UTC at now: the garage's own is at most one away.
func readAll(ctx context.Context, q pg.Querier, from, to, utc workday.Day, now time.Time) (*loaded, roster.Plan, error) {
	var plan roster.Plan
	var b pgx.Batch
	if err := roster.PlanLater(&b, from, to, &plan); err != nil {
		return nil, plan, err
	}
	var before *time.Time
	if !from.After(utc.AddDays(1)) && !to.Before(utc.AddDays(-1)) {
		t := utc.AddDays(1).UTC()
		before = &t
	}
	l := &loaded{
		lines: map[jobcard.CardID][]line{}, parts: map[jobcard.CardID][]part{}, stints: map[jobcard.LineID][]stint{},
	}
	args := func(limit int) []any { return []any{from.UTC(), to.UTC(), before, cardsMax + 1, missedMax, limit} }
	b.Queue(chosen+`
		select c.id, v.id, coalesce(nullif(v.mark_shown, ''), v.vin, ''), v.make, v.model, u.id, u.name,
			coalesce(nullif(c.contact_phone, ''), u.phone), c.stage, c.booked_for, c.arrives_at, c.promised_at, c.ready_at, c.collected_at
		from chosen join card c on c.id = chosen.id join vehicle v on v.id = c.vehicle_id join customer u on u.id = c.customer_id
		order by c.booked_for, c.id limit $6`, args(2*cardsMax+missedMax)...).Query(l.scanCards)
	b.Queue(chosen+`
		select l.card_id, l.id, l.title, l.work_state, l.consent, l.likely_minutes, l.done_at,
			(l.safety or l.wheels_off) and not exists (select from second_check k where k.line_id = l.id and k.undone_at is null)
		from chosen join line l on l.card_id = chosen.id
		where l.struck_at is null order by l.card_id, l.position, l.id limit $6`, args(rowsMax)...).Query(l.scanLines)
	b.Queue(chosen+`
		select p.card_id, p.name, p.supply, p.source = 'customer', p.due_at
		from chosen join part p on p.card_id = chosen.id left join line l on l.id = p.line_id
		where p.struck_at is null and p.supply in ('needed', 'ordered')
			and (l.id is null or l.struck_at is null and l.consent <> 'declined' and l.work_state not in ('done', 'deferred'))
		order by p.card_id, p.due_at nulls first, p.id limit $6`, args(rowsMax)...).Query(l.scanParts)
	b.Queue(chosen+`
		select k.line_id, s.name, lower(k.during), upper(k.during)
		from chosen join line l on l.card_id = chosen.id join clocking k on k.line_id = l.id join staff s on s.id = k.staff_id
		where l.struck_at is null and not k.voided and lower(k.during) <= $7
		order by k.line_id, lower(k.during) limit $6`, append(args(stintsMax), now)...).Query(l.scanStints)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, plan, fmt.Errorf("diary: %w", err)
	}
	return l, plan, nil
}

func (l *loaded) scanCards(rows pgx.Rows) error {
	var b Booking
	var maker, model string
	var day time.Time
	var arrives, promised, ready, collected *time.Time
	dest := []any{&b.Card, &b.VehicleID, &b.Mark, &maker, &model, &b.CustomerID, &b.Customer, &b.Phone, &b.Stage, &day,
		&arrives, &promised, &ready, &collected}
	_, err := pgx.ForEachRow(rows, dest, func() error {
		b.Car, b.BookedFor = strings.TrimSpace(maker+" "+model), workday.FromDate(day)
		b.ArrivesAt, b.PromisedAt, b.ReadyAt, b.CollectedAt = orZero(arrives), orZero(promised), orZero(ready), orZero(collected)
		l.bookings = append(l.bookings, b)
		return nil
	})
	l.cut = len(l.bookings) > cardsMax
	return err
}

func (l *loaded) scanLines(rows pgx.Rows) error {
	var x line
	var minutes int
	var done *time.Time
	dest := []any{&x.card, &x.id, &x.title, &x.state, &x.consent, &minutes, &done, &x.unchecked}
	_, err := pgx.ForEachRow(rows, dest, func() error {
		x.likely, x.doneAt = time.Duration(minutes)*time.Minute, orZero(done)
		l.lines[x.card] = append(l.lines[x.card], x)
		return nil
	})
	return err
}

func (l *loaded) scanParts(rows pgx.Rows) error {
	var p part
	var due *time.Time
	_, err := pgx.ForEachRow(rows, []any{&p.card, &p.name, &p.supply, &p.own, &due}, func() error {
		p.dueAt = orZero(due)
		l.parts[p.card] = append(l.parts[p.card], p)
		return nil
	})
	return err
}

func (l *loaded) scanStints(rows pgx.Rows) error {
	var s stint
	var to *time.Time
	_, err := pgx.ForEachRow(rows, []any{&s.line, &s.name, &s.from, &to}, func() error {
		s.to = orZero(to)
		l.stints[s.line] = append(l.stints[s.line], s)
		return nil
	})
	return err
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
