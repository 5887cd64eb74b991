package garage

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// VATRates gives the rate of each category on a day; a category that had none
// yet is absent. Outside is present at zero.
func VATRates(ctx context.Context, q pg.Querier, day workday.Day) (map[money.VATCode]money.Rate, error) {
	rows, err := q.Query(ctx, `
		select distinct on (code) code, coalesce(rate_bp, 0) from vat_rate
		where from_day <= $1 order by code, from_day desc`, day.UTC())
	if err != nil {
		return nil, fmt.Errorf("VAT rates: %w", err)
	}
	out := map[money.VATCode]money.Rate{}
	var code money.VATCode
	var rate money.Rate
	_, err = pgx.ForEachRow(rows, []any{&code, &rate}, func() error { out[code] = rate; return nil })
	if err != nil {
		return nil, fmt.Errorf("VAT rates: %w", err)
	}
	return out, nil
}

// VATHistory lists every rate there was, is, and is known to come: by category
// as a document lists them, the newest first.
func VATHistory(ctx context.Context, q pg.Querier) ([]VATRate, error) {
	const most = 500
	rows, err := q.Query(ctx, `
		select code, from_day, coalesce(rate_bp, 0) from vat_rate
		order by array_position(array['standard', 'reduced', 'zero', 'outside'], code), from_day desc limit $1`, most)
	if err != nil {
		return nil, fmt.Errorf("VAT rates: %w", err)
	}
	return collect(rows, "VAT rates", scanVATRate)
}

// VATHistoryLater puts reading every rate into a batch.
func VATHistoryLater(b *pgx.Batch, into *[]VATRate) {
	b.Queue(`select code, from_day, coalesce(rate_bp, 0) from vat_rate order by code, from_day desc limit 500`).Query(func(rows pgx.Rows) (err error) {
		*into, err = collect(rows, "VAT rates", scanVATRate)
		return err
	})
}

func scanVATRate(row pgx.Row) (r VATRate, err error) {
	var from time.Time
	err = row.Scan(&r.Code, &from, &r.Rate)
	r.From = workday.FromDate(from)
	return r, err
}

// writeVATRate adds a rate, or replaces one that has not begun.
func writeVATRate(ctx context.Context, tx *change.Tx, in VATRateInput, today workday.Day) (VATRate, error) {
	var rate money.Rate
	err := tx.QueryRow(ctx, `
		insert into vat_rate (code, from_day, rate_bp) values ($1, $2, $3)
		on conflict on constraint vat_rate_pk do update set rate_bp = excluded.rate_bp where vat_rate.from_day > $4
		returning rate_bp`, in.Code, in.From.UTC(), in.Rate, today.UTC()).Scan(&rate)
	if errors.Is(err, pgx.ErrNoRows) {
		return VATRate{}, apperr.Field("from", "a rate that began today stands already: the next one begins tomorrow or later")
	}
	if err != nil {
		return VATRate{}, fmt.Errorf("VAT rate: %w", err)
	}
	tx.Record("VAT rate set", 0, in.Code.Label(), map[string]any{"from": in.From, "rate": in.Rate.String()})
	return VATRate(in), nil
}

// removeVATRate takes back a rate that has not begun.
func removeVATRate(ctx context.Context, tx *change.Tx, code money.VATCode, from, today workday.Day) error {
	var rate money.Rate
	err := tx.QueryRow(ctx, `
		delete from vat_rate where code = $1 and from_day = $2 and from_day > $3 returning coalesce(rate_bp, 0)`,
		code, from.UTC(), today.UTC()).Scan(&rate)
	if errors.Is(err, pgx.ErrNoRows) {
		return apperr.New(apperr.Conflict, "only a rate that has not begun can be taken back")
	}
	if err != nil {
		return fmt.Errorf("VAT rate: %w", err)
	}
	tx.Record("VAT rate taken back", 0, code.Label(), map[string]any{"from": from, "rate": rate.String()})
	return nil
}
