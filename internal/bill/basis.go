package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// basis is all that a bill of a card is made from.
type basis struct {
	card     jobcard.CardID
	stage    jobcard.Stage
	customer customer.Customer
	car      string
	priced   jobcard.Priced
	set      garage.Settings
	terms    Terms
	party    PartyTerms
	// on says which bill each thing of the card stands on already.
	on map[string]billedOn
	// fixedOn names the adjustments by an amount that such a bill holds.
	fixedOn  map[string]bool
	free     map[jobcard.LineID]string
	titles   map[jobcard.LineID]string
	done     map[jobcard.LineID]workday.Day
	deposits []deposit
	methods  []Method
	// rates are all that there were, are and are known to come, the newest of
	// each category first.
	rates []garage.VATRate
}

type billedOn struct {
	ID     ID
	Number string
}

// deposit is money paid on the card that is set against no bill yet.
type deposit struct {
	id     PaymentID
	number string
	day    workday.Day
	left   money.Minor
}

// load reads a card's basis in three round trips.
func load(ctx context.Context, q pg.Querier, id jobcard.CardID) (basis, error) {
	b := basis{
		card: id, on: map[string]billedOn{}, fixedOn: map[string]bool{}, free: map[jobcard.LineID]string{},
		titles: map[jobcard.LineID]string{}, done: map[jobcard.LineID]workday.Day{},
	}
	priced, err := jobcard.LoadPriced(ctx, q, id)
	if err != nil {
		return b, err
	}
	b.priced = priced
	b.party.Country = "GB"
	var batch pgx.Batch
	batch.Queue(`select ` + termsColumns + ` from bill_terms where id = 1`).QueryRow(func(row pgx.Row) (err error) {
		b.terms, err = scanTerms(row)
		return err
	})
	garage.LoadLater(&batch, &b.set)
	batch.Queue(`
		select c.stage, v.mark_shown, trim(v.make || ' ' || v.model), c.mileage, c.mileage_unit, u.id, u.name, u.phone, u.email, u.address
		from card c join vehicle v on v.id = c.vehicle_id join customer u on u.id = c.customer_id where c.id = $1`, id).QueryRow(func(row pgx.Row) error {
		var mark, name, unit string
		var reading *int
		u := &b.customer
		if err := row.Scan(&b.stage, &mark, &name, &reading, &unit, &u.ID, &u.Name, &u.Phone, &u.Email, &u.Address); err != nil {
			return err
		}
		b.car = CarWords(mark, name, reading, unit)
		return nil
	})
	batch.Queue(`select `+partyColumns+` from bill_party where customer_id = (select customer_id from card where id = $1)`, id).Query(func(rows pgx.Rows) error {
		p := &b.party
		for rows.Next() {
			if err := rows.Scan(&p.CustomerID, &p.VATNumber, &p.Reference, &p.Country, &p.EndpointScheme, &p.Endpoint, &p.Version); err != nil {
				return err
			}
		}
		return rows.Err()
	})
	batch.Queue(`select d.key, b.id, b.number from billed d join bill b on b.id = d.bill_id where d.card_id = $1 limit 1000`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var key string
			var on billedOn
			if err := rows.Scan(&key, &on.ID, &on.Number); err != nil {
				return err
			}
			b.on[key] = on
		}
		return rows.Err()
	})
	batch.Queue(`
		select distinct a.text from bill_adjust a join bill b on b.id = a.bill_id
		where b.card_id = $1 and b.kind = 'bill' and a.percent_bp = 0 and exists (select from billed d where d.bill_id = b.id) limit 200`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var text string
			if err := rows.Scan(&text); err != nil {
				return err
			}
			b.fixedOn[text] = true
		}
		return rows.Err()
	})
	batch.Queue(`
		select l.id, l.title, (l.done_at at time zone g.zone)::date, coalesce(n.reason, '')
		from line l cross join garage g left join no_charge n on n.line_id = l.id where l.card_id = $1 limit 200`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var line jobcard.LineID
			var title, reason string
			var done *workday.Day
			if err := rows.Scan(&line, &title, dayOrNil(&done), &reason); err != nil {
				return err
			}
			b.titles[line] = title
			if done != nil {
				b.done[line] = *done
			}
			if reason != "" {
				b.free[line] = reason
			}
		}
		return rows.Err()
	})
	batch.Queue(`
		select p.id, p.number, p.day, s.left_minor from payment p join payment_state s on s.payment_id = p.id
		where p.card_id = $1 and s.left_minor > 0 order by p.id limit 100`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var d deposit
			if err := rows.Scan(&d.id, &d.number, day(&d.day), &d.left); err != nil {
				return err
			}
			b.deposits = append(b.deposits, d)
		}
		return rows.Err()
	})
	queueMethods(&batch, &b.methods)
	garage.VATHistoryLater(&batch, &b.rates)
	if err := q.SendBatch(ctx, &batch).Close(); err != nil {
		return b, pg.Explain(fmt.Errorf("basis of a bill: %w", err), "card", nil)
	}
	return b, nil
}

func queueMethods(batch *pgx.Batch, into *[]Method) {
	batch.Queue(`select name, means from pay_method order by position limit 50`).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var m Method
			if err := rows.Scan(&m.Name, &m.Means); err != nil {
				return err
			}
			*into = append(*into, m)
		}
		return rows.Err()
	})
}
