package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// taxDeposit writes what of a deposit is VAT, at the rates of the day it came.
func taxDeposit(ctx context.Context, tx *change.Tx, p Payment) error {
	priced, err := jobcard.LoadPriced(ctx, tx, p.CardID)
	if err != nil {
		return err
	}
	rates, err := garage.VATRates(ctx, tx, p.Day)
	if err != nil {
		return err
	}
	t, _ := depositTotals(priced, rates, p.Amount)
	return writeDepositVAT(ctx, tx, p.ID, 0, 0, p.Day, t.ByRate, 1)
}

// depositTotals says what of a deposit is VAT: by what the card comes to as far
// as it is agreed, or else as it stands. A card without prices says nothing,
// and all of the deposit is at the standard rate; priced is false then.
func depositTotals(card jobcard.Priced, rates map[money.VATCode]money.Rate, amount money.Minor) (t money.Totals, priced bool) {
	for _, keep := range []func(jobcard.Entry) bool{jobcard.Entry.Agreed, nil} {
		sheet := card.Only(keep)
		rated(&sheet, func(c money.VATCode) (money.Rate, bool) { rate, ok := rates[c]; return rate, ok })
		sum, err := pricing.Work(sheet)
		if err != nil {
			continue
		}
		if t, ok := pricing.DepositVAT(amount, sum.Totals); ok {
			return t, true
		}
	}
	rate := rates[money.Standard]
	net, vat := money.SplitGross(amount, rate)
	return money.Totals{ByRate: []money.RateTotal{{Code: money.Standard, Rate: rate, Net: net, VAT: vat}}}, false
}

func depositLeft(ctx context.Context, q pg.Querier, p PaymentID) (t money.Totals, err error) {
	rows, err := q.Query(ctx, `
		select vat_code, rate_bp, sum(net_minor)::bigint, sum(vat_minor)::bigint from deposit_vat where payment_id = $1
		group by vat_code, rate_bp having sum(net_minor + vat_minor) <> 0 order by vat_code, rate_bp limit 100`, p)
	if err != nil {
		return t, fmt.Errorf("VAT left of a deposit: %w", err)
	}
	t.ByRate, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (r money.RateTotal, err error) {
		err = row.Scan(&r.Code, &r.Rate, &r.Net, &r.VAT)
		return r, err
	})
	for _, r := range t.ByRate {
		t.Net, t.VAT = t.Net+r.Net, t.VAT+r.VAT
	}
	t.Gross = t.Net + t.VAT
	return t, err
}

func writeDepositVAT(ctx context.Context, tx *change.Tx, p PaymentID, b ID, undoneBy PaymentID, on workday.Day, rates []money.RateTotal, sign money.Minor) error {
	var batch pgx.Batch
	for _, r := range rates {
		batch.Queue(`
			insert into deposit_vat (payment_id, bill_id, undone_by, day, vat_code, rate_bp, net_minor, vat_minor)
			values ($1, nullif($2::bigint, 0), nullif($3::bigint, 0), $4, $5, $6, $7, $8)`, p, b, undoneBy, on.UTC(), r.Code, r.Rate, sign*r.Net, sign*r.VAT)
	}
	if batch.Len() == 0 {
		return nil
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("VAT of a deposit: %w", err)
	}
	return nil
}
