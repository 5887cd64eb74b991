package stores

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
)

// Ordered is the result of an order.
type Ordered struct {
	OrderID OrderID
	Lines   int
}

// Order makes an order to one supplier. Errors: Invalid at supplier, due_at,
// how, ref, note, lines and at a line's fields (lines.0.part, lines.0.cost …).
func (s *Service) Order(ctx context.Context, who actor.Actor, in OrderInput) (Ordered, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Ordered{}, err
	}
	return change.Do(ctx, s.db, who, "order parts", in, func(ctx context.Context, tx *change.Tx) (Ordered, error) {
		if err := in.clean(tx.At); err != nil {
			return Ordered{}, err
		}
		supplier, err := garage.SupplierByID(ctx, tx, in.SupplierID)
		if err != nil || !supplier.Active {
			return Ordered{}, orField(err, "supplier", "this supplier is not in the garage's list")
		}
		cards, err := lockCards(ctx, tx, in.Lines)
		if err != nil {
			return Ordered{}, err
		}
		var id OrderID
		err = tx.QueryRow(ctx, `insert into purchase (supplier_id, how, their_ref, note, due_at, ordered_at, ordered_by)
			values ($1, $2, $3, $4, $5, $6, nullif($7::bigint, 0)) returning id`,
			supplier.ID, in.How, in.Ref, in.Note, in.DueAt.UTC(), tx.At, tx.Who.StaffID).Scan(&id)
		if err != nil {
			return Ordered{}, fmt.Errorf("make the order: %w", err)
		}
		f := apperr.Fields{}
		names := make([]string, 0, len(in.Lines))
		for i, l := range in.Lines {
			if l.DueAt.IsZero() {
				l.DueAt = in.DueAt
			}
			name, err := orderLine(ctx, tx, id, supplier.ID, l, cards)
			if !atLine(f, i, err) && err != nil {
				return Ordered{}, err
			}
			names = append(names, name)
		}
		if err := f.Err(); err != nil {
			return Ordered{}, err
		}
		tx.Record("order made", 0, "order "+strconv.FormatInt(int64(id), 10)+", "+supplier.Name, map[string]any{
			"order": id, "supplier": supplier.ID, "due": in.DueAt, "how": in.How, "reference": in.Ref, "lines": names,
		})
		return Ordered{OrderID: id, Lines: len(in.Lines)}, nil
	})
}

// orField gives err, but what is not there, or not to be had, as a message at
// a field.
func orField(err error, field, message string) error {
	if err == nil || apperr.Is(err, apperr.NotFound) {
		return apperr.Field(field, "%s", message)
	}
	return err
}

// atLine puts what is wrong with a line of the input at its fields, and tells
// whether it could.
func atLine(f apperr.Fields, i int, err error) bool {
	prefix := "lines." + strconv.Itoa(i) + "."
	var e *apperr.Error
	switch {
	case f.Merge(prefix, err):
		return true
	case errors.As(err, &e) && e.Kind == apperr.Conflict && e.Current == nil:
		f.Add(prefix+"part", "%s", e.Message)
		return true
	}
	return false
}

// lockCards locks the cards that an order's parts are on, in the order of
// their numbers, so that two orders never wait for each other.
func lockCards(ctx context.Context, tx *change.Tx, lines []OrderedLine) (map[jobcard.PartID]jobcard.Card, error) {
	parts := make([]jobcard.PartID, 0, len(lines))
	for _, l := range lines {
		if l.PartID > 0 {
			parts = append(parts, l.PartID)
		}
	}
	return lockPartCards(ctx, tx, parts)
}

func lockPartCards(ctx context.Context, tx *change.Tx, parts []jobcard.PartID) (map[jobcard.PartID]jobcard.Card, error) {
	out := map[jobcard.PartID]jobcard.Card{}
	if len(parts) == 0 {
		return out, nil
	}
	rows, err := tx.Query(ctx, `select id, card_id from part where id = any($1) order by card_id, id limit $2`, parts, len(parts))
	if err != nil {
		return nil, fmt.Errorf("the cards of parts: %w", err)
	}
	type on struct {
		Part jobcard.PartID
		Card jobcard.CardID
	}
	all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[on])
	if err != nil {
		return nil, fmt.Errorf("the cards of parts: %w", err)
	}
	locked := map[jobcard.CardID]jobcard.Card{}
	for _, x := range all {
		c, ok := locked[x.Card]
		if !ok {
			if c, err = jobcard.Lock(ctx, tx, x.Card); err != nil {
				return nil, err
			}
			locked[x.Card] = c
		}
		out[x.Part] = c
	}
	return out, nil
}

// orderLine writes one line of an order, and gives its name.
func orderLine(ctx context.Context, tx *change.Tx, order OrderID, supplier garage.SupplierID, l OrderedLine, cards map[jobcard.PartID]jobcard.Card) (string, error) {
	var name, number string
	var qty int64
	var cost money.Minor
	if l.PartID > 0 {
		if _, ok := cards[l.PartID]; !ok {
			return "", apperr.Field("part", "this part is on no card")
		}
		c, p, err := jobcard.LockPart(ctx, tx, l.PartID)
		if err != nil {
			return "", err
		}
		if err := closeLeftOpen(ctx, tx, p.ID); err != nil {
			return "", err
		}
		if err := jobcard.OrderPart(ctx, tx, c, p, jobcard.Ordering{SupplierID: supplier, DueAt: l.DueAt, Cost: l.Cost}); err != nil {
			return "", err
		}
		name, number, qty, cost = p.Name, p.Number, p.Qty, p.Cost
	} else {
		it, err := lockItem(ctx, tx, l.ItemID)
		if err != nil || !it.Active {
			return "", orField(err, "part", "this is not on the shelf")
		}
		name, number, qty, cost = it.Name, it.Number, l.Qty, it.Cost
	}
	if l.Cost != nil {
		cost = *l.Cost
	}
	_, err := tx.Exec(ctx, `
		insert into purchase_line (purchase_id, part_id, item_id, name, number, qty_milli, cost_minor, surcharge_minor, back_by, due_at)
		values ($1, nullif($2::bigint, 0), nullif($3::bigint, 0), $4, $5, $6, $7, $8, $9, $10)`,
		order, l.PartID, l.ItemID, name, number, qty, cost, l.Surcharge, dayOrNull(l.BackBy), l.DueAt.UTC())
	if err != nil {
		return "", fmt.Errorf("write the order's line: %w", err)
	}
	return money.FormatQuantity(qty) + " x " + name, nil
}

// closeLeftOpen closes the order that a part is still on while the card says
// that it is needed: somebody took it off the order by hand.
func closeLeftOpen(ctx context.Context, tx *change.Tx, part jobcard.PartID) error {
	_, err := tx.Exec(ctx, `
		update purchase_line o set closed = 'cancelled', closed_note = 'needed again by the card', closed_at = $2, version = o.version + 1
		from part p where o.part_id = $1 and p.id = $1 and p.supply = 'needed' and o.arrived_at is null and o.closed is null`, part, tx.At)
	if err != nil {
		return fmt.Errorf("close the order left open: %w", err)
	}
	return nil
}

const lineColumns = `o.id, o.purchase_id, coalesce(o.part_id, 0), coalesce(o.item_id, 0), coalesce(p.card_id, 0),
	coalesce(case when v.mark_shown <> '' then v.mark_shown else v.vin end, ''), coalesce(trim(v.make || ' ' || v.model), ''), coalesce(l.title, ''),
	o.name, o.number, o.qty_milli, o.cost_minor, o.surcharge_minor, o.back_by, o.due_at, o.now_due_at, o.came_milli, o.arrived_at,
	coalesce(o.closed, ''), o.closed_note, coalesce(p.supply, ''),
	case when p.struck_at is not null then 'the part was struck out: ' || p.struck_reason
		when c.stage in ('collected', 'cancelled') then 'card ' || c.id || ' is ' || c.stage
		when l.work_state = 'deferred' then 'the work was put off'
		when l.struck_at is not null or l.consent = 'declined' then 'the work is not wanted' else '' end, o.version`

const lineFrom = ` from purchase_line o left join part p on p.id = o.part_id left join card c on c.id = p.card_id
	left join vehicle v on v.id = c.vehicle_id left join line l on l.id = p.line_id `

func scanLine(r pgx.CollectableRow) (Line, error) {
	var l Line
	var back *time.Time
	var nowDue, arrived *time.Time
	err := r.Scan(&l.ID, &l.OrderID, &l.PartID, &l.ItemID, &l.CardID, &l.Mark, &l.Car, &l.Title, &l.Name, &l.Number, &l.Qty, &l.Cost,
		&l.Surcharge, &back, &l.DueAt, &nowDue, &l.Came, &arrived, &l.Closed, &l.ClosedWhy, &l.Supply, &l.Unwanted, &l.Version)
	l.BackBy, l.NowDueAt, l.ArrivedAt = dayOrZero(back), orZero(nowDue), orZero(arrived)
	l.DueAt = l.DueAt.UTC()
	return l, err
}

const orderColumns = `u.id, u.supplier_id, s.name, s.phone, s.email, u.how, u.their_ref, u.note, u.due_at, u.ordered_at,
	coalesce(u.ordered_by, 0), coalesce(t.name, '')
	from purchase u join supplier s on s.id = u.supplier_id left join staff t on t.id = u.ordered_by `

func scanOrder(r pgx.CollectableRow) (Order, error) {
	var o Order
	err := r.Scan(&o.ID, &o.SupplierID, &o.SupplierName, &o.Phone, &o.Email, &o.How, &o.Ref, &o.Note, &o.DueAt, &o.OrderedAt, &o.OrderedBy, &o.OrderedName)
	o.DueAt, o.OrderedAt = o.DueAt.UTC(), o.OrderedAt.UTC()
	return o, err
}

// OrderBy reads one order. Errors: NotFound, Forbidden.
func (s *Service) OrderBy(ctx context.Context, who actor.Actor, id OrderID) (Order, garage.Settings, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Order{}, garage.Settings{}, err
	}
	var o Order
	var set garage.Settings
	var b pgx.Batch
	garage.LoadLater(&b, &set)
	b.Queue(`select `+orderColumns+`where u.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		o, err = pgx.CollectExactlyOneRow(rows, scanOrder)
		return pg.Explain(err, "order", nil)
	})
	var lines []Line
	b.Queue(`select `+lineColumns+lineFrom+`where o.purchase_id = $1 order by o.id limit 200`, id).Query(collect(&lines, scanLine))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Order{}, set, err
	}
	o.Lines = lines
	o.show(who)
	return o, set, nil
}

// show leaves costs away for those who may not see them.
func (o *Order) show(who actor.Actor) {
	o.Costs = who.May(actor.SeeMargins)
	if !o.Costs {
		for i := range o.Lines {
			o.Lines[i].Cost, o.Lines[i].Surcharge = 0, 0
		}
	}
}

// lineByID reads one line of an order.
func lineByID(ctx context.Context, q pg.Querier, id LineID) (Line, error) {
	rows, err := q.Query(ctx, `select `+lineColumns+lineFrom+`where o.id = $1`, id)
	if err != nil {
		return Line{}, fmt.Errorf("line of an order: %w", err)
	}
	l, err := pgx.CollectExactlyOneRow(rows, scanLine)
	return l, pg.Explain(err, "line of an order", nil)
}

// lockLine locks the card that a line of an order is for, then the line, and
// reads both and the card's part; card and part are zero for the shelf.
func lockLine(ctx context.Context, tx *change.Tx, id LineID) (Line, jobcard.Card, jobcard.Part, error) {
	var c jobcard.Card
	var p jobcard.Part
	var part jobcard.PartID
	if err := tx.QueryRow(ctx, `select coalesce(part_id, 0) from purchase_line where id = $1`, id).Scan(&part); err != nil {
		return Line{}, c, p, pg.Explain(err, "line of an order", nil)
	}
	if part != 0 {
		var err error
		if c, p, err = jobcard.LockPart(ctx, tx, part); err != nil {
			return Line{}, c, p, err
		}
	}
	if _, err := tx.Exec(ctx, `select from purchase_line where id = $1 for update`, id); err != nil {
		return Line{}, c, p, fmt.Errorf("lock the order's line: %w", err)
	}
	l, err := lineByID(ctx, tx, id)
	return l, c, p, err
}

// sortedLines puts the lines of an input in the order in which they are locked.
func sortedLines[T any](in []T, id func(T) LineID) []T {
	out := slices.Clone(in)
	slices.SortFunc(out, func(a, b T) int { return cmp.Compare(id(a), id(b)) })
	return out
}

// OrderOf is the order that a line is on. Errors: NotFound, Forbidden.
func (s *Service) OrderOf(ctx context.Context, who actor.Actor, id LineID) (order OrderID, err error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return 0, err
	}
	err = s.db.Pool.QueryRow(ctx, `select purchase_id from purchase_line where id = $1`, id).Scan(&order)
	return order, pg.Explain(err, "line of an order", nil)
}
