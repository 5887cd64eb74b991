package books

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Statement is one customer's account over a period, and what is open at its
// end.
type Statement struct {
	Frame
	Customer customer.Customer
	Period   Period
	ledger.Statement
	// Debtor is what is owed at the end of the last day of the period, or today
	// if that comes first.
	Debtor   Debtor
	Bills    map[string]bill.ID        // documents by their numbers
	Payments map[string]bill.PaymentID // and receipts
	// Terms are how a bill may be paid.
	Terms Terms
}

// Terms are how the garage is paid.
type Terms struct{ AccountName, IBAN, BIC string }

// On is the day that open items are shown at.
func (s Statement) On() workday.Day {
	if s.Period.To.After(s.Today) {
		return s.Today
	}
	return s.Period.To
}

// Statement makes a customer's statement. A payment for somebody else's bill
// stands on the account of whose bill it paid. Errors: Forbidden, NotFound;
// Invalid at from and to.
func (s *Service) Statement(ctx context.Context, who actor.Actor, id customer.ID, p Period) (Statement, error) {
	f, err := s.frame(ctx, who)
	if err != nil {
		return Statement{}, err
	}
	if p == (Period{}) {
		p = s.usual(f)
	}
	if err := p.Check(); err != nil {
		return Statement{}, err
	}
	out := Statement{Frame: f, Period: p, Bills: map[string]bill.ID{}, Payments: map[string]bill.PaymentID{}}
	var b pgx.Batch
	var entries []ledger.Entry
	var docs []Doc
	var accounts []account
	b.Queue(`select id, name, phone, email, address from customer where id = $1`, id).QueryRow(func(row pgx.Row) error {
		err := row.Scan(&out.Customer.ID, &out.Customer.Name, &out.Customer.Phone, &out.Customer.Email, &out.Customer.Address)
		if errors.Is(err, pgx.ErrNoRows) {
			return apperr.NoSuch("customer")
		}
		return err
	})
	b.Queue(`select account_name, iban, bic from bill_terms where id = 1`).QueryRow(func(row pgx.Row) error {
		return row.Scan(&out.Terms.AccountName, &out.Terms.IBAN, &out.Terms.BIC)
	})
	entriesLater(&b, id, p.To, &entries, out.Bills, out.Payments)
	openLater(&b, out.On(), id, &docs, &accounts)
	if err := send(ctx, s.db.Pool, &b); err != nil {
		return Statement{}, err
	}
	out.Statement = ledger.State(entries, p.From, p.To)
	out.Debtor = Debtor{CustomerID: id, Name: out.Customer.Name}
	if o := owed(out.On(), docs, accounts); len(o.Debtors) > 0 {
		out.Debtor = o.Debtors[0]
	}
	return out, nil
}

// usual is the period a statement is for when nobody says: the last three
// months down to today.
func (s *Service) usual(f Frame) Period {
	return Period{Month(Month(Month(f.Today).From.AddDays(-1)).From.AddDays(-1)).From, f.Today}
}

// entriesLater queues all entries of a customer's account down to a day.
func entriesLater(b *pgx.Batch, id customer.ID, to workday.Day, entries *[]ledger.Entry, bills map[string]bill.ID, payments map[string]bill.PaymentID) {
	later(b, "entries", entries, func(row pgx.CollectableRow) (ledger.Entry, error) {
		var doc bill.ID
		var payment bill.PaymentID
		var day time.Time
		var amount money.Minor
		var e ledger.Entry
		var kind, text string
		if err := row.Scan(&doc, &payment, &kind, &e.Number, &day, &text, &amount); err != nil {
			return e, err
		}
		e.Day, e.Text = workday.FromDate(day), text
		switch {
		case doc != 0 && kind == string(bill.Bill):
			e.Sort, e.Amount = ledger.Billed, amount
		case doc != 0:
			e.Sort, e.Amount = ledger.Credited, -amount
		case amount > 0:
			e.Sort, e.Amount = ledger.Paid, amount
		default:
			e.Sort, e.Amount = ledger.Refunded, -amount
		}
		if doc != 0 {
			bills[e.Number] = doc
		} else {
			payments[e.Number] = payment
		}
		return e, nil
	}, `
		select * from (
			select b.id, 0::bigint, b.kind, b.number, b.issued as day, case when b.kind = 'bill' then b.car else 'for ' || o.number || ': ' || b.why end, b.gross_minor as minor
			from bill b left join bill o on o.id = b.of_bill where b.customer_id = $1 and b.issued <= $2
			union all
			select 0, p.id, p.kind, p.number, p.day,
				case p.kind when 'payment' then p.method when 'refund' then p.method || ': ' || p.why else 'undone: ' || p.why end,
				p.amount_minor - coalesce((select sum(a.amount_minor) from allocation a join bill b on b.id = a.bill_id
					where a.payment_id = p.id and b.customer_id <> p.customer_id and a.day <= $2), 0)::bigint
			from payment p where p.customer_id = $1 and p.day <= $2
			union all
			select 0, p.id, p.kind, p.number, a.day, p.method || ', paid by ' || u.name, sum(a.amount_minor)::bigint
			from allocation a join bill b on b.id = a.bill_id join payment p on p.id = a.payment_id join customer u on u.id = p.customer_id
			where b.customer_id = $1 and p.customer_id <> $1 and a.day <= $2
			group by p.id, a.day, u.id
		) e where minor <> 0 order by day`, id, to.UTC())
}

// Title is what the statement is called.
func (s Statement) Title() string {
	return fmt.Sprintf("Statement of account, %s to %s", s.Period.From.Long(), s.Period.To.Long())
}
