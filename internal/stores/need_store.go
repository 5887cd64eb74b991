package stores

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// needsMax bounds the page of what to order.
const needsMax = 400

// Needs reads what must be ordered to keep the cards up to the horizon going,
// by supplier, and what the shelf is short of. Errors: Forbidden, Invalid at
// horizon.
func (s *Service) Needs(ctx context.Context, who actor.Actor, h Horizon) (Needs, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Needs{}, err
	}
	if !slices.Contains(Horizons, h) {
		return Needs{}, apperr.Field("horizon", "look as far as tomorrow, a week, or all of it")
	}
	now := s.db.Now()
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return Needs{}, err
	}
	today := set.Today(now)
	n := Needs{Now: now, Garage: set, Horizon: h, Costs: who.May(actor.SeeMargins)}
	switch h {
	case Tomorrow:
		n.Until = nextDay(set, today)
	case Week:
		n.Until = today.AddDays(7)
	}
	until := n.Until
	if until.IsZero() {
		until = workday.Must(workday.LastYear, time.December, 31)
	}
	var needs []Need
	var b pgx.Batch
	b.Queue(needSQL, until.UTC(), needsMax+1).Query(collect(&needs, scanNeed))
	b.Queue(`
		select count(*) from part p join card c on c.id = p.card_id left join line l on l.id = p.line_id
		where p.supply = 'needed' and p.struck_at is null and p.source = 'garage' and `+wanted+` and c.stage = 'booked' and c.booked_for > $1`, until.UTC()).
		QueryRow(func(row pgx.Row) error { return row.Scan(&n.Later) })
	b.Queue(ownSQL, needsMax).Query(collect(&n.Own, scanNeed))
	var short []Need
	b.Queue(shortSQL, needsMax).Query(collect(&short, func(r pgx.CollectableRow) (x Need, err error) {
		err = r.Scan(&x.ItemID, &x.Name, &x.Number, &x.Unit, &x.supplier, &x.Cost, &x.Have, &x.Least, &x.Qty)
		x.Agreed = true
		return x, err
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Needs{}, fmt.Errorf("what must be ordered: %w", err)
	}
	if len(needs) > needsMax {
		needs, n.Cut = needs[:needsMax], true
	}
	needs = append(needs, short...)
	if n.Lateness, err = s.lateness(ctx, set); err != nil {
		return Needs{}, err
	}
	all, err := garage.Suppliers(ctx, s.db.Pool)
	if err != nil {
		return Needs{}, err
	}
	for _, x := range all {
		if x.Active {
			n.Suppliers = append(n.Suppliers, x)
		}
	}
	if !n.Costs {
		for i := range needs {
			needs[i].Cost = 0
		}
	}
	n.Groups = group(needs, all, n.Lateness)
	return n, nil
}

// wanted says of a part's line that work on it is still wanted.
const wanted = `(l.id is null or (l.struck_at is null and l.consent <> 'declined' and l.work_state not in ('done', 'deferred')))`

const needColumns = `p.id, c.id, coalesce(l.id, 0), p.name, p.number, p.qty_milli, p.cost_minor, coalesce(p.supplier_id, 0),
	case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, trim(v.make || ' ' || v.model), coalesce(l.title, ''),
	c.stage, c.booked_for, c.arrives_at, c.promised_at, l.id is null or l.consent = 'agreed', p.verdict <> 'fits',
	coalesce(i.id, 0), coalesce((select sum(t.left_milli) from stock_lot t where t.item_id = i.id), 0)::bigint
	from part p join card c on c.id = p.card_id join vehicle v on v.id = c.vehicle_id left join line l on l.id = p.line_id
	left join stock_item i on i.active and number_key(i.number) = number_key(p.number) and number_key(p.number) <> ''`

// part_outstanding_idx finds them.
const needSQL = `select ` + needColumns + `
	where p.supply = 'needed' and p.struck_at is null and p.source = 'garage' and ` + wanted + `
		and (c.stage in ('on site', 'in work', 'ready') or c.stage = 'booked' and c.booked_for <= $1)
	order by c.booked_for, c.arrives_at nulls last, c.id, p.id limit $2`

const ownSQL = `select ` + needColumns + `
	where p.supply in ('needed', 'ordered') and p.struck_at is null and p.source = 'customer' and ` + wanted + `
		and c.stage in ('booked', 'on site', 'in work')
	order by c.booked_for, c.id, p.id limit $1`

// The shelf's items that have run below their least, less what is on order.
const shortSQL = `
	select i.id, i.name, i.number, i.unit, coalesce(i.supplier_id, 0), i.cost_minor, x.have, i.least_milli, greatest(i.fill_milli, i.least_milli) - x.have - x.coming
	from stock_item i cross join lateral (select
		coalesce((select sum(t.left_milli) from stock_lot t where t.item_id = i.id), 0)::bigint as have,
		coalesce((select sum(o.qty_milli - o.came_milli) from purchase_line o where o.item_id = i.id and o.arrived_at is null and o.closed is null), 0)::bigint as coming) x
	where i.active and x.have + x.coming < i.least_milli order by i.name limit $1`

func scanNeed(r pgx.CollectableRow) (Need, error) {
	var n Need
	var day time.Time
	var arrives, promised *time.Time
	err := r.Scan(&n.PartID, &n.CardID, &n.LineID, &n.Name, &n.Number, &n.Qty, &n.Cost, &n.supplier, &n.Mark, &n.Car, &n.Title,
		&n.Stage, &day, &arrives, &promised, &n.Agreed, &n.Unchecked, &n.OnShelf, &n.ShelfQty)
	n.BookedFor, n.ArrivesAt, n.PromisedAt = workday.FromDate(day), orZero(arrives), orZero(promised)
	return n, err
}

// Stuck is a line that cannot go on for want of a part, and what it waits for.
type Stuck struct {
	CardID     jobcard.CardID
	LineID     jobcard.LineID
	Mark, Car  string
	Title      string
	WorkState  jobcard.WorkState
	Reason     string
	Stage      jobcard.Stage
	BookedFor  workday.Day
	PromisedAt time.Time
	Parts      []StuckPart
}

// StuckPart is one part that a stuck line waits for.
type StuckPart struct {
	PartID   jobcard.PartID
	Name     string
	Number   string
	Qty      int64
	Own      bool
	Supply   jobcard.Supply
	DueAt    time.Time
	Supplier string
	OrderID  OrderID
	Came     int64 // thousandths of it that are here
	Late     bool
	// AfterPromise says that it is due once the car should be ready.
	AfterPromise bool
}

// StuckLines is what is stuck on which card, and why.
type StuckLines struct {
	Now    time.Time
	Garage garage.Settings
	Lines  []Stuck
}

// Stuck reads the lines that cannot go on for want of a part: on the cards
// that are here, and on those booked up to the next day the garage works.
func (s *Service) Stuck(ctx context.Context, who actor.Actor) (StuckLines, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return StuckLines{}, err
	}
	now := s.db.Now()
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return StuckLines{}, err
	}
	out := StuckLines{Now: now, Garage: set}
	rows, err := s.db.Pool.Query(ctx, `
		select c.id, coalesce(l.id, 0), case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, trim(v.make || ' ' || v.model),
			coalesce(l.title, ''), coalesce(l.work_state, ''), coalesce(l.state_reason, ''), c.stage, c.booked_for, c.promised_at,
			p.id, p.name, p.number, p.qty_milli, p.source = 'customer', p.supply, p.due_at, coalesce(s.name, ''),
			coalesce(o.purchase_id, 0), coalesce(o.came_milli, 0)
		from card c join vehicle v on v.id = c.vehicle_id
			left join line l on l.card_id = c.id and l.struck_at is null and l.consent <> 'declined' and l.work_state not in ('done', 'deferred')
			left join part p on p.card_id = c.id and p.line_id is not distinct from l.id and p.struck_at is null and p.supply in ('needed', 'ordered')
			left join supplier s on s.id = p.supplier_id
			left join purchase_line o on o.part_id = p.id and o.arrived_at is null and o.closed is null
		where (c.stage in ('on site', 'in work') or c.stage = 'booked' and c.booked_for <= $1)
			and (p.id is not null or l.work_state = 'waiting on parts')
		order by c.promised_at nulls last, c.id, l.position, p.id limit 1000`, nextDay(set, set.Today(now)).UTC())
	if err != nil {
		return out, fmt.Errorf("what is stuck: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var l Stuck
		var p struct {
			id                     *jobcard.PartID
			name, number, supplier *string
			qty                    *int64
			own                    *bool
			supply                 *jobcard.Supply
			due, promised          *time.Time
		}
		var day time.Time
		var order OrderID
		var came int64
		if err := rows.Scan(&l.CardID, &l.LineID, &l.Mark, &l.Car, &l.Title, &l.WorkState, &l.Reason, &l.Stage, &day, &p.promised,
			&p.id, &p.name, &p.number, &p.qty, &p.own, &p.supply, &p.due, &p.supplier, &order, &came); err != nil {
			return out, fmt.Errorf("what is stuck: %w", err)
		}
		l.BookedFor, l.PromisedAt = workday.FromDate(day), orZero(p.promised)
		if n := len(out.Lines); n == 0 || out.Lines[n-1].CardID != l.CardID || out.Lines[n-1].LineID != l.LineID {
			out.Lines = append(out.Lines, l)
		}
		if p.id != nil {
			at := &out.Lines[len(out.Lines)-1]
			due := orZero(p.due)
			at.Parts = append(at.Parts, StuckPart{
				PartID: *p.id, Name: *p.name, Number: *p.number, Qty: *p.qty, Own: *p.own, Supply: *p.supply, DueAt: due, Supplier: *p.supplier,
				OrderID: order, Came: came, Late: *p.supply == jobcard.Ordered && !due.IsZero() && due.Before(now),
				AfterPromise: !due.IsZero() && !l.PromisedAt.IsZero() && due.After(l.PromisedAt),
			})
		}
	}
	return out, rows.Err()
}

// collect reads all rows of a batch's query into dst.
func collect[T any](dst *[]T, scan pgx.RowToFunc[T]) func(pgx.Rows) error {
	return func(rows pgx.Rows) (err error) {
		*dst, err = pgx.CollectRows(rows, scan)
		return err
	}
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	u := t.UTC()
	return &u
}

func dayOrNull(d workday.Day) *time.Time {
	if d.IsZero() {
		return nil
	}
	t := d.UTC()
	return &t
}

func dayOrZero(t *time.Time) workday.Day {
	if t == nil {
		return workday.Day{}
	}
	return workday.FromDate(*t)
}
