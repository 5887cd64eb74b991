package bill

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

func insertPayment(ctx context.Context, tx *change.Tx, p *Payment) error {
	methods, err := loadMethods(ctx, tx)
	if err != nil {
		return err
	}
	if !methodNamed(methods, p.Method) {
		return apperr.Field("method", "please choose how it was paid")
	}
	text, n, err := number(ctx, tx, Receipts)
	if err != nil {
		return err
	}
	p.Number, p.At, p.TakenBy = text, tx.At, nameOf(tx.Who)
	err = tx.QueryRow(ctx, `
		insert into payment (kind, series, n, number, customer_id, card_id, amount_minor, currency, method, day, reference, why, refunds, reverses, taken_by, taken_name, at)
		values ($1, $2, $3, $4, $5, nullif($6::bigint, 0), $7, $8, $9, $10, $11, $12, nullif($13::bigint, 0), nullif($14::bigint, 0), nullif($15::bigint, 0), $16, $17)
		returning id`,
		p.Kind, Receipts, n, p.Number, p.CustomerID, p.CardID, p.Amount, p.Currency.Code(), p.Method, p.Day.UTC(), p.Reference, p.Why,
		p.Refunds, p.Reverses, tx.Who.StaffID, p.TakenBy, p.At).Scan(&p.ID)
	return pg.Explain(err, "payment", map[string]*apperr.Error{
		"payment_reversed_once": apperr.New(apperr.Conflict, "this entry was undone already"),
	})
}

// tie sets a payment against a bill.
func tie(ctx context.Context, tx *change.Tx, p PaymentID, b ID, m money.Minor, on workday.Day) error {
	if _, err := tx.Exec(ctx, `insert into allocation (payment_id, bill_id, amount_minor, day, at) values ($1, $2, $3, $4, $5)`, p, b, m, on.UTC(), tx.At); err != nil {
		return fmt.Errorf("set a payment against a bill: %w", err)
	}
	return nil
}

// setAgainst is tie for what may be a deposit: its VAT, which was due when it
// came, is taken off again at the bill's tax point.
func setAgainst(ctx context.Context, tx *change.Tx, p PaymentID, b ID, m money.Minor, taxPoint, on workday.Day) error {
	if err := tie(ctx, tx, p, b, m, on); err != nil {
		return err
	}
	return takeOff(ctx, tx, p, b, 0, m, taxPoint)
}

// takeOff takes the VAT of a part of a deposit off again, in the proportion of
// what is left of it; the last part takes all that is left, exactly. A payment
// that was no deposit has none.
func takeOff(ctx context.Context, tx *change.Tx, p PaymentID, b ID, undoneBy PaymentID, m money.Minor, on workday.Day) error {
	left, err := depositLeft(ctx, tx, p)
	if err != nil || len(left.ByRate) == 0 {
		return err
	}
	part := left
	if m < left.Gross {
		var ok bool
		if part, ok = pricing.DepositVAT(m, left); !ok {
			return nil
		}
	}
	return writeDepositVAT(ctx, tx, p, b, undoneBy, on, part.ByRate, -1)
}

// owing reads a customer's bills with something owed, the longest due first.
func owing(ctx context.Context, q pg.Querier, p Payment) (ids map[string]ID, bills []ledger.Bill, err error) {
	rows, err := q.Query(ctx, `
		select b.id, b.number, b.issued, b.due, b.gross_minor, s.paid_minor, s.credited_minor from bill b join bill_state s on s.bill_id = b.id
		where b.customer_id = $1 and s.open_minor > 0 order by b.due, b.id limit $2`, p.CustomerID, maxTied)
	if err != nil {
		return nil, nil, fmt.Errorf("what a customer owes: %w", err)
	}
	defer rows.Close()
	ids = map[string]ID{}
	for rows.Next() {
		var b ledger.Bill
		var id ID
		if err := rows.Scan(&id, &b.Number, day(&b.Issued), day(&b.Due), &b.Gross, &b.Paid, &b.Credited); err != nil {
			return nil, nil, fmt.Errorf("what a customer owes: %w", err)
		}
		ids[b.Number], bills = id, append(bills, b)
	}
	return ids, bills, rows.Err()
}

// spread sets a payment against what its customer owes, the longest due first.
func spread(ctx context.Context, tx *change.Tx, p Payment, on workday.Day) (left money.Minor, err error) {
	ids, bills, err := owing(ctx, tx, p)
	if err != nil {
		return 0, err
	}
	shares, left := ledger.SetAgainst(p.Amount, bills)
	var b pgx.Batch
	for _, share := range shares {
		b.Queue(`insert into allocation (payment_id, bill_id, amount_minor, day, at) values ($1, $2, $3, $4, $5)`, p.ID, ids[share.Number], share.Amount, on.UTC(), tx.At)
	}
	if b.Len() == 0 {
		return left, nil
	}
	if err := tx.SendBatch(ctx, &b).Close(); err != nil {
		return 0, fmt.Errorf("set a payment against bills: %w", err)
	}
	return left, nil
}

// source is money of a customer that a bill could use: left of a payment, or
// paid too much on another bill.
type source struct {
	payment PaymentID
	bill    ID
	left    money.Minor
}

func useCredit(ctx context.Context, tx *change.Tx, d Document, today workday.Day) (used money.Minor, err error) {
	rows, err := tx.Query(ctx, `
		select payment_id, 0::bigint, left_minor from payment_state where customer_id = $1 and left_minor > 0
		union all
		select a.payment_id, s.bill_id, least(sum(a.amount_minor), -s.open_minor)::bigint from bill_state s join allocation a on a.bill_id = s.bill_id
		where s.customer_id = $1 and s.open_minor < 0 and s.bill_id <> $2
			and not exists (select from payment r where r.reverses = a.payment_id or r.id = a.payment_id and r.reverses is not null) group by a.payment_id, s.bill_id, s.open_minor having sum(a.amount_minor) > 0
		order by 2, 1 limit $3`, d.CustomerID, d.ID, maxTied)
	if err != nil {
		return 0, fmt.Errorf("what is kept for a customer: %w", err)
	}
	sources, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (x source, err error) {
		err = row.Scan(&x.payment, &x.bill, &x.left)
		return x, err
	})
	if err != nil {
		return 0, fmt.Errorf("what is kept for a customer: %w", err)
	}
	open, over := d.Open(), map[ID]money.Minor{}
	for _, x := range sources { // a bill overpaid by several payments gives up no more than its excess
		if x.bill != 0 {
			over[x.bill] = max(over[x.bill], x.left)
		}
	}
	if err := excess(ctx, tx, over); err != nil {
		return 0, err
	}
	for _, x := range sources {
		part := min(x.left, open-used)
		if x.bill != 0 {
			part = min(part, over[x.bill])
			over[x.bill] -= max(part, 0)
		}
		if part <= 0 {
			continue
		}
		if x.bill == 0 {
			err = setAgainst(ctx, tx, x.payment, d.ID, part, today, today)
		} else if err = tie(ctx, tx, x.payment, x.bill, -part, today); err == nil {
			err = tie(ctx, tx, x.payment, d.ID, part, today)
		}
		if err != nil {
			return 0, err
		}
		used += part
	}
	return used, nil
}

// excess fills in by how much each of some bills was paid too much.
func excess(ctx context.Context, q pg.Querier, over map[ID]money.Minor) error {
	var ids []ID
	for id := range over {
		ids = append(ids, id)
	}
	rows, err := q.Query(ctx, `select bill_id, -open_minor from bill_state where bill_id = any($1)`, ids)
	if err != nil {
		return fmt.Errorf("what was paid too much: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var id ID
		var m money.Minor
		if err := rows.Scan(&id, &m); err != nil {
			return fmt.Errorf("what was paid too much: %w", err)
		}
		over[id] = m
	}
	return rows.Err()
}

const paymentColumns = `p.id, p.kind, p.number, p.customer_id, u.name, coalesce(p.card_id, 0), p.amount_minor, p.currency, p.method, p.day, p.reference, p.why,
	coalesce(p.refunds, 0), coalesce(p.reverses, 0), coalesce((select r.id from payment r where r.reverses = p.id), 0), p.taken_name, p.at, coalesce(s.left_minor, 0)`

const paymentFrom = ` from payment p join customer u on u.id = p.customer_id left join payment_state s on s.payment_id = p.id `

func scanPayment(row pgx.CollectableRow) (p Payment, err error) {
	var currency string
	err = row.Scan(&p.ID, &p.Kind, &p.Number, &p.CustomerID, &p.CustomerName, &p.CardID, &p.Amount, &currency, &p.Method, day(&p.Day), &p.Reference, &p.Why,
		&p.Refunds, &p.Reverses, &p.ReversedBy, &p.TakenBy, &p.At, &p.Left)
	if err != nil {
		return p, err
	}
	p.Currency, err = money.CurrencyOf(currency)
	return p, err
}

func paymentByID(ctx context.Context, q pg.Querier, id PaymentID) (Payment, error) {
	rows, err := q.Query(ctx, `select `+paymentColumns+paymentFrom+`where p.id = $1`, id)
	if err != nil {
		return Payment{}, fmt.Errorf("payment: %w", err)
	}
	p, err := pgx.CollectExactlyOneRow(rows, scanPayment)
	return p, pg.Explain(err, "payment", nil)
}

// lockPayment takes the customer of a payment for this transaction and reads it.
func lockPayment(ctx context.Context, tx *change.Tx, id PaymentID) (Payment, error) {
	p, err := paymentByID(ctx, tx, id)
	if err != nil {
		return p, err
	}
	if err := lockCustomer(ctx, tx, p.CustomerID); err != nil {
		return p, err
	}
	return paymentByID(ctx, tx, id)
}

// refundsOf gives a Conflict when some of a payment was given back.
func refundsOf(ctx context.Context, q pg.Querier, id PaymentID) error {
	var n string
	err := q.QueryRow(ctx, `
		select coalesce(min(f.number), '') from payment f where f.refunds = $1 and not exists (select from payment r where r.reverses = f.id)`, id).Scan(&n)
	if err != nil {
		return fmt.Errorf("refunds of a payment: %w", err)
	}
	if n != "" {
		return apperr.New(apperr.Conflict, "some of it was given back by %s: undo that first", n)
	}
	return nil
}

// untie turns round all that an entry was set against and what VAT of it is
// left, by its contrary.
func untie(ctx context.Context, tx *change.Tx, of, contrary Payment) error {
	if _, err := tx.Exec(ctx, `
		insert into allocation (payment_id, bill_id, amount_minor, day, at)
		select $2, bill_id, -sum(amount_minor), $3, $4 from allocation where payment_id = $1 group by bill_id having sum(amount_minor) <> 0`,
		of.ID, contrary.ID, contrary.Day.UTC(), tx.At); err != nil {
		return fmt.Errorf("turn round what a payment was set against: %w", err)
	}
	if of.Kind == Refund { // what the refund took off of the deposit's VAT is due again
		if _, err := tx.Exec(ctx, `
			insert into deposit_vat (payment_id, undone_by, day, vat_code, rate_bp, net_minor, vat_minor)
			select payment_id, $2, $3, vat_code, rate_bp, -net_minor, -vat_minor from deposit_vat where undone_by = $1`, of.ID, contrary.ID, contrary.Day.UTC()); err != nil {
			return fmt.Errorf("turn round the VAT of a deposit: %w", err)
		}
		return nil
	}
	left, err := depositLeft(ctx, tx, of.ID)
	if err != nil {
		return err
	}
	return writeDepositVAT(ctx, tx, of.ID, 0, contrary.ID, contrary.Day, left.ByRate, -1)
}

// Payment reads one entry of money whole.
func (s *Service) Payment(ctx context.Context, who actor.Actor, id PaymentID) (Payment, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Payment{}, err
	}
	p, err := paymentByID(ctx, s.db.Pool, id)
	if err != nil {
		return p, err
	}
	var b pgx.Batch
	queueTies(&b, `a.payment_id = $1`, int64(id), &p.Tied)
	b.Queue(`select vat_code, rate_bp, net_minor, vat_minor from deposit_vat where payment_id = $1 and bill_id is null and undone_by is null order by id limit 50`, id).
		Query(func(rows pgx.Rows) error {
			for rows.Next() {
				var t DepositTax
				if err := rows.Scan(&t.Code, &t.Rate, &t.Net, &t.VAT); err != nil {
					return err
				}
				p.Taxes = append(p.Taxes, t)
			}
			return rows.Err()
		})
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return p, fmt.Errorf("payment %d: %w", id, err)
	}
	return p, nil
}

func queueTies(b *pgx.Batch, where string, id int64, into *[]Tie) {
	b.Queue(`
		select a.payment_id, p.number, p.kind, p.method, a.bill_id, d.number, a.amount_minor, a.day
		from allocation a join payment p on p.id = a.payment_id join bill d on d.id = a.bill_id where `+where+` order by a.id limit 200`, id).
		Query(func(rows pgx.Rows) error {
			for rows.Next() {
				var t Tie
				if err := rows.Scan(&t.PaymentID, &t.Payment, &t.Kind, &t.Method, &t.BillID, &t.Bill, &t.Amount, day(&t.Day)); err != nil {
					return err
				}
				*into = append(*into, t)
			}
			return rows.Err()
		})
}

// PaymentFilter narrows a list of payments down.
type PaymentFilter struct {
	Customer int64
	Card     jobcard.CardID
	Before   PaymentID
	// Kept leaves only payments with something set against no bill.
	Kept  bool
	Limit int
}

// Payments lists entries of money, the newest first.
func (s *Service) Payments(ctx context.Context, who actor.Actor, f PaymentFilter) ([]Payment, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	if f.Limit < 1 || f.Limit > maxList {
		f.Limit = listUsual
	}
	rows, err := s.db.Pool.Query(ctx, `select `+paymentColumns+paymentFrom+`
		where ($1 = 0 or p.id < $1) and ($2 = 0 or p.customer_id = $2) and ($3 = 0 or p.card_id = $3) and (not $4 or s.left_minor > 0)
		order by p.id desc limit $5`, f.Before, f.Customer, f.Card, f.Kept, f.Limit)
	if err != nil {
		return nil, fmt.Errorf("payments: %w", err)
	}
	out, err := pgx.CollectRows(rows, scanPayment)
	if err != nil {
		return nil, fmt.Errorf("payments: %w", err)
	}
	return slices.Clip(out), nil
}
