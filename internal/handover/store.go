package handover

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// insert writes a handover with all that belongs to it.
func insert(ctx context.Context, tx *change.Tx, h Handover) (ID, error) {
	err := tx.QueryRow(ctx, `insert into handover (card_id, turn, customer_id, vehicle_id, garage_name, garage_address, garage_phone, garage_email, zone,
			customer_name, mark, vin, car, customer_words, mileage_in, mileage_out, mileage_unit, given_to, keys_note, note, unsettled, anyway_reason,
			handed_at, handed_by, handed_name)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, coalesce($21::text[], '{}'), $22, $23, nullif($24::bigint, 0), $25)
		returning id`,
		h.CardID, h.Turn, h.CustomerID, h.VehicleID, h.GarageName, h.GarageAddress, h.GaragePhone, h.GarageEmail, h.ZoneName,
		h.Customer, h.Mark, h.VIN, h.Car, h.Words, h.MileageIn, h.MileageOut, h.MileageUnit, h.GivenTo, h.Keys, h.Note, h.Unsettled, h.Anyway,
		h.At, h.By, h.ByName).Scan(&h.ID)
	if err != nil {
		return 0, fmt.Errorf("write the handover: %w", err)
	}
	var b pgx.Batch
	for n, i := range h.Items {
		b.Queue(`insert into handover_item (handover_id, position, kind, line_id, finding_id, photo_id, what, why, severity, measured, limit_value,
				checks, parts, due_on, due_at)
			values ($1, $2, $3, nullif($4::bigint, 0), nullif($5::bigint, 0), nullif($6::bigint, 0), $7, $8, nullif($9, ''), $10, $11,
				coalesce($12::text[], '{}'), coalesce($13::text[], '{}'), $14, nullif($15::int, 0))`,
			h.ID, n+1, i.Kind, i.LineID, i.FindingID, i.PhotoID, i.What, i.Why, i.Severity, i.Measured, i.Limit, i.Checks, i.Parts, dayOrNil(i.DueOn), i.DueAt)
	}
	if a := h.Acknowledged; a != nil {
		b.Queue(`insert into acknowledgement (handover_id, words, name, how, signature, at) values ($1, $2, $3, $4, $5, $6)`,
			h.ID, a.Words, a.Name, a.How, a.Signature.String(), a.At)
	}
	if b.Len() > 0 {
		if err := tx.SendBatch(ctx, &b).Close(); err != nil {
			return 0, fmt.Errorf("write what belongs to the handover: %w", err)
		}
	}
	return h.ID, nil
}

func dayOrNil(d workday.Day) *time.Time {
	if d.IsZero() {
		return nil
	}
	t := d.UTC()
	return &t
}

// Intervals lists the operations in use with what is noted for each, by name.
func (s *Service) Intervals(ctx context.Context, who actor.Actor) ([]Interval, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return nil, err
	}
	return pg.All[Interval](ctx, s.db.Pool, "intervals", `
		select o.id as operation_id, o.name, coalesce(d.months, 0) as months, coalesce(d.distance, 0) as distance, coalesce(d.version, 0) as version
		from operation o left join due_interval d on d.operation_id = o.id where o.active order by o.name, o.id limit 500`)
}

// IntervalInput notes an interval, or with neither months nor distance that
// there is none. Version is 0 where none was noted.
type IntervalInput struct {
	OperationID      garage.OperationID
	Version          int
	Months, Distance int
}

// SetInterval notes how long an operation's work lasts. Errors: Invalid at
// months and distance; a stale Conflict with the Interval.
func (s *Service) SetInterval(ctx context.Context, who actor.Actor, in IntervalInput) (Interval, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Interval{}, err
	}
	f := apperr.Fields{}
	if in.Months < 0 || in.Months > 240 {
		f.Add("months", "an interval is 1 to 240 months, or empty")
	}
	if in.Distance != 0 && (in.Distance < 100 || in.Distance > 500_000) {
		f.Add("distance", "an interval is 100 to 500000 miles or km, or empty")
	}
	if err := f.Err(); err != nil {
		return Interval{}, err
	}
	return change.Do(ctx, s.db, who, "set interval", in, func(ctx context.Context, tx *change.Tx) (Interval, error) {
		was := Interval{OperationID: in.OperationID}
		// The operation's row keeps two from noting at once.
		err := tx.QueryRow(ctx, `select o.name, coalesce(d.months, 0), coalesce(d.distance, 0), coalesce(d.version, 0)
			from operation o left join due_interval d on d.operation_id = o.id where o.id = $1 for update of o`, in.OperationID).
			Scan(&was.Name, &was.Months, &was.Distance, &was.Version)
		switch {
		case err != nil:
			return Interval{}, pg.Explain(err, "operation", nil)
		case was.Version != in.Version:
			return Interval{}, apperr.Stale("interval", was)
		}
		now := Interval{was.OperationID, was.Name, in.Months, in.Distance, was.Version + 1}
		if in.Months == 0 && in.Distance == 0 {
			now.Version = 0
			_, err = tx.Exec(ctx, `delete from due_interval where operation_id = $1`, in.OperationID)
		} else {
			_, err = tx.Exec(ctx, `insert into due_interval (operation_id, months, distance, version)
				values ($1, nullif($2::int, 0), nullif($3::int, 0), $4)
				on conflict on constraint due_interval_pk do update set months = excluded.months, distance = excluded.distance, version = excluded.version`,
				in.OperationID, in.Months, in.Distance, now.Version)
		}
		if err != nil {
			return Interval{}, fmt.Errorf("note the interval: %w", err)
		}
		tx.Record("interval noted", 0, was.Name, map[string]any{"operation": in.OperationID, "months": in.Months, "distance": in.Distance})
		return now, nil
	})
}
