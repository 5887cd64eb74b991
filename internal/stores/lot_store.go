package stores

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/fifo"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

type newLot struct {
	item ItemID
	line LineID
	qty  int64
	cost money.Minor
	note string
}

// putLot puts a lot on the shelf. Whoever calls it for no order holds the item.
func putLot(ctx context.Context, tx *change.Tx, n newLot) error {
	var lot LotID
	err := tx.QueryRow(ctx, `
		insert into stock_lot (item_id, purchase_line_id, qty_milli, cost_minor, left_milli, left_minor, note, got_at, got_by)
		values ($1, nullif($2::bigint, 0), $3, $4, $3, $4, $5, $6, nullif($7::bigint, 0)) returning id`,
		n.item, n.line, n.qty, n.cost, n.note, tx.At, tx.Who.StaffID).Scan(&lot)
	if err != nil {
		return fmt.Errorf("put it on the shelf: %w", err)
	}
	return putMove(ctx, tx, lot, "in", n.qty, n.cost, 0, 0)
}

func putMove(ctx context.Context, tx *change.Tx, lot LotID, kind string, qty int64, cost money.Minor, part jobcard.PartID, count int64) error {
	_, err := tx.Exec(ctx, `insert into stock_move (lot_id, kind, qty_milli, cost_minor, part_id, count_id, by_staff, at)
		values ($1, $2, $3, $4, nullif($5::bigint, 0), nullif($6::bigint, 0), nullif($7::bigint, 0), $8)`,
		lot, kind, qty, cost, part, count, tx.Who.StaffID, tx.At)
	if err != nil {
		return fmt.Errorf("write the movement down: %w", err)
	}
	return nil
}

// Put puts something on the shelf that came by no order here: what was there
// when the books began, or bought over a counter. Errors: Invalid at qty, cost
// and note.
func (s *Service) Put(ctx context.Context, who actor.Actor, in LotInput) (Changed, error) {
	if err := needMoney(who); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Note = f.Line("note", in.Note, MaxShort)
	f.Must("note", in.Note, "where it is from")
	if in.Qty < 1 || in.Qty > maxQty {
		f.Add("qty", "a quantity lies between 0.001 and 100000")
	}
	if in.Cost < 0 || in.Cost > money.MaxTyped {
		f.Add("cost", "an amount between £0.00 and %s, please", money.MaxTyped)
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "put on the shelf", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		it, err := lockItem(ctx, tx, in.ItemID)
		if err != nil {
			return Changed{}, err
		}
		if !it.Active {
			return Changed{}, apperr.New(apperr.Conflict, "%s is not kept any more", it.Name)
		}
		if err := putLot(ctx, tx, newLot{item: it.ID, qty: in.Qty, cost: in.Cost, note: in.Note}); err != nil {
			return Changed{}, err
		}
		tx.Record("put on the shelf", 0, it.Name, map[string]any{"item": it.ID, "qty thousandths": in.Qty, "cost": in.Cost, "note": in.Note})
		return Changed{ItemID: it.ID}, nil
	})
}

// take takes so much of an item, the oldest lots first, and gives what it cost.
func take(ctx context.Context, tx *change.Tx, item ItemID, qty int64, kind string, part jobcard.PartID, count int64) (money.Minor, error) {
	rows, err := tx.Query(ctx, `select id, left_milli, left_minor from stock_lot where item_id = $1 and left_milli > 0 order by id limit 10000`, item)
	if err != nil {
		return 0, fmt.Errorf("the lots on the shelf: %w", err)
	}
	var ids []LotID
	var lots []fifo.Lot
	for rows.Next() {
		var id LotID
		var l fifo.Lot
		if err := rows.Scan(&id, &l.Qty, &l.Value); err != nil {
			rows.Close()
			return 0, fmt.Errorf("the lots on the shelf: %w", err)
		}
		ids, lots = append(ids, id), append(lots, l)
	}
	if err := rows.Err(); err != nil {
		return 0, fmt.Errorf("the lots on the shelf: %w", err)
	}
	taken, err := fifo.Take(lots, qty)
	if err != nil {
		return 0, err
	}
	for _, t := range taken {
		if _, err := tx.Exec(ctx, `update stock_lot set left_milli = left_milli - $2, left_minor = left_minor - $3 where id = $1`,
			ids[t.Lot], t.Qty, t.Cost); err != nil {
			return 0, fmt.Errorf("take it off the shelf: %w", err)
		}
		if err := putMove(ctx, tx, ids[t.Lot], kind, -t.Qty, -t.Cost, part, count); err != nil {
			return 0, err
		}
	}
	return fifo.Cost(taken), nil
}

// Use takes a card's part from the shelf, in the card's quantity; technicians
// may. The part is arrived, at what it cost first in first out: each at that
// divided by the quantity, to the nearest penny, while the shelf keeps every
// penny. Errors: Invalid at part and item.
func (s *Service) Use(ctx context.Context, who actor.Actor, in UseInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "take from the shelf", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if apperr.Is(err, apperr.NotFound) {
			return Changed{}, apperr.Field("part", "this part is on no card")
		}
		if err != nil {
			return Changed{}, err
		}
		it, err := lockItem(ctx, tx, in.ItemID)
		if err != nil {
			return Changed{}, err
		}
		if p.Supply == jobcard.Ordered {
			return Changed{}, apperr.Field("part", "%s is on order: cancel it there first", p.Name)
		}
		cost, err := take(ctx, tx, it.ID, p.Qty, "used", p.ID, 0)
		var short *fifo.ShortError
		if errors.As(err, &short) {
			return Changed{}, apperr.Field("part", "%s, and the card needs %s", short.Error(), money.FormatQuantity(p.Qty))
		}
		if err != nil {
			return Changed{}, err
		}
		if err := jobcard.TakePart(ctx, tx, c, p, min(money.Share(cost, 1000, p.Qty), maxCost)); err != nil {
			return Changed{}, err
		}
		tx.Record("taken from the shelf", int64(c.ID), p.Name, map[string]any{"item": it.ID, "part": p.ID, "qty thousandths": p.Qty, "cost": cost})
		return Changed{ItemID: it.ID, CardID: c.ID, PartID: p.ID, Version: p.Version + 2}, nil
	})
}

// PutBack puts a card's part that came off the shelf back on it, into the lots
// it came from and at what it cost there; technicians may. The card needs it
// again. Errors: Invalid at part.
func (s *Service) PutBack(ctx context.Context, who actor.Actor, in PutBackInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "put back on the shelf", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if apperr.Is(err, apperr.NotFound) {
			return Changed{}, apperr.Field("part", "this part is on no card")
		}
		if err != nil {
			return Changed{}, err
		}
		if p.Supply != jobcard.Arrived && !p.Struck() {
			return Changed{}, apperr.Field("part", "%s is %s: only what is here and not fitted can go back on the shelf", p.Name, p.Supply)
		}
		if in.ItemID != 0 {
			if _, err := lockItem(ctx, tx, in.ItemID); err != nil {
				return Changed{}, err
			}
		}
		item, err := putBackMoves(ctx, tx, p.ID)
		if err != nil {
			return Changed{}, err
		}
		if in.ItemID != 0 && item != in.ItemID {
			return Changed{}, apperr.Field("part", "%s came from another place on the shelf", p.Name)
		}
		if err := jobcard.NeedPart(ctx, tx, c, p); err != nil {
			return Changed{}, err
		}
		tx.Record("put back on the shelf", int64(c.ID), p.Name, map[string]any{"item": item, "part": p.ID})
		return Changed{ItemID: item, CardID: c.ID, PartID: p.ID}, nil
	})
}

// putBackMoves undoes what the shelf gave for a part.
func putBackMoves(ctx context.Context, tx *change.Tx, part jobcard.PartID) (ItemID, error) {
	type back struct {
		Item ItemID
		Lot  LotID
		Qty  int64
		Cost money.Minor
	}
	var item ItemID
	err := tx.QueryRow(ctx, `select coalesce(max(t.item_id), 0) from stock_move m join stock_lot t on t.id = m.lot_id where m.part_id = $1`, part).Scan(&item)
	if err != nil {
		return 0, fmt.Errorf("where the part came from: %w", err)
	}
	if _, err := lockItem(ctx, tx, item); err != nil {
		return 0, orField(err, "part", "this part did not come off the shelf")
	}
	rows, err := tx.Query(ctx, `
		select t.item_id, m.lot_id, -sum(m.qty_milli)::bigint, -sum(m.cost_minor)::bigint from stock_move m join stock_lot t on t.id = m.lot_id
		where m.part_id = $1 group by t.item_id, m.lot_id having sum(m.qty_milli) < 0 order by m.lot_id limit 10000`, part)
	if err != nil {
		return 0, fmt.Errorf("what the shelf gave: %w", err)
	}
	all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[back])
	if err != nil {
		return 0, fmt.Errorf("what the shelf gave: %w", err)
	}
	if len(all) == 0 {
		return 0, apperr.Field("part", "this part is back on the shelf already")
	}
	for _, b := range all {
		if _, err := tx.Exec(ctx, `update stock_lot set left_milli = left_milli + $2, left_minor = left_minor + $3 where id = $1`, b.Lot, b.Qty, b.Cost); err != nil {
			return 0, fmt.Errorf("put it back: %w", err)
		}
		if err := putMove(ctx, tx, b.Lot, "put back", b.Qty, b.Cost, part, 0); err != nil {
			return 0, err
		}
	}
	return item, nil
}
