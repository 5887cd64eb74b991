package books

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Service reads the books for those who may see the accounts.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// most is how many rows one reading takes in. A figure of a part of them would
// be wrong, so more is refused.
const most = 20_000

func tooMany(what string) error {
	return apperr.New(apperr.TooLarge, "that is more than %d %s at once; ask for fewer days", most, what)
}

// Frame is what everything read has: whose books, when, and in what money.
type Frame struct {
	Garage garage.Settings
	// CashFrom is the first day of VAT by cash accounting, zero for none; see
	// garage.CashFrom.
	CashFrom workday.Day
	Now      time.Time
	Today    workday.Day
}

// Money writes the garage's amounts.
func (f Frame) Money() money.Currency { return f.Garage.Money() }

// frame reads the settings. Errors: those of who, NotFound before there is a
// garage.
func (s *Service) frame(ctx context.Context, who actor.Actor) (Frame, error) {
	if err := who.Need(actor.SeeAccounts); err != nil {
		return Frame{}, err
	}
	f := Frame{Now: s.db.Now().UTC()}
	var b pgx.Batch
	garage.LoadLater(&b, &f.Garage)
	garage.CashFromLater(&b, &f.CashFrom)
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return f, fmt.Errorf("books: %w", err)
	}
	f.Today = f.Garage.Today(f.Now)
	return f, nil
}

// Doc is a bill or a credit note as the books see it. Amounts of a credit note
// are below nothing.
type Doc struct {
	ID         bill.ID
	Kind       bill.Kind
	Number     string
	CardID     jobcard.CardID
	CustomerID customer.ID
	Name       string // who it was made out to
	Car        string
	// Of is the bill that a credit note corrects.
	Of       bill.ID
	OfNumber string
	Issued   workday.Day
	TaxPoint workday.Day
	Due      workday.Day
	Currency string
	// Registered tells whether it has VAT to account for.
	Registered bool
	Net        money.Minor
	VAT        money.Minor
	Gross      money.Minor
	// Paid and Credited are what was set against a bill down to the day asked
	// for, above nothing; 0 on a credit note.
	Paid, Credited money.Minor
}

// Open is what is owed on a bill on the day asked for.
func (d Doc) Open() money.Minor {
	if d.Kind != bill.Bill {
		return 0
	}
	return d.Gross - d.Paid - d.Credited
}

// Debt is the bill as a debt.
func (d Doc) Debt() ledger.Bill {
	return ledger.Bill{Number: d.Number, Issued: d.Issued, Due: d.Due, Gross: d.Gross, Paid: d.Paid, Credited: d.Credited}
}

// docSelect reads documents with how they stood at the end of day $1.
const docSelect = `
	with credited as (select of_bill, -sum(gross_minor)::bigint as minor from bill where of_bill is not null and issued <= $1 group by of_bill),
		paid as (select bill_id, sum(amount_minor)::bigint as minor from allocation where day <= $1 group by bill_id)
	select b.id, b.kind, b.number, b.card_id, b.customer_id, b.buyer_name, b.car, coalesce(b.of_bill, 0), coalesce(o.number, ''),
		b.issued, b.tax_point, b.due, b.currency, b.registered, b.net_minor, b.vat_minor, b.gross_minor,
		coalesce(p.minor, 0), coalesce(c.minor, 0)
	from bill b left join bill o on o.id = b.of_bill left join credited c on c.of_bill = b.id left join paid p on p.bill_id = b.id`

func scanDoc(row pgx.CollectableRow) (d Doc, err error) {
	var issued, point, due time.Time
	err = row.Scan(&d.ID, &d.Kind, &d.Number, &d.CardID, &d.CustomerID, &d.Name, &d.Car, &d.Of, &d.OfNumber,
		&issued, &point, &due, &d.Currency, &d.Registered, &d.Net, &d.VAT, &d.Gross, &d.Paid, &d.Credited)
	d.Issued, d.TaxPoint, d.Due = workday.FromDate(issued), workday.FromDate(point), workday.FromDate(due)
	return d, err
}

// later queues a list into a batch; more rows than most is an error.
func later[T any](b *pgx.Batch, what string, into *[]T, scan pgx.RowToFunc[T], sql string, args ...any) {
	b.Queue(sql+fmt.Sprintf(" limit %d", most+1), args...).Query(func(rows pgx.Rows) (err error) {
		if *into, err = pgx.CollectRows(rows, scan); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		if len(*into) > most {
			return tooMany(what)
		}
		return nil
	})
}

// send runs a batch in one round trip.
func send(ctx context.Context, q pg.Querier, b *pgx.Batch) error {
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("books: %w", err)
	}
	return nil
}
