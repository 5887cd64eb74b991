package garage

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/workday"
)

// CashFromLater puts reading the first day of VAT by cash accounting into a
// batch; into stays zero where VAT is accounted for by invoice. What has a tax
// point before that day was accounted for by invoice, and stays so ("You cannot
// retrospectively apply the cash accounting scheme", VAT Notice 731).
func CashFromLater(b *pgx.Batch, into *workday.Day) {
	b.Queue(`select vat_cash_from from garage where id = 1`).QueryRow(func(row pgx.Row) error {
		var day *time.Time
		if err := row.Scan(&day); err != nil {
			return fmt.Errorf("cash accounting: %w", err)
		}
		if day != nil {
			*into = workday.FromDate(*day)
		}
		return nil
	})
}

// SetCashFrom has VAT accounted for by cash from a day on; the zero day by
// invoice. Errors: Forbidden; Invalid at from for a day out of all reason.
func (s *Service) SetCashFrom(ctx context.Context, who actor.Actor, from workday.Day) (workday.Day, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return workday.Day{}, err
	}
	if y, _, _ := from.Date(); !from.IsZero() && (y < workday.FirstYear || y > workday.LastYear) {
		return workday.Day{}, apperr.Field("from", "%s", workday.ErrYear)
	}
	return change.Do(ctx, s.db, who, "garage.cash_from", from.String(), func(ctx context.Context, tx *change.Tx) (workday.Day, error) {
		var day *time.Time
		if !from.IsZero() {
			day = new(time.Time)
			*day = from.UTC()
		}
		tag, err := tx.Exec(ctx, `update garage set vat_cash_from = $1 where id = 1`, day)
		if err != nil {
			return workday.Day{}, fmt.Errorf("cash accounting: %w", err)
		}
		if tag.RowsAffected() == 0 {
			return workday.Day{}, apperr.New(apperr.NotFound, "the garage is not set up yet")
		}
		tx.Record("garage.cash_from", 0, "garage", map[string]any{"from": from.String()})
		return from, nil
	})
}
