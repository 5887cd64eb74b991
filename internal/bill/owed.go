package bill

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Debtor is a customer who owes something, or for whom something is kept.
type Debtor struct {
	CustomerID customer.ID
	Name       string
	Phone      string
	Bills      int
	ledger.Aged
}

// Owed lists who owes what since when, the oldest debt first, at most 200, and
// the day it is reckoned on.
func (s *Service) Owed(ctx context.Context, who actor.Actor) ([]Debtor, garage.Settings, error) {
	if err := who.Need(actor.SeeAccounts); err != nil {
		return nil, garage.Settings{}, err
	}
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return nil, set, err
	}
	out, err := owed(ctx, s.db.Pool, set.Today(s.db.Now()))
	return out, set, err
}

func owed(ctx context.Context, q pg.Querier, today workday.Day) ([]Debtor, error) {
	rows, err := q.Query(ctx, `
		select u.id, u.name, u.phone, b.number, b.issued, b.due, b.gross_minor, s.paid_minor, s.credited_minor, 0::bigint
		from bill_state s join bill b on b.id = s.bill_id join customer u on u.id = b.customer_id where s.open_minor <> 0
		union all
		select u.id, u.name, u.phone, p.number, p.day, p.day, 0, 0, 0, s.left_minor
		from payment_state s join payment p on p.id = s.payment_id join customer u on u.id = s.customer_id where s.left_minor > 0
		order by 6, 4 limit 5000`)
	if err != nil {
		return nil, fmt.Errorf("who owes what: %w", err)
	}
	defer rows.Close()
	type one struct {
		Debtor
		bills []ledger.Bill
		kept  money.Minor
	}
	at, all := map[customer.ID]int{}, []one{}
	for rows.Next() {
		var d Debtor
		var b ledger.Bill
		var kept money.Minor
		if err := rows.Scan(&d.CustomerID, &d.Name, &d.Phone, &b.Number, day(&b.Issued), day(&b.Due), &b.Gross, &b.Paid, &b.Credited, &kept); err != nil {
			return nil, fmt.Errorf("who owes what: %w", err)
		}
		i, ok := at[d.CustomerID]
		if !ok {
			i = len(all)
			at[d.CustomerID], all = i, append(all, one{Debtor: d})
		}
		all[i].kept += kept
		if kept == 0 {
			all[i].bills = append(all[i].bills, b)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("who owes what: %w", err)
	}
	out := make([]Debtor, 0, len(all))
	for _, x := range all {
		x.Aged = ledger.Age(x.bills, x.kept, today)
		for _, b := range x.bills {
			if b.Open() > 0 {
				x.Bills++
			}
		}
		out = append(out, x.Debtor)
	}
	slices.SortStableFunc(out, func(a, b Debtor) int {
		if a.Oldest.IsZero() != b.Oldest.IsZero() {
			if a.Oldest.IsZero() {
				return 1
			}
			return -1
		}
		return a.Oldest.Compare(b.Oldest)
	})
	return out[:min(len(out), maxList)], nil
}

// Whole is a document with all that hangs on it, for its page.
type Whole struct {
	Document
	Garage  garage.Settings
	Ties    []Tie
	Credits []Row
	Methods []Method
	// Kept is what is kept for the customer: left of payments, or paid too much
	// on other bills.
	Kept money.Minor
	// BuyerEmail is where the customer reads their mail now.
	BuyerEmail string
	Today      workday.Day
}

// Whole reads a document with its payments and credit notes.
func (s *Service) Whole(ctx context.Context, who actor.Actor, id ID) (Whole, error) {
	var w Whole
	if err := who.Need(actor.ReadPeople); err != nil {
		return w, err
	}
	d, err := Read(ctx, s.db.Pool, id)
	if err != nil {
		return w, err
	}
	w.Document = d
	var b pgx.Batch
	garage.LoadLater(&b, &w.Garage)
	queueMethods(&b, &w.Methods)
	queueTies(&b, `a.bill_id = $1`, int64(id), &w.Ties)
	b.Queue(`select id, number, issued, gross_minor, why from bill where of_bill = $1 order by id limit 200`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			r := Row{Kind: CreditNote, Of: id, Currency: d.Currency}
			if err := rows.Scan(&r.ID, &r.Number, day(&r.Issued), &r.Gross, &r.Car); err != nil {
				return err
			}
			w.Credits = append(w.Credits, r)
		}
		return rows.Err()
	})
	b.Queue(`
		select u.email, coalesce((select sum(left_minor) from payment_state where customer_id = u.id), 0)::bigint
			+ coalesce((select -sum(open_minor) from bill_state where customer_id = u.id and open_minor < 0 and bill_id <> $2), 0)::bigint
		from customer u where u.id = $1`, d.CustomerID, id).QueryRow(func(row pgx.Row) error { return row.Scan(&w.BuyerEmail, &w.Kept) })
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return w, fmt.Errorf("bill %d: %w", id, err)
	}
	w.Today = w.Garage.Today(s.db.Now())
	return w, nil
}

// Paying is what the form of a deposit on a card needs.
type Paying struct {
	CardID   jobcard.CardID
	Customer string
	Car      string
	Garage   garage.Settings
	Methods  []Method
	Payments []Payment
	Today    workday.Day
	// Unpriced is the rate of VAT that the whole of a deposit has when the card
	// has no prices yet; nil when it has, or without VAT.
	Unpriced *money.Rate
}

// Paying reads it. Error: NotFound.
func (s *Service) Paying(ctx context.Context, who actor.Actor, card jobcard.CardID) (Paying, error) {
	p := Paying{CardID: card}
	if err := who.Need(actor.TakePayment); err != nil {
		return p, err
	}
	b, err := load(ctx, s.db.Pool, card)
	if err != nil {
		return p, err
	}
	p.Customer, p.Car, p.Garage, p.Methods, p.Today = b.customer.Name, b.car, b.set, b.methods, b.set.Today(s.db.Now())
	rates := map[money.VATCode]money.Rate{}
	for _, code := range []money.VATCode{money.Standard, money.Reduced} {
		rates[code], _ = b.rateOn(code, p.Today)
	}
	if _, priced := depositTotals(b.priced, rates, 1_00); !priced && b.set.VATNumber != "" {
		p.Unpriced = new(rates[money.Standard])
	}
	p.Payments, err = s.Payments(ctx, who, PaymentFilter{Card: card, Limit: 50})
	return p, err
}

// Trouble is something wrong with the numbers of a series.
type Trouble struct {
	Series SeriesName
	Given  int64 // the last number given out
	Found  int64 // how many documents there are
	// Missing are numbers that no document has, the first twenty.
	Missing []int64
}

// Holds tells whether every number given out is on exactly one document.
func (t Trouble) Holds() bool { return len(t.Missing) == 0 && t.Given == t.Found }

// Numbers goes through the series and says whether every number is there.
func Numbers(ctx context.Context, q pg.Querier) ([]Trouble, error) {
	rows, err := q.Query(ctx, `
		select s.name, s.last, (select count(*) from bill b where b.series = s.name) + (select count(*) from payment p where p.series = s.name),
			array(select n from generate_series(1, s.last) n
				where not exists (select from bill b where b.series = s.name and b.n = n.n) and not exists (select from payment p where p.series = s.name and p.n = n.n)
				order by n limit 20)
		from bill_series s order by s.name limit 10`)
	if err != nil {
		return nil, fmt.Errorf("go through the numbers: %w", err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (t Trouble, err error) {
		err = row.Scan(&t.Series, &t.Given, &t.Found, &t.Missing)
		return t, err
	})
	if err != nil {
		return nil, fmt.Errorf("go through the numbers: %w", err)
	}
	return out, nil
}

// Numbers is the function of that name for whoever sees the accounts.
func (s *Service) Numbers(ctx context.Context, who actor.Actor) ([]Trouble, error) {
	if err := who.Need(actor.SeeAccounts); err != nil {
		return nil, err
	}
	return Numbers(ctx, s.db.Pool)
}

// Today is the garage's day, for whoever may see customers.
func (s *Service) Today(ctx context.Context, who actor.Actor) (workday.Day, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return workday.Day{}, err
	}
	set, err := garage.Load(ctx, s.db.Pool)
	return set.Today(s.db.Now()), err
}

// Receipt is one entry of money with what its page needs.
type Receipt struct {
	Payment
	Garage  garage.Settings
	Terms   Terms
	Methods []Method
	Now     time.Time
}

// Receipt reads it. Error: NotFound.
func (s *Service) Receipt(ctx context.Context, who actor.Actor, id PaymentID) (Receipt, error) {
	p, err := s.Payment(ctx, who, id)
	if err != nil {
		return Receipt{}, err
	}
	r := Receipt{Payment: p, Now: s.db.Now()}
	var b pgx.Batch
	garage.LoadLater(&b, &r.Garage)
	queueMethods(&b, &r.Methods)
	b.Queue(`select ` + termsColumns + ` from bill_terms where id = 1`).QueryRow(func(row pgx.Row) (err error) {
		r.Terms, err = scanTerms(row)
		return err
	})
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return r, fmt.Errorf("receipt %d: %w", id, err)
	}
	return r, nil
}
