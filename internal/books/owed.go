package books

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

// Debtor is what one customer owes on a day, with the bills behind it. A
// customer who is owed has a Total below nothing.
type Debtor struct {
	CustomerID customer.ID
	Name       string
	Aged       ledger.Aged
	Bills      []Doc // those that are open
	// OnAccount is money received and set against no bill.
	OnAccount money.Minor
}

// Owed is what all customers owe on a day.
type Owed struct {
	On      workday.Day
	Debtors []Debtor // those who owe longest first
	Total   ledger.Aged
}

// account is a customer's money that is set against no bill.
type account struct {
	id     customer.ID
	name   string
	amount money.Minor
}

// openLater queues the bills that were open at the end of a day, and what
// customers had paid that was set against none. A payment that was entered for
// a day before its bill was issued is on account until then.
func openLater(b *pgx.Batch, on workday.Day, only customer.ID, docs *[]Doc, accounts *[]account) {
	later(b, "bills", docs, scanDoc, docSelect+`
		where b.kind = 'bill' and b.issued <= $1 and ($2 = 0 or b.customer_id = $2)
			and b.gross_minor - coalesce(c.minor, 0) - coalesce(p.minor, 0) <> 0
		order by b.due, b.issued, b.id`, on.UTC(), only)
	later(b, "customers", accounts, func(row pgx.CollectableRow) (a account, err error) {
		err = row.Scan(&a.id, &a.name, &a.amount)
		return a, err
	}, `
		select u.id, u.name, m.minor from (
			select customer_id, sum(minor)::bigint as minor from (
				select customer_id, amount_minor as minor from payment where day <= $1 and ($2 = 0 or customer_id = $2)
				union all select p.customer_id, -a.amount_minor from allocation a join payment p on p.id = a.payment_id join bill b on b.id = a.bill_id
					where a.day <= $1 and b.issued <= $1 and ($2 = 0 or p.customer_id = $2)
			) x group by customer_id having sum(minor) <> 0
		) m join customer u on u.id = m.customer_id order by u.id`, on.UTC(), only)
}

// owed sorts open bills and money on account by customer and age.
func owed(on workday.Day, docs []Doc, accounts []account) Owed {
	out := Owed{On: on}
	at := map[customer.ID]int{}
	of := func(id customer.ID, name string) *Debtor {
		i, known := at[id]
		if !known {
			i = len(out.Debtors)
			at[id] = i
			out.Debtors = append(out.Debtors, Debtor{CustomerID: id, Name: name})
		}
		return &out.Debtors[i]
	}
	var all []ledger.Bill
	var whole money.Minor
	for _, d := range docs {
		x := of(d.CustomerID, d.Name)
		x.Bills = append(x.Bills, d)
		all = append(all, d.Debt())
	}
	for _, a := range accounts {
		x := of(a.id, a.name)
		x.OnAccount, x.Name = a.amount, a.name
		whole += a.amount
	}
	for i := range out.Debtors {
		x := &out.Debtors[i]
		debts := make([]ledger.Bill, len(x.Bills))
		for j, d := range x.Bills {
			debts[j] = d.Debt()
		}
		x.Aged = ledger.Age(debts, x.OnAccount, on)
	}
	out.Total = ledger.Age(all, whole, on)
	slices.SortStableFunc(out.Debtors, func(a, b Debtor) int {
		if a.Aged.Oldest.IsZero() != b.Aged.Oldest.IsZero() {
			if a.Aged.Oldest.IsZero() {
				return 1
			}
			return -1
		}
		return cmp.Or(a.Aged.Oldest.Compare(b.Aged.Oldest), cmp.Compare(a.Name, b.Name), cmp.Compare(a.CustomerID, b.CustomerID))
	})
	return out
}

// readOwed reads what is owed at the end of a day.
func readOwed(ctx context.Context, q pg.Querier, on workday.Day) (Owed, error) {
	var b pgx.Batch
	var docs []Doc
	var accounts []account
	openLater(&b, on, 0, &docs, &accounts)
	if err := send(ctx, q, &b); err != nil {
		return Owed{}, err
	}
	return owed(on, docs, accounts), nil
}

// QuoteOut is a quote that was issued and that nobody has answered whole.
type QuoteOut struct {
	VersionID  quote.VersionID
	Name       string // "2001/2"
	CardID     jobcard.CardID
	CustomerID customer.ID
	Customer   string
	Mark       string
	IssuedAt   time.Time
	ValidUntil time.Time
	Sent       *time.Time // when it last went out, nil for never
	Gross      money.Minor
	// Lines is how many lines wait for an answer, Waiting what they come to with
	// VAT.
	Lines   int
	Waiting money.Minor
}

func quotesLater(b *pgx.Batch, into *[]QuoteOut) {
	later(b, "quotes", into, func(row pgx.CollectableRow) (q QuoteOut, err error) {
		err = row.Scan(&q.VersionID, &q.Name, &q.CardID, &q.CustomerID, &q.Customer, &q.Mark, &q.IssuedAt, &q.ValidUntil, &q.Sent, &q.Gross, &q.Lines, &q.Waiting)
		return q, err
	}, `
		select v.id, v.quote_number || '/' || v.version_no, v.card_id, v.customer_id, v.customer_name, v.mark, v.issued_at, v.valid_until,
			(select max(s.at) from quote_sending s where s.version_id = v.id), v.gross_minor, w.n, w.gross
		from quote_version v join card c on c.id = v.card_id
		cross join lateral (select count(*)::int as n, coalesce(sum(j.gross_minor), 0)::bigint as gross
			from quote_job j join line l on l.id = j.line_id
			where j.version_id = v.id and l.consent = 'asked' and l.struck_at is null) w
		where c.stage in ('booked', 'on site', 'in work', 'ready') and w.n > 0
			and not exists (select from quote_version x where x.card_id = v.card_id and x.version_no > v.version_no)
			and not exists (select from quote_withdrawal x where x.version_id = v.id)
		order by v.issued_at, v.id`)
}

// Overview is how the money stands.
type Overview struct {
	Frame
	// Day is the day whose takings are shown.
	Day    workday.Day
	Quotes []QuoteOut
	Owed   Owed
	Taken  []Taken
	// Recent are the documents of the last days, the newest first.
	Recent []Doc
}

// recentDays is how far back the overview lists what was issued.
const recentDays = 7

// Overview reads how the money stands today, with the takings of a day: today
// when it is zero. Errors: Forbidden; Invalid at day.
func (s *Service) Overview(ctx context.Context, who actor.Actor, day workday.Day) (Overview, error) {
	f, err := s.frame(ctx, who)
	if err != nil {
		return Overview{}, err
	}
	o := Overview{Frame: f, Day: day}
	if day.IsZero() {
		o.Day = f.Today
	}
	if err := (Period{o.Day, o.Day}).checkAs("day", "day"); err != nil {
		return Overview{}, err
	}
	var b pgx.Batch
	var docs []Doc
	var accounts []account
	var methods []string
	var payments []Payment
	quotesLater(&b, &o.Quotes)
	openLater(&b, f.Today, 0, &docs, &accounts)
	later(&b, "ways to pay", &methods, pgx.RowTo[string], `select name from pay_method order by position, name`)
	later(&b, "payments", &payments, scanPayment, paymentSelect+` where p.day = $2 order by p.id`, o.Day.UTC(), o.Day.UTC())
	later(&b, "documents", &o.Recent, scanDoc, docSelect+` where b.issued > $2 order by b.id desc`, f.Today.UTC(), f.Today.AddDays(-recentDays).UTC())
	if err := send(ctx, s.db.Pool, &b); err != nil {
		return Overview{}, err
	}
	o.Owed, o.Taken = owed(f.Today, docs, accounts), takenByMethod(methods, payments)
	return o, nil
}

// Owed reads what every customer owed at the end of a day, today when it is
// zero. Errors: Forbidden; Invalid at on.
func (s *Service) Owed(ctx context.Context, who actor.Actor, on workday.Day) (Owed, error) {
	f, err := s.frame(ctx, who)
	if err != nil {
		return Owed{}, err
	}
	if on.IsZero() {
		on = f.Today
	}
	if err := (Period{on, on}).checkAs("on", "on"); err != nil {
		return Owed{}, err
	}
	return readOwed(ctx, s.db.Pool, on)
}
