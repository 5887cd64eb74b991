package handover

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/pg"
	"rampside/internal/signature"
	"rampside/internal/workday"
)

// Plan reads a card as it would be handed over, in two round trips. Errors:
// NotFound, Forbidden.
func (s *Service) Plan(ctx context.Context, who actor.Actor, card jobcard.CardID) (Plan, error) {
	if err := who.Need(actor.HandOver); err != nil {
		return Plan{}, err
	}
	sheet, err := s.cards.Sheet(ctx, who, card)
	if err != nil {
		return Plan{}, err
	}
	f, err := load(ctx, s.db.Pool, card)
	if err != nil {
		return Plan{}, err
	}
	return newPlan(sheet, f, s.db.Now()), nil
}

// planIn is Plan inside a change, of a card that is locked.
func planIn(ctx context.Context, tx *change.Tx, card jobcard.CardID) (Plan, error) {
	sheet, err := jobcard.SheetIn(ctx, tx, card)
	if err != nil {
		return Plan{}, err
	}
	f, err := load(ctx, tx, card)
	if err != nil {
		return Plan{}, err
	}
	return newPlan(sheet, f, tx.At), nil
}

// load reads what a plan needs beside the sheet.
func load(ctx context.Context, q pg.Querier, card jobcard.CardID) (facts, error) {
	f := facts{intervals: map[garage.OperationID]Interval{}, free: map[jobcard.LineID]bool{}}
	var b pgx.Batch
	garage.LoadLater(&b, &f.set)
	b.Queue(`select d.operation_id, o.name, coalesce(d.months, 0), coalesce(d.distance, 0), d.version
		from due_interval d join operation o on o.id = d.operation_id
		where d.operation_id in (select operation_id from line where card_id = $1) limit 500`, card).
		Query(func(rows pgx.Rows) error {
			all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Interval])
			for _, v := range all {
				f.intervals[v.OperationID] = v
			}
			return err
		})
	b.Queue(`select b.id, b.number, s.open_minor from bill b join bill_state s on s.bill_id = b.id
		where b.card_id = $1 order by b.id limit 100`, card).Query(func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			var u unpaid
			if err := rows.Scan(&u.id, &u.number, &u.open); err != nil {
				return err
			}
			if f.billed = true; u.open != 0 {
				f.bills = append(f.bills, u)
			}
		}
		return rows.Err()
	})
	b.Queue(`
		select coalesce((select sum(left_minor) from payment_state where card_id = c.id and left_minor > 0), 0)::bigint,
			coalesce((select sum(left_minor) from payment_state where customer_id = c.customer_id and left_minor > 0), 0)::bigint
			+ coalesce((select -sum(s.open_minor) from bill_state s join bill b on b.id = s.bill_id
				where s.customer_id = c.customer_id and s.open_minor < 0 and b.card_id <> c.id), 0)::bigint
		from card c where c.id = $1`, card).QueryRow(func(row pgx.Row) error { return row.Scan(&f.deposits, &f.kept) })
	b.Queue(`select n.line_id from no_charge n join line l on l.id = n.line_id where l.card_id = $1 limit 500`, card).Query(func(rows pgx.Rows) error {
		all, err := pgx.CollectRows(rows, pgx.RowTo[jobcard.LineID])
		for _, id := range all {
			f.free[id] = true
		}
		return err
	})
	b.Queue(`select id from handover where card_id = $1 order by id desc limit 100`, card).Query(func(rows pgx.Rows) (err error) {
		f.past, err = pgx.CollectRows(rows, pgx.RowTo[ID])
		return err
	})
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return facts{}, fmt.Errorf("what a handover needs: %w", err)
	}
	return f, nil
}

const columns = `h.id, h.card_id, h.turn, h.customer_id, h.vehicle_id, h.garage_name, h.garage_address, h.garage_phone, h.garage_email, h.zone,
	h.customer_name, h.mark, h.vin, h.car, h.customer_words, h.mileage_in, h.mileage_out, h.mileage_unit, h.given_to, h.keys_note, h.note,
	h.unsettled, h.anyway_reason, h.handed_at, coalesce(h.handed_by, 0), h.handed_name`

func scan(row pgx.Row) (h Handover, err error) {
	err = row.Scan(&h.ID, &h.CardID, &h.Turn, &h.CustomerID, &h.VehicleID, &h.GarageName, &h.GarageAddress, &h.GaragePhone, &h.GarageEmail, &h.ZoneName,
		&h.Customer, &h.Mark, &h.VIN, &h.Car, &h.Words, &h.MileageIn, &h.MileageOut, &h.MileageUnit, &h.GivenTo, &h.Keys, &h.Note,
		&h.Unsettled, &h.Anyway, &h.At, &h.By, &h.ByName)
	return h, err
}

func scanItem(row pgx.CollectableRow) (i Item, err error) {
	var on *time.Time
	var file, thumb string
	err = row.Scan(&i.Kind, &i.LineID, &i.FindingID, &i.PhotoID, &i.What, &i.Why, &i.Severity, &i.Measured, &i.Limit, &i.Checks, &i.Parts, &on, &i.DueAt, &file, &thumb)
	if on != nil {
		i.DueOn = workday.FromDate(*on)
	}
	if err != nil || file == "" {
		return i, err
	}
	if i.Blob, err = blob.ParseKey(file); err == nil {
		i.Thumb, err = blob.ParseKey(thumb)
	}
	return i, err
}

// Read reads a handover in one round trip. It asks nobody's right: whoever
// calls it has, or follows a link that was given out. Errors: NotFound.
func Read(ctx context.Context, q pg.Querier, id ID) (Handover, error) {
	var h Handover
	var items []Item
	var ack *Acknowledgement
	var b pgx.Batch
	b.Queue(`select `+columns+` from handover h where h.id = $1`, id).QueryRow(func(row pgx.Row) (err error) {
		h, err = scan(row)
		return pg.Explain(err, "handover", nil)
	})
	b.Queue(`select i.kind, coalesce(i.line_id, 0), coalesce(i.finding_id, 0), coalesce(i.photo_id, 0), i.what, i.why, coalesce(i.severity, ''),
		i.measured, i.limit_value, i.checks, i.parts, i.due_on, coalesce(i.due_at, 0), coalesce(p.blob, ''), coalesce(p.thumb, '')
		from handover_item i left join photo p on p.id = i.photo_id where i.handover_id = $1 order by i.position limit 2000`, id).
		Query(func(rows pgx.Rows) (err error) {
			items, err = pgx.CollectRows(rows, scanItem)
			return err
		})
	b.Queue(`select words, name, how, signature, at from acknowledgement where handover_id = $1`, id).Query(func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			var a Acknowledgement
			var drawn string
			if err := rows.Scan(&a.Words, &a.Name, &a.How, &drawn, &a.At); err != nil {
				return err
			}
			var err error
			if a.Signature, err = signature.Parse(drawn); err != nil {
				return err
			}
			ack = &a
		}
		return rows.Err()
	})
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		if apperr.KindOf(err) == apperr.Internal {
			return Handover{}, fmt.Errorf("read handover %d: %w", id, err)
		}
		return Handover{}, err
	}
	h.Items, h.Acknowledged = items, ack
	return h, nil
}

// Read reads a handover for the garage. Errors: NotFound, Forbidden.
func (s *Service) Read(ctx context.Context, who actor.Actor, id ID) (Handover, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Handover{}, err
	}
	return Read(ctx, s.db.Pool, id)
}

// Latest gives the last handover of a card, 0 while there is none.
func Latest(ctx context.Context, q pg.Querier, card jobcard.CardID) (ID, error) {
	var id ID
	if err := q.QueryRow(ctx, `select coalesce(max(id), 0) from handover where card_id = $1`, card).Scan(&id); err != nil {
		return 0, fmt.Errorf("look for a handover: %w", err)
	}
	return id, nil
}

// OfCard gives the last handover of a card. Errors: NotFound, Forbidden.
func (s *Service) OfCard(ctx context.Context, who actor.Actor, card jobcard.CardID) (Handover, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Handover{}, err
	}
	id, err := Latest(ctx, s.db.Pool, card)
	if err != nil {
		return Handover{}, err
	}
	return Read(ctx, s.db.Pool, id)
}

// Target tells a link of a handover what it leads to: the card it is of and
// who it was for. Errors: NotFound.
func Target(ctx context.Context, q pg.Querier, id int64) (card jobcard.CardID, name string, err error) {
	err = q.QueryRow(ctx, `select card_id, customer_name from handover where id = $1`, id).Scan(&card, &name)
	return card, name, pg.Explain(err, "handover", nil)
}

// ReadBehind reads the handover that a link leads to. Errors: NotFound, also
// for a link to something else.
func (s *Service) ReadBehind(ctx context.Context, l link.Link) (Handover, error) {
	if l.Purpose != link.Handover {
		return Handover{}, apperr.NoSuch("handover")
	}
	return Read(ctx, s.db.Pool, ID(l.Target))
}
