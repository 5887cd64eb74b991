package stores

import (
	"context"
	"fmt"
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

const returnColumns = `r.id, r.supplier_id, s.name, coalesce(r.part_id, 0), coalesce(p.card_id, q.card_id, 0), coalesce(o.purchase_id, 0), r.kind,
	r.name, r.number, r.qty_milli, r.why, r.expected_minor,
	coalesce((select sum(k.amount_minor) from part_credit k where k.return_id = r.id), 0)::bigint,
	r.send_by, r.sent_at, r.sent_how, r.made_at, r.settled_at, r.settled_why, r.version
	from part_return r join supplier s on s.id = r.supplier_id left join part p on p.id = r.part_id
	left join purchase_line o on o.id = r.purchase_line_id left join part q on q.id = o.part_id `

func scanReturn(row pgx.CollectableRow) (Return, error) {
	var r Return
	var by, sent, settled *time.Time
	err := row.Scan(&r.ID, &r.SupplierID, &r.SupplierName, &r.PartID, &r.CardID, &r.OrderID, &r.Kind, &r.Name, &r.Number, &r.Qty, &r.Why,
		&r.Expected, &r.Received, &by, &sent, &r.SentHow, &r.MadeAt, &settled, &r.SettledWhy, &r.Version)
	r.SendBy, r.SentAt, r.SettledAt = dayOrZero(by), orZero(sent), orZero(settled)
	return r, err
}

const returnsMax = 300

// Returns reads all that goes back, and lately went.
func (s *Service) Returns(ctx context.Context, who actor.Actor) (Returns, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Returns{}, err
	}
	out := Returns{Now: s.db.Now(), Costs: who.May(actor.SeeMargins)}
	var credits []Credit
	var b pgx.Batch
	garage.LoadLater(&b, &out.Garage)
	b.Queue(toWriteSQL, returnsMax).Query(collect(&out.ToWrite, pgx.RowToStructByPos[GoingBack]))
	b.Queue(`select `+returnColumns+`where r.settled_at is null
		order by r.sent_at is not null, r.send_by nulls last, r.id limit $1`, returnsMax).Query(collect(&out.Open, scanReturn))
	b.Queue(`select ` + returnColumns + `where r.settled_at is not null order by r.settled_at desc, r.id desc limit 30`).Query(collect(&out.Settled, scanReturn))
	b.Queue(`
		select k.return_id, k.amount_minor, k.day, k.their_ref, coalesce(t.name, '') from part_credit k left join staff t on t.id = k.by_staff
		where k.return_id in (select id from part_return where settled_at is null)
			or k.return_id in (select id from part_return where settled_at is not null order by settled_at desc, id desc limit 30)
		order by k.id limit 2000`).Query(collect(&credits, func(row pgx.CollectableRow) (k Credit, err error) {
		var day time.Time
		err = row.Scan(&k.ReturnID, &k.Amount, &day, &k.Ref, &k.By)
		k.Day = dayOrZero(&day)
		return k, err
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Returns{}, fmt.Errorf("what goes back: %w", err)
	}
	for _, list := range [][]Return{out.Open, out.Settled} {
		for i := range list {
			for _, k := range credits {
				if k.ReturnID == list[i].ID {
					list[i].Credits = append(list[i].Credits, k)
				}
			}
			if !out.Costs {
				list[i].Expected, list[i].Received, list[i].Credits = 0, 0, nil
			}
		}
	}
	if !out.Costs {
		for i := range out.ToWrite {
			out.ToWrite[i].Cost = 0
		}
	}
	all, err := garage.Suppliers(ctx, s.db.Pool)
	out.Suppliers = all
	return out, err
}

// What the cards say is going back, and what came and nobody needs any more.
const toWriteSQL = `
	select p.id, c.id, case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, trim(v.make || ' ' || v.model),
		p.name, p.number, p.qty_milli, p.cost_minor, coalesce(p.supplier_id, 0), coalesce(s.name, ''), p.verdict, p.verdict_note,
		case when p.supply = 'going back' then '' when p.struck_at is not null then 'the part was struck out: ' || p.struck_reason
			else 'card ' || c.id || ' was cancelled' end
	from part p join card c on c.id = p.card_id join vehicle v on v.id = c.vehicle_id left join supplier s on s.id = p.supplier_id
	where p.source = 'garage' and not exists (select from part_return r where r.part_id = p.id)
		and (p.supply = 'going back' or (p.struck_at is not null or c.stage = 'cancelled')
			and exists (select from purchase_line o where o.part_id = p.id and o.came_milli > 0)
			and not exists (select from stock_move m where m.part_id = p.id))
	order by p.id desc limit $1`

// WriteUp writes up something that goes back. A card's part is going back on
// the card from there on, and is needed again where that was asked for.
// Errors: Invalid at supplier, part, kind, name, number, qty, why, expected.
func (s *Service) WriteUp(ctx context.Context, who actor.Actor, in WriteUpInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	if err := in.clean(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "write a return up", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		if in.PartID == 0 {
			id, err := insertReturn(ctx, tx, in, 0, 0, 0)
			return Changed{ReturnID: id, Version: 1}, err
		}
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if err != nil {
			return Changed{}, orField(err, "part", "this part is on no card")
		}
		if p.Source == jobcard.FromCustomer {
			return Changed{}, apperr.Field("part", "this is the customer's own: it goes back to them")
		}
		if in.Qty != 0 && in.Qty != p.Qty {
			return Changed{}, apperr.Field("qty", "a card's part goes back whole, %s of it: put what stays on a part of its own first", money.FormatQuantity(p.Qty))
		}
		out := Changed{CardID: c.ID, PartID: p.ID, Version: 1}
		if p.Supply != jobcard.GoingBack && c.Open() && !p.Struck() {
			if p.Supply == jobcard.Needed || p.Supply == jobcard.Ordered {
				return Changed{}, apperr.Field("part", "this part is %s: it is not here to go back", p.Supply)
			}
			if _, err := jobcard.SendBack(ctx, tx, c, p, in.Again, in.Kind == WrongPart); err != nil {
				return Changed{}, err
			}
		}
		in.Name, in.Number, in.Qty = p.Name, p.Number, p.Qty
		var line LineID
		err = tx.QueryRow(ctx, `select coalesce(max(id), 0) from purchase_line where part_id = $1 and came_milli > 0`, p.ID).Scan(&line)
		if err != nil {
			return Changed{}, fmt.Errorf("the order of the part: %w", err)
		}
		out.ReturnID, err = insertReturn(ctx, tx, in, p.ID, line, c.ID)
		return out, err
	})
}

var returnRules = map[string]*apperr.Error{
	"part_return_supplier_fk": apperr.Field("supplier", "this supplier is not in the garage's list"),
	"part_return_part_once":   apperr.Field("part", "this part was written up already"),
}

func insertReturn(ctx context.Context, tx *change.Tx, in WriteUpInput, part jobcard.PartID, line LineID, card jobcard.CardID) (ReturnID, error) {
	var id ReturnID
	err := tx.QueryRow(ctx, `
		insert into part_return (supplier_id, part_id, purchase_line_id, kind, name, number, qty_milli, why, expected_minor, send_by, made_at, made_by)
		values ($1, nullif($2::bigint, 0), nullif($3::bigint, 0), $4, $5, $6, $7, $8, $9, $10, $11, nullif($12::bigint, 0)) returning id`,
		in.SupplierID, part, line, in.Kind, in.Name, in.Number, in.Qty, in.Why, in.Expected, dayOrNull(in.SendBy), tx.At, tx.Who.StaffID).Scan(&id)
	if err := pg.Explain(err, "return", returnRules); err != nil {
		return 0, err
	}
	tx.Record("return written up", int64(card), in.Name, map[string]any{
		"return": id, "kind": in.Kind, "why": in.Why, "supplier": in.SupplierID, "expected": in.Expected, "part": part,
	})
	return id, nil
}

// lockReturn locks the card of a return's part and the return, in that order,
// and refuses a stale or a settled one.
func lockReturn(ctx context.Context, tx *change.Tx, id ReturnID, version int) (Return, jobcard.Part, error) {
	var part jobcard.PartID
	var p jobcard.Part
	if err := tx.QueryRow(ctx, `select coalesce(part_id, 0) from part_return where id = $1`, id).Scan(&part); err != nil {
		return Return{}, p, pg.Explain(err, "return", nil)
	}
	if part != 0 {
		var err error
		if _, p, err = jobcard.LockPart(ctx, tx, part); err != nil {
			return Return{}, p, err
		}
	}
	if _, err := tx.Exec(ctx, `select from part_return where id = $1 for update`, id); err != nil {
		return Return{}, p, fmt.Errorf("lock the return: %w", err)
	}
	rows, err := tx.Query(ctx, `select `+returnColumns+`where r.id = $1`, id)
	if err != nil {
		return Return{}, p, fmt.Errorf("return: %w", err)
	}
	r, err := pgx.CollectExactlyOneRow(rows, scanReturn)
	switch {
	case err != nil:
		return r, p, pg.Explain(err, "return", nil)
	case r.Version != version:
		return r, p, apperr.Stale("return", r)
	case r.Settled():
		return r, p, apperr.New(apperr.Conflict, "this return is settled: nothing more is to come for it")
	}
	return r, p, nil
}

// Send notes that something has left; technicians may. Errors: Invalid at
// how, a stale Conflict with the Return.
func (s *Service) Send(ctx context.Context, who actor.Actor, in SentInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.How = f.Line("how", in.How, MaxShort)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "send a return", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		r, p, err := lockReturn(ctx, tx, in.ReturnID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		if r.Sent() {
			return Changed{}, apperr.New(apperr.Conflict, "this has left already")
		}
		if _, err := tx.Exec(ctx, `update part_return set sent_at = $2, sent_how = $3, version = version + 1 where id = $1`, r.ID, tx.At, in.How); err != nil {
			return Changed{}, fmt.Errorf("note that it left: %w", err)
		}
		tx.Record("return sent", int64(r.CardID), r.Name, map[string]any{"return": r.ID, "how": in.How})
		out := Changed{ReturnID: r.ID, CardID: r.CardID, PartID: r.PartID, Version: r.Version + 1}
		if r.Expected == 0 { // nothing is to come for it
			return out, settle(ctx, tx, r, p, "no money was to come for it")
		}
		return out, nil
	})
}

// Credit notes a credit that came; once all that was expected is there, the
// return is settled and a card's part credited. Errors: Invalid at amount,
// day, ref and why, a stale Conflict with the Return.
func (s *Service) Credit(ctx context.Context, who actor.Actor, in CreditInput) (Changed, error) {
	if err := needMoney(who); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Ref, in.Why = f.Line("ref", in.Ref, MaxShort), f.Line("why", in.Why, MaxShort)
	if in.Amount < 1 || in.Amount > MaxAmount {
		f.Add("amount", "an amount between £0.01 and %s, please", MaxAmount)
	}
	if in.Last {
		f.Must("why", in.Why, "why nothing more is to come")
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "note a credit", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		set, err := garage.Load(ctx, tx)
		if err != nil {
			return Changed{}, err
		}
		day, today := in.Day, set.Today(tx.At)
		if day.IsZero() {
			day = today
		}
		if day.After(today) || day.Before(today.AddDays(-3*366)) {
			return Changed{}, apperr.Field("day", "the day on the credit note, not after today and within three years")
		}
		r, p, err := lockReturn(ctx, tx, in.ReturnID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `insert into part_credit (return_id, amount_minor, day, their_ref, by_staff, at)
			values ($1, $2, $3, $4, nullif($5::bigint, 0), $6)`, r.ID, in.Amount, day.UTC(), in.Ref, tx.Who.StaffID, tx.At); err != nil {
			return Changed{}, fmt.Errorf("note the credit: %w", err)
		}
		// Money that came for it says that it has left.
		if _, err := tx.Exec(ctx, `update part_return set sent_at = coalesce(sent_at, $2), version = version + 1 where id = $1`, r.ID, tx.At); err != nil {
			return Changed{}, fmt.Errorf("note the credit: %w", err)
		}
		r.Received += in.Amount
		tx.Record("credit came", int64(r.CardID), r.Name, map[string]any{
			"return": r.ID, "amount": in.Amount, "day": day, "reference": in.Ref, "expected": r.Expected, "received": r.Received,
		})
		out := Changed{ReturnID: r.ID, CardID: r.CardID, PartID: r.PartID, Version: r.Version + 1}
		if in.Last || r.Received >= r.Expected {
			return out, settle(ctx, tx, r, p, in.Why)
		}
		return out, nil
	})
}

// Settle says that nothing more is to come for a return, and why.
func (s *Service) Settle(ctx context.Context, who actor.Actor, in SettleInput) (Changed, error) {
	if err := needMoney(who); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.Why = f.Line("why", in.Why, MaxShort)
	f.Must("why", in.Why, "why nothing more is to come")
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "settle a return", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		r, p, err := lockReturn(ctx, tx, in.ReturnID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		return Changed{ReturnID: r.ID, CardID: r.CardID, PartID: r.PartID, Version: r.Version + 1}, settle(ctx, tx, r, p, in.Why)
	})
}

func needMoney(who actor.Actor) error {
	if err := who.Need(actor.EditCard); err != nil {
		return err
	}
	return who.Need(actor.SeeMargins)
}

// settle ends a return. A card's part is credited when any money came for it.
func settle(ctx context.Context, tx *change.Tx, r Return, p jobcard.Part, why string) error {
	if _, err := tx.Exec(ctx, `update part_return set settled_at = $2, settled_why = $3, version = $4 where id = $1`,
		r.ID, tx.At, why, r.Version+1); err != nil {
		return fmt.Errorf("settle the return: %w", err)
	}
	tx.Record("return settled", int64(r.CardID), r.Name, map[string]any{
		"return": r.ID, "expected": r.Expected, "received": r.Received, "why": why,
	})
	if r.PartID != 0 && r.Received > 0 {
		return jobcard.CreditPart(ctx, tx, p)
	}
	return nil
}
