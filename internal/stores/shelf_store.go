package stores

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg"
)

const itemColumns = `i.id, i.name, i.number, coalesce(i.supplier_id, 0), coalesce(s.name, ''), i.place, i.unit, i.least_milli, i.fill_milli,
	i.cost_minor, i.active, i.version,
	coalesce((select sum(t.left_milli) from stock_lot t where t.item_id = i.id), 0)::bigint,
	coalesce((select sum(t.left_minor) from stock_lot t where t.item_id = i.id), 0)::bigint,
	coalesce((select sum(o.qty_milli - o.came_milli) from purchase_line o where o.item_id = i.id and o.arrived_at is null and o.closed is null), 0)::bigint
	from stock_item i left join supplier s on s.id = i.supplier_id `

func scanItem(row pgx.CollectableRow) (Item, error) {
	var i Item
	err := row.Scan(&i.ID, &i.Name, &i.Number, &i.SupplierID, &i.SupplierName, &i.Place, &i.Unit, &i.Least, &i.Fill, &i.Cost, &i.Active,
		&i.Version, &i.Have, &i.Worth, &i.Coming)
	return i, err
}

func (i *Item) show(who actor.Actor) {
	if !who.May(actor.SeeMargins) {
		i.Cost, i.Worth = 0, 0
	}
}

const itemsMax = 1000

// Shelf reads all that is kept, what is in use first, by name.
func (s *Service) Shelf(ctx context.Context, who actor.Actor) ([]Item, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	rows, err := s.db.Pool.Query(ctx, `select `+itemColumns+`order by i.active desc, i.name limit $1`, itemsMax)
	if err != nil {
		return nil, fmt.Errorf("the shelf: %w", err)
	}
	all, err := pgx.CollectRows(rows, scanItem)
	if err != nil {
		return nil, fmt.Errorf("the shelf: %w", err)
	}
	for i := range all {
		all[i].show(who)
	}
	return all, nil
}

// Item reads one item with all that moved it. Errors: NotFound, Forbidden.
func (s *Service) Item(ctx context.Context, who actor.Actor, id ItemID) (Sheet, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Sheet{}, err
	}
	out := Sheet{Now: s.db.Now(), Costs: who.May(actor.SeeMargins)}
	var b pgx.Batch
	garage.LoadLater(&b, &out.Garage)
	b.Queue(`select `+itemColumns+`where i.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		out.Item, err = pgx.CollectExactlyOneRow(rows, scanItem)
		return pg.Explain(err, "item on the shelf", nil)
	})
	b.Queue(`select t.id, coalesce(o.purchase_id, 0), t.qty_milli, t.cost_minor, t.left_milli, t.left_minor, t.note, t.got_at, coalesce(f.name, '')
		from stock_lot t left join purchase_line o on o.id = t.purchase_line_id left join staff f on f.id = t.got_by
		where t.item_id = $1 and t.left_milli > 0 order by t.id limit 200`, id).Query(collect(&out.Lots, pgx.RowToStructByPos[Lot]))
	b.Queue(`select m.kind, m.qty_milli, m.cost_minor, coalesce(m.part_id, 0), coalesce(p.card_id, 0), coalesce(n.reason, t.note), coalesce(f.name, ''),
			m.at, m.lot_id, coalesce(p.supply = 'arrived' or p.struck_at is not null, false)
		from stock_move m join stock_lot t on t.id = m.lot_id left join part p on p.id = m.part_id left join stock_count n on n.id = m.count_id
			left join staff f on f.id = m.by_staff
		where t.item_id = $1 order by m.id desc limit 40`, id).Query(collect(&out.Moves, pgx.RowToStructByPos[Move]))
	b.Queue(`select n.was_milli, n.counted_milli, n.reason, coalesce(f.name, ''), n.at from stock_count n left join staff f on f.id = n.by_staff
		where n.item_id = $1 order by n.id desc limit 20`, id).Query(collect(&out.Counts, pgx.RowToStructByPos[Count]))
	b.Queue(`select p.id, p.card_id, p.version, case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, p.name, p.number, p.qty_milli,
			number_key(p.number) = number_key(i.number) and number_key(i.number) <> ''
		from stock_item i, part p join card c on c.id = p.card_id join vehicle v on v.id = c.vehicle_id left join line l on l.id = p.line_id
		where i.id = $1 and p.supply = 'needed' and p.struck_at is null and p.source = 'garage' and `+wanted+`
			and c.stage in ('booked', 'on site', 'in work')
		order by 8 desc, c.booked_for, p.id limit 100`, id).Query(collect(&out.For, pgx.RowToStructByPos[Candidate]))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Sheet{}, err
	}
	var err error
	if out.Suppliers, err = garage.Suppliers(ctx, s.db.Pool); err != nil {
		return Sheet{}, err
	}
	out.show(who)
	if !out.Costs {
		for i := range out.Lots {
			out.Lots[i].Cost, out.Lots[i].LeftWorth = 0, 0
		}
		for i := range out.Moves {
			out.Moves[i].Cost = 0
		}
	}
	return out, nil
}

// lockItem locks an item, so that its lots are taken from by one at a time,
// and reads it.
func lockItem(ctx context.Context, tx *change.Tx, id ItemID) (Item, error) {
	if _, err := tx.Exec(ctx, `select from stock_item where id = $1 for update`, id); err != nil {
		return Item{}, fmt.Errorf("lock the item: %w", err)
	}
	rows, err := tx.Query(ctx, `select `+itemColumns+`where i.id = $1`, id)
	if err != nil {
		return Item{}, fmt.Errorf("item on the shelf: %w", err)
	}
	i, err := pgx.CollectExactlyOneRow(rows, scanItem)
	return i, pg.Explain(err, "item on the shelf", nil)
}

var itemRules = map[string]*apperr.Error{
	"stock_item_name_once":   apperr.Field("name", "there is something of this name on the shelf already"),
	"stock_item_number_once": apperr.Field("number", "there is something of this number on the shelf already"),
	"stock_item_supplier_fk": apperr.Field("supplier", "this supplier is not in the garage's list"),
}

// SaveItem adds or changes an item of the shelf. Errors: Invalid at name,
// number, supplier, place, unit, least, fill and cost, and at active while
// some of it is left; a stale Conflict with the Item.
func (s *Service) SaveItem(ctx context.Context, who actor.Actor, in ItemInput) (Changed, error) {
	if err := needMoney(who); err != nil {
		return Changed{}, err
	}
	if err := in.clean(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "save an item of the shelf", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		args := []any{in.Name, in.Number, in.SupplierID, in.Place, in.Unit, in.Least, in.Fill, in.Cost}
		sql := `insert into stock_item (name, number, supplier_id, place, unit, least_milli, fill_milli, cost_minor)
			values ($1, $2, nullif($3::bigint, 0), $4, $5, $6, $7, $8) returning id, version`
		kind := "shelf item added"
		if in.ID != 0 {
			was, err := lockItem(ctx, tx, in.ID)
			switch {
			case err != nil:
				return Changed{}, err
			case was.Version != in.Version:
				return Changed{}, apperr.Stale("item of the shelf", was)
			case !in.Active && was.Have > 0:
				return Changed{}, apperr.Field("active", "there is still some of it: count it down to nothing first")
			}
			kind = "shelf item changed"
			args = append(args, in.Active, in.ID)
			sql = `update stock_item set name = $1, number = $2, supplier_id = nullif($3::bigint, 0), place = $4, unit = $5, least_milli = $6,
				fill_milli = $7, cost_minor = $8, active = $9, version = version + 1 where id = $10 returning id, version`
		}
		var out Changed
		err := tx.QueryRow(ctx, sql, args...).Scan(&out.ItemID, &out.Version)
		if err := pg.Explain(err, "item on the shelf", itemRules); err != nil {
			return Changed{}, err
		}
		tx.Record(kind, 0, in.Name, map[string]any{
			"item": out.ItemID, "number": in.Number, "least thousandths": in.Least, "fill thousandths": in.Fill, "cost": in.Cost,
		})
		return out, nil
	})
}

// Count corrects an item by what was counted, and keeps the correction. What
// is missing is taken first in first out; what is too much comes in at what
// one is thought to cost. Errors: Invalid at counted and reason; Conflict when
// something moved since the page was opened.
func (s *Service) Count(ctx context.Context, who actor.Actor, in CountInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	if in.Counted < 0 || in.Counted > maxQty {
		f.Add("counted", "a quantity lies between 0 and 100000")
	}
	if in.Counted != in.Was {
		f.Must("reason", in.Reason, "a word on the difference: broken, used and not written down, miscounted …")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "count the shelf", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		it, err := lockItem(ctx, tx, in.ItemID)
		if err != nil {
			return Changed{}, err
		}
		if it.Have != in.Was {
			return Changed{}, apperr.New(apperr.Conflict, "something moved while you counted: there were to be %s, now %s; please count again",
				money.FormatQuantity(in.Was), money.FormatQuantity(it.Have))
		}
		var count int64
		err = tx.QueryRow(ctx, `insert into stock_count (item_id, was_milli, counted_milli, reason, by_staff, at)
			values ($1, $2, $3, $4, nullif($5::bigint, 0), $6) returning id`, it.ID, it.Have, in.Counted, in.Reason, tx.Who.StaffID, tx.At).Scan(&count)
		if err != nil {
			return Changed{}, fmt.Errorf("note the count: %w", err)
		}
		switch diff := in.Counted - it.Have; {
		case diff < 0:
			_, err = take(ctx, tx, it.ID, -diff, "counted short", 0, count)
		case diff > 0:
			err = putFound(ctx, tx, it, diff, count)
		}
		if err != nil {
			return Changed{}, err
		}
		tx.Record("shelf counted", 0, it.Name, map[string]any{
			"item": it.ID, "was thousandths": it.Have, "counted thousandths": in.Counted, "reason": in.Reason,
		})
		return Changed{ItemID: it.ID}, nil
	})
}

// putFound puts on the shelf what the count found beyond the books.
func putFound(ctx context.Context, tx *change.Tx, it Item, qty, count int64) error {
	cost := money.PartNet(qty, it.Cost)
	var lot LotID
	err := tx.QueryRow(ctx, `
		insert into stock_lot (item_id, qty_milli, cost_minor, left_milli, left_minor, note, got_at, got_by)
		values ($1, $2, $3, $2, $3, 'found at a stock take', $4, nullif($5::bigint, 0)) returning id`,
		it.ID, qty, cost, tx.At, tx.Who.StaffID).Scan(&lot)
	if err != nil {
		return fmt.Errorf("put what was found on the shelf: %w", err)
	}
	return putMove(ctx, tx, lot, "counted over", qty, cost, 0, count)
}
