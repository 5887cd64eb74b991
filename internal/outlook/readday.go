package outlook

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/lateness"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/internal/workday"
)

// The most that is read of a day. The forecast itself takes 200 cars.
const (
	cardsMax = 150
	linesMax = 900
	rowsMax  = 5000
)

// ahead is how many days beyond the day itself technicians' hours are read, so
// that what is not finished today has a time.
const ahead = 10

// board is a stretch of days as they stand, before anything is reckoned.
type board struct {
	plan     roster.Plan
	now      time.Time
	event    int64
	setting  Setting
	cards    []cardRow
	lines    map[jobcard.CardID][]lineRow
	parts    map[jobcard.LineID][]partRow
	after    map[jobcard.LineID][]jobcard.LineID
	stints   map[jobcard.LineID][]stintRow
	in       map[actor.StaffID]bool // seen today: true while they are in
	late     map[garage.SupplierID]lateness.Record
	anyWork  bool // the garage has operations
	accepted acceptances
}

type cardRow struct {
	id       jobcard.CardID
	vehicle  int64
	mark     string
	name     string
	stage    jobcard.Stage
	day      workday.Day
	arrives  time.Time
	promised time.Time
	created  time.Time
	layout   string
	place    int // in the order of the day, 0 for none
	pinned   bool
}

type lineRow struct {
	id        jobcard.LineID
	card      jobcard.CardID
	operation garage.OperationID
	title     string
	must      bool
	state     jobcard.WorkState
	consent   jobcard.Consent
	low       int // minutes
	likely    int
	high      int
	net       money.Minor
	safety    bool
	lifts     bool
	inspects  bool
	done      time.Time
	snag      bool
	found     int // lines that were found on it
}

type partRow struct {
	line     jobcard.LineID
	name     string
	supplier garage.SupplierID
	supply   jobcard.Supply
	due      time.Time
}

type stintRow struct {
	staff    actor.StaffID
	name     string
	from, to time.Time // to is zero while it goes on
}

// chosen are the cards of the days from $1 to $2, and those of earlier days
// that are still here to be worked on when $3 is true.
const chosen = `
	with chosen as (select id from card where stage in ('booked', 'on site', 'in work') and
		(booked_for between $1 and $2 or $3 and booked_for < $1 and stage <> 'booked') order by booked_for desc, id limit $4) `

// readBoard reads the days from one to another in three round trips: the
// settings, all that the days hold, and how late suppliers are. carried takes
// in what earlier days left.
func readBoard(ctx context.Context, q pg.Querier, from, to workday.Day, carried bool, now time.Time) (*board, error) {
	b := &board{
		now: now, setting: Setting{Level: usualLevel}, lines: map[jobcard.CardID][]lineRow{}, parts: map[jobcard.LineID][]partRow{},
		after: map[jobcard.LineID][]jobcard.LineID{}, stints: map[jobcard.LineID][]stintRow{}, in: map[actor.StaffID]bool{},
	}
	set, err := garage.Load(ctx, q)
	if err != nil {
		return nil, err
	}
	if from.IsZero() {
		from = set.Today(now)
		to = from
	}
	start, end := workday.Bounds(from, set.Location())
	var batch pgx.Batch
	// The number of the last event is read first: what is read after it may
	// know of later ones, never of fewer.
	batch.Queue(`select coalesce(max(id), 0) from event`).QueryRow(func(r pgx.Row) error { return r.Scan(&b.event) })
	if err := roster.PlanLater(&batch, from, to.AddDays(ahead), &b.plan); err != nil {
		return nil, err
	}
	batch.Queue(`select coalesce(ramps, 0), level, version from outlook_setting where id = 1`).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&b.setting.Ramps, &b.setting.Level, &b.setting.Version}, func() error { return nil })
		return err
	})
	batch.Queue(`select exists (select from operation where active and likely_minutes > 0)`).QueryRow(func(r pgx.Row) error { return r.Scan(&b.anyWork) })
	args := []any{from.UTC(), to.UTC(), carried, cardsMax}
	batch.Queue(chosen+`
		select c.id, c.vehicle_id, coalesce(nullif(v.mark_shown, ''), v.vin, ''), v.make, v.model, c.stage, c.booked_for, c.arrives_at, c.promised_at,
			c.created_at, coalesce(`+layoutOf+`, ''), coalesce(o.place, 0), coalesce(o.pinned, false)
		from chosen join card c on c.id = chosen.id join vehicle v on v.id = c.vehicle_id left join outlook_order o on o.card_id = c.id and o.day = $1
		order by c.booked_for, c.id`, args...).Query(b.scanCards)
	batch.Queue(chosen+`
		select l.id, l.card_id, coalesce(l.operation_id, 0), l.title, l.must_do, l.work_state, case when l.ahead_at is null then l.consent else 'agreed' end, l.low_minutes, l.likely_minutes, l.high_minutes,
			coalesce(l.agreed_net_minor, coalesce(l.fixed_price_minor, round(l.rate_minor * l.likely_minutes / 60.0)) + coalesce((select
				sum(round(coalesce(p.price_minor, p.cost_minor * (1 + coalesce(p.markup_bp, g.default_markup_bp) / 10000.0)) * p.qty_milli / 1000.0))
				from part p where p.line_id = l.id and p.struck_at is null and p.source = 'garage' and p.supply not in ('going back', 'credited', 'not coming')), 0))::bigint,
			l.safety, l.wheels_off or 'lifting' = any (l.cautions), l.inspects, l.done_at,
			exists (select from snag s where s.line_id = l.id and s.kind in ('job has grown', 'blocked') and s.at >= $5),
			(select count(*) from line f where f.found_on = l.id and f.struck_at is null)
		from chosen join line l on l.card_id = chosen.id cross join garage g where l.struck_at is null and l.consent <> 'declined' and l.work_state <> 'deferred'
		order by l.card_id, l.position, l.id limit $6`, append(args, start, linesMax)...).Query(b.scanLines)
	batch.Queue(chosen+`
		select p.line_id, p.name, coalesce(p.supplier_id, 0), p.supply, p.due_at
		from chosen join part p on p.card_id = chosen.id
		where p.line_id is not null and p.struck_at is null and p.supply in ('needed', 'ordered', 'not coming') order by p.line_id, p.id limit $5`,
		append(args, rowsMax)...).Query(b.scanParts)
	batch.Queue(chosen+`select o.line_id, o.after_id from chosen join line_order o on o.card_id = chosen.id order by 1, 2 limit $5`,
		append(args, rowsMax)...).Query(func(rows pgx.Rows) error {
		var line, after jobcard.LineID
		_, err := pgx.ForEachRow(rows, []any{&line, &after}, func() error {
			b.after[line] = append(b.after[line], after)
			return nil
		})
		return err
	})
	batch.Queue(chosen+`
		select k.line_id, k.staff_id, s.name, lower(k.during), upper(k.during)
		from chosen join line l on l.card_id = chosen.id join clocking k on k.line_id = l.id join staff s on s.id = k.staff_id
		where l.struck_at is null and not k.voided and lower(k.during) <= $5 order by k.line_id, lower(k.during) limit $6`,
		append(args, now, rowsMax)...).Query(b.scanStints)
	batch.Queue(`select staff_id, bool_or(upper_inf(during)) from attendance where during && tstzrange($1, $2) group by staff_id limit 1000`, start, end).
		Query(func(rows pgx.Rows) error {
			var id actor.StaffID
			var in bool
			_, err := pgx.ForEachRow(rows, []any{&id, &in}, func() error { b.in[id] = in; return nil })
			return err
		})
	acceptedLater(&batch, &b.accepted)
	if err := q.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("read the day: %w", err)
	}
	if b.late, err = stores.Lateness(ctx, q, set, now); err != nil {
		return nil, err
	}
	return b, nil
}

// layoutOf is the engine's layout from the most trusted source, for a query
// that has the card as c.
const layoutOf = `(select f.value from vehicle_fact f where f.vehicle_id = c.vehicle_id and f.key = 'engine_layout'
	order by array_position(array['car', 'plate', 'logbook', 'supplier', 'assumed'], f.source) limit 1)`

func (b *board) scanCards(rows pgx.Rows) error {
	var c cardRow
	var maker, model string
	var day time.Time
	var arrives, promised *time.Time
	dest := []any{&c.id, &c.vehicle, &c.mark, &maker, &model, &c.stage, &day, &arrives, &promised, &c.created, &c.layout, &c.place, &c.pinned}
	_, err := pgx.ForEachRow(rows, dest, func() error {
		c.name, c.day = strings.TrimSpace(maker+" "+model), workday.FromDate(day)
		c.arrives, c.promised = orZero(arrives), orZero(promised)
		b.cards = append(b.cards, c)
		return nil
	})
	return err
}

func (b *board) scanLines(rows pgx.Rows) error {
	var l lineRow
	var done *time.Time
	dest := []any{&l.id, &l.card, &l.operation, &l.title, &l.must, &l.state, &l.consent, &l.low, &l.likely, &l.high, &l.net,
		&l.safety, &l.lifts, &l.inspects, &done, &l.snag, &l.found}
	_, err := pgx.ForEachRow(rows, dest, func() error {
		l.done = orZero(done)
		b.lines[l.card] = append(b.lines[l.card], l)
		return nil
	})
	return err
}

func (b *board) scanParts(rows pgx.Rows) error {
	var p partRow
	var due *time.Time
	_, err := pgx.ForEachRow(rows, []any{&p.line, &p.name, &p.supplier, &p.supply, &due}, func() error {
		p.due = orZero(due)
		b.parts[p.line] = append(b.parts[p.line], p)
		return nil
	})
	return err
}

func (b *board) scanStints(rows pgx.Rows) error {
	var line jobcard.LineID
	var s stintRow
	var to *time.Time
	_, err := pgx.ForEachRow(rows, []any{&line, &s.staff, &s.name, &s.from, &to}, func() error {
		s.to = orZero(to)
		b.stints[line] = append(b.stints[line], s)
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
