package dayend

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// The most that is read at once: a garage has a handful of cars a day.
const (
	cardsMax = 400
	linesMax = cardsMax * jobcard.MaxLines
	partsMax = cardsMax * jobcard.MaxParts * 2
	staffMax = 500
)

// margin is more than any zone is away from UTC, so that a day in UTC with a
// margin on both sides holds the garage's own, whatever its zone is.
const margin = 26 * time.Hour

// ofDay are the cards that a day from $1 to $2 may be about: worked on, in the
// garage, or booked for it ($3 to $4).
const ofDay = `
	with chosen as (
		select id from (
			select l.card_id as id from clocking k join line l on l.id = k.line_id
			where not k.voided and k.during && tstzrange($1, $2)
			union
			select id from card where on_site_at < $2 and stage in ('on site', 'in work', 'ready')
			union
			select id from card where on_site_at < $2 and collected_at >= $1
			union
			select id from card where booked_for between $3 and $4 and stage = 'booked') c
		order by id limit $5) `

// readDay reads what a day is about in one round trip, but for the work. A
// zero day is today, which nobody knows before the garage's zone is read.
func readDay(ctx context.Context, q pg.Querier, d workday.Day, now time.Time) (Snapshot, workday.Day, error) {
	first, last := d, d
	if d.IsZero() {
		utc := workday.FromDate(now)
		first, last = utc.AddDays(-1), utc.AddDays(1)
	}
	from, to := first.UTC().Add(-margin), last.AddDays(1).UTC().Add(margin)
	s, err := read(ctx, q, now, ofDay, from, to, first.UTC(), last.UTC(), cardsMax+1)
	if err != nil {
		return s, d, fmt.Errorf("day's end: %w", err)
	}
	if len(s.Cards) > cardsMax {
		return s, d, apperr.New(apperr.TooLarge, "there are more than %d cards about this day: it cannot be reckoned up on one page", cardsMax)
	}
	if d.IsZero() {
		d = s.Garage.Today(now)
	}
	return s, d, nil
}

func readCard(ctx context.Context, q pg.Querier, id jobcard.CardID, now time.Time) (Snapshot, error) {
	return read(ctx, q, now, `with chosen as (select id from card where id = $1 limit 1) `, id)
}

// read reads the chosen cards with what hangs on them. chosen is always a
// constant of this file.
func read(ctx context.Context, q pg.Querier, now time.Time, chosen string, args ...any) (Snapshot, error) {
	s := Snapshot{Now: now, Staff: map[actor.StaffID]Person{}, Open: map[actor.StaffID]roster.AttendanceID{}}
	by := map[jobcard.CardID]*Card{}
	var order []jobcard.CardID
	var b pgx.Batch
	garage.LoadLater(&b, &s.Garage)
	b.Queue(chosen+`
		select c.id, c.stage, c.booked_for, c.on_site_at, c.ready_at, c.collected_at, c.promised_at,
			coalesce(nullif(v.mark_shown, ''), v.vin, ''), v.make, v.model, u.name,
			c.sundries_bp, c.sundries_cap_minor
		from chosen join card c on c.id = chosen.id join vehicle v on v.id = c.vehicle_id join customer u on u.id = c.customer_id
		order by c.id`, args...).Query(each(func(r pgx.Rows) error {
		c, err := scanCard(r)
		by[c.ID], order = c, append(order, c.ID)
		return err
	}))
	n := fmt.Sprintf("$%d", len(args)+1)
	b.Queue(chosen+`
		select l.id, l.card_id, l.position, l.title, l.work_state, l.state_reason, l.decided_by, l.consent, l.ahead_reason, l.vat_code, l.rate_minor, l.likely_minutes,
			l.fixed_price_minor, l.std_cost_rate_minor, l.agreed_minutes, l.agreed_net_minor, coalesce(l.found_on, 0), l.done_at,
			coalesce(l.done_by, 0), l.struck_at, l.struck_reason,
			case when l.consent = 'declined' then coalesce((select x.said_by from consent x where x.line_id = l.id order by x.id desc limit 1), '') else '' end
		from chosen join line l on l.card_id = chosen.id order by l.card_id, l.position, l.id limit `+n, append(slices.Clone(args), linesMax)...).
		Query(each(func(r pgx.Rows) error {
			l, saidBy, err := scanLine(r)
			if c := by[l.CardID]; c != nil {
				c.Lines = append(c.Lines, l)
				c.SaidBy[l.ID] = saidBy
			}
			return err
		}))
	b.Queue(chosen+`
		select p.id, p.card_id, coalesce(p.line_id, 0), p.name, p.number, coalesce(s.name, ''), p.qty_milli, p.cost_minor, p.price_minor,
			p.markup_bp, p.quoted_qty_milli, p.quoted_cost_minor, p.source, p.supply, p.due_at, p.struck_at,
			p.vat_code, p.exchange_minor, p.exchange_back_milli
		from chosen join part p on p.card_id = chosen.id left join supplier s on s.id = p.supplier_id
		order by p.id limit `+n, append(slices.Clone(args), partsMax)...).
		Query(each(func(r pgx.Rows) error {
			p, err := scanPart(r)
			if c := by[p.CardID]; c != nil {
				c.Parts = append(c.Parts, p)
			}
			return err
		}))
	jobcard.ExtrasLater(&b, chosen, args, func(id jobcard.CardID) *jobcard.Extras {
		if c := by[id]; c != nil {
			return &c.Extras
		}
		return nil
	})
	garage.VATHistoryLater(&b, &s.VAT)
	b.Queue(`select id, name, role from staff order by id limit $1`, staffMax).Query(each(func(r pgx.Rows) error {
		var id actor.StaffID
		var p Person
		err := r.Scan(&id, &p.Name, &p.Role)
		s.Staff[id] = p
		return err
	}))
	b.Queue(`select staff_id, id from attendance where upper_inf(during) order by id limit $1`, staffMax).Query(each(func(r pgx.Rows) error {
		var id actor.StaffID
		var a roster.AttendanceID
		err := r.Scan(&id, &a)
		s.Open[id] = a
		return err
	}))
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return s, err
	}
	for _, id := range order {
		s.Cards = append(s.Cards, *by[id])
	}
	return s, nil
}

func scanCard(r pgx.Rows) (*Card, error) {
	c := &Card{SaidBy: map[jobcard.LineID]string{}}
	var day time.Time
	var site, ready, collected, promised *time.Time
	var maker, model string
	var percent *money.Rate
	var most *money.Minor
	err := r.Scan(&c.ID, &c.Stage, &day, &site, &ready, &collected, &promised, &c.Mark, &maker, &model, &c.Customer, &percent, &most)
	if percent != nil {
		c.Sundries = &jobcard.OwnSundries{Percent: *percent, Cap: most}
	}
	c.BookedFor, c.Car = workday.FromDate(day), strings.TrimSpace(maker+" "+model)
	c.OnSiteAt, c.ReadyAt, c.CollectedAt, c.PromisedAt = orZero(site), orZero(ready), orZero(collected), orZero(promised)
	return c, err
}

func scanLine(r pgx.Rows) (l jobcard.Line, saidBy string, err error) {
	var likely int
	var agreed *int
	var done, struck *time.Time
	err = r.Scan(&l.ID, &l.CardID, &l.Position, &l.Title, &l.WorkState, &l.StateReason, &l.DecidedBy, &l.Consent, &l.AheadWhy, &l.VATCode, &l.Rate, &likely,
		&l.FixedPrice, &l.StdCostRate, &agreed, &l.AgreedNet, &l.FoundOn, &done, &l.DoneBy, &struck, &l.StruckWhy, &saidBy)
	l.Estimate.Likely = time.Duration(likely) * time.Minute
	if agreed != nil {
		t := time.Duration(*agreed) * time.Minute
		l.AgreedTime = &t
	}
	l.DoneAt, l.StruckAt = orZero(done), orZero(struck)
	return l, saidBy, err
}

func scanPart(r pgx.Rows) (p jobcard.Part, err error) {
	var due, struck *time.Time
	err = r.Scan(&p.ID, &p.CardID, &p.LineID, &p.Name, &p.Number, &p.SupplierName, &p.Qty, &p.Cost, &p.Price, &p.MarkUp,
		&p.QuotedQty, &p.QuotedCost, &p.Source, &p.Supply, &due, &struck, &p.VATCode, &p.Exchange, &p.ExchangeBack)
	p.DueAt, p.StruckAt = orZero(due), orZero(struck)
	return p, err
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

// each calls f for every row of a batch's query.
func each(f func(pgx.Rows) error) func(pgx.Rows) error {
	return func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			if err := f(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	}
}
