package bill_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/pg/pgfault"
)

// many are cards ready to be billed.
func (r *rig) many(n int) []jobcard.CardID {
	r.t.Helper()
	var out []jobcard.CardID
	for range n {
		out = append(out, r.finished(fixed("Wipers, replace", 10_00)).ID)
	}
	return out
}

// whole wants every number given out to be on exactly one document.
func (r *rig) whole(bills int64) {
	r.t.Helper()
	all, err := bill.Numbers(r.t.Context(), r.DB.Pool)
	r.OK(err)
	for _, s := range all {
		if !s.Holds() || s.Series == bill.Bills && s.Given != bills {
			r.t.Errorf("%+v, want %d bills", s, bills)
		}
	}
}

func TestFiftyBillsAtOnceAreNumberedWithoutAGap(t *testing.T) {
	r := newRig(t)
	cards := r.many(50)
	var wg sync.WaitGroup
	fails := make([]error, len(cards))
	for i, c := range cards {
		wg.Go(func() { _, fails[i] = r.bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: c}) })
	}
	wg.Wait()
	r.OK(errors.Join(fails...))
	r.whole(50)
	if n := r.count(`select count(distinct number) from bill`); n != 50 {
		t.Errorf("%d numbers", n)
	}
}

func TestACardIsBilledOnceHoweverManyTryAtOnce(t *testing.T) {
	r := newRig(t)
	c := r.many(1)[0]
	var wg sync.WaitGroup
	fails := make([]error, 10)
	for i := range fails {
		wg.Go(func() { _, fails[i] = r.bills.Issue(t.Context(), r.Desk, bill.IssueInput{CardID: c}) })
	}
	wg.Wait()
	refused := 0
	for _, err := range fails {
		if apperr.Is(err, apperr.Conflict) {
			refused++
		} else {
			r.OK(err)
		}
	}
	if refused != 9 {
		t.Errorf("%d refused", refused)
	}
	r.whole(1)
}

func TestAKilledConnectionAndARolledBackBillLeaveNoGap(t *testing.T) {
	r := newRig(t)
	cards := r.many(4)
	r.issue(cards[0])
	// The connection is cut by the server after the number was given out.
	_, err := change.Do(t.Context(), r.DB, r.Desk, "cut", 1, func(ctx context.Context, tx *change.Tx) (bool, error) {
		if _, err := tx.Exec(ctx, `update bill_series set last = last + 1 where name = 'bill'`); err != nil {
			return false, err
		}
		var pid int
		if err := tx.QueryRow(ctx, `select pg_backend_pid()`).Scan(&pid); err != nil {
			return false, err
		}
		_, err := r.DB.Pool.Exec(ctx, `select pg_terminate_backend($1)`, pid)
		return err == nil, err
	})
	if err == nil {
		t.Fatal("a change was made over a connection that was cut")
	}
	r.issue(cards[1])
	// The transaction is rolled back after the bill was written.
	ptx, err := r.DB.Pool.Begin(t.Context())
	r.OK(err)
	_, err = ptx.Exec(t.Context(), `update bill_series set last = last + 1 where name = 'bill'`)
	r.OK(errors.Join(err, ptx.Rollback(t.Context())))
	r.issue(cards[2])
	r.issue(cards[3])
	r.whole(4)
}

func TestTheLineBreakingAnywhereLeavesNoHalfABillAndNoGap(t *testing.T) {
	r := newRig(t)
	cards := map[int]jobcard.CardID{}
	look, err := pgxpool.New(t.Context(), r.URL)
	r.OK(err)
	t.Cleanup(look.Close)
	pgfault.Every(t, r.URL, pgfault.Act{
		Prepare: func(n int) { cards[n] = r.many(1)[0] },
		Do: func(p *pgxpool.Pool, n int) error {
			s := bill.New(&change.DB{Pool: p, Now: r.DB.Now})
			_, err := s.Issue(t.Context(), r.Desk.WithKey(fmt.Sprint("issue-", n)), bill.IssueInput{CardID: cards[n]})
			return err
		},
		Count: func() []int {
			return []int{r.count(`select count(*) from bill`), r.count(`select count(*) from bill_line`), r.count(`select last from bill_series where name = 'bill'`), r.count(`select count(*) from billed`)}
		},
		Want: []int{1, 1, 1, 1},
	})
	r.whole(int64(r.count(`select count(*) from bill`)))
}

func TestWhatWasIssuedCannotBeChangedEvenByHand(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 80_00))
	r.take(bill.TakeInput{CardID: s.ID, Amount: 20_00})
	r.Agree(s.ID)
	r.done(s)
	d := r.issue(s.ID)
	for _, sql := range []string{
		`update bill set gross_minor = 1`, `delete from bill`, `truncate bill cascade`,
		`update bill_line set net_minor = 1`, `delete from bill_line`, `update bill_vat set vat_minor = 0`, `delete from bill_vat`,
		`update payment set amount_minor = 1`, `delete from payment`, `update allocation set amount_minor = 1`, `delete from allocation`,
		`update deposit_vat set vat_minor = 0`, `delete from deposit_vat`,
		`delete from billed`, `update billed set key = 'other'`,
		`update bill_series set last = 0 where name = 'bill'`, `update bill_series set last = last + 2 where name = 'bill'`, `update bill_series set prefix = 'X-' where name = 'bill'`, `delete from bill_series`,
	} {
		if _, err := r.DB.Pool.Exec(t.Context(), sql); pg.Code(err) != "23001" {
			t.Errorf("%s: %v", sql, err)
		}
	}
	// Nor can rows be put in afterwards, whether they add up or not.
	for _, sql := range []string{
		`insert into bill_line select $1, 99, 'line:999', null, null, 'labour', 'More', 'standard', 2000, 1000, 'each', 500, 1000, 500, 500, false, 0`,
		`insert into bill_line select $1, 99, 'line:999', null, null, 'labour', 'Nothing', 'standard', 2000, 1000, 'each', 0, 1000, 0, 0, false, 0`,
		`insert into bill_vat select $1, 'reduced', 500, 0, 0`,
		`insert into bill_adjust select $1, 9, 'Off', false, 0, 0, 0, 'standard', 2000`,
		`insert into bill_line_adjust select $1, 1, 9, 'Off', false, 0, 0, 0`,
	} {
		if _, err := r.DB.Pool.Exec(t.Context(), sql, d.ID); pg.Constraint(err) != "bill_adds_up" {
			t.Errorf("%s: %v", sql, err)
		}
	}
	// And no bill that does not add up.
	for what, change := range map[string]string{
		"net":  `line_net_minor + 1 as line_net_minor, net_minor + 1 as net_minor, vat_minor, gross_minor + 1 as gross_minor`,
		"VAT":  `line_net_minor, net_minor, vat_minor + 1 as vat_minor, gross_minor + 1 as gross_minor`,
		"rows": `line_net_minor, net_minor, vat_minor, gross_minor`,
	} {
		_, err := r.DB.Pool.Exec(t.Context(), `
			with b as (
				insert into bill (kind, series, n, number, form, card_id, customer_id, issued, tax_point, supplied, due, currency, rounding, registered, seller_name, seller_address,
					seller_phone, seller_email, seller_vat, seller_company, seller_country, buyer_name, buyer_address, buyer_vat, buyer_reference, buyer_country, car, words,
					account_name, iban, bic, allowances_minor, charges_minor, lines, line_adjusts, adjusts, vats, issued_name, issued_at, line_net_minor, net_minor, vat_minor, gross_minor)
				select kind, series, 999, 'B-00999', form, card_id, customer_id, issued, tax_point, supplied, due, currency, rounding, registered, seller_name, seller_address,
					seller_phone, seller_email, seller_vat, seller_company, seller_country, buyer_name, buyer_address, buyer_vat, buyer_reference, buyer_country, car, words,
					account_name, iban, bic, allowances_minor, charges_minor, lines, line_adjusts, adjusts, vats, issued_name, issued_at, `+change+` from bill where id = $1 returning id)
			insert into bill_line select b.id, position, key, line_id, part_id, kind, text, vat_code, rate_bp, qty_milli, unit, price_minor, per_milli, list_minor, net_minor, all_in, inside_minor
			from bill_line, b where bill_id = $1`, d.ID)
		if pg.Constraint(err) != "bill_adds_up" {
			t.Errorf("a bill whose %s is off: %v", what, err)
		}
	}
	r.whole(1)
}

func TestANumberThatIsMissingIsReported(t *testing.T) {
	r := newRig(t)
	r.issue(r.many(1)[0])
	_, err := r.DB.Pool.Exec(t.Context(), `update bill_series set last = last + 1 where name = 'bill'`)
	r.OK(err)
	all, err := r.bills.Numbers(t.Context(), r.Desk)
	r.OK(err)
	for _, s := range all {
		if s.Series == bill.Bills && (s.Holds() || len(s.Missing) != 1 || s.Missing[0] != 2) {
			t.Errorf("%+v", s)
		}
	}
}
