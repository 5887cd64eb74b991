package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

const columns = `b.id, b.kind, b.number, b.form, b.card_id, b.customer_id, coalesce(b.of_bill, 0), coalesce(o.number, ''), o.issued, b.why,
	b.issued, b.tax_point, b.supplied, b.due, b.currency, b.rounding, b.registered,
	b.seller_name, b.seller_address, b.seller_phone, b.seller_email, b.seller_vat, b.seller_company, b.seller_country,
	b.buyer_name, b.buyer_address, b.buyer_vat, b.buyer_reference, b.buyer_country, b.car, b.words, b.account_name, b.iban, b.bic,
	b.line_net_minor, b.allowances_minor, b.charges_minor, b.net_minor, b.vat_minor, b.gross_minor, b.deposits_minor, b.issued_name, b.issued_at,
	coalesce(s.credited_minor, 0), coalesce(s.paid_minor, 0)`

const from = ` from bill b left join bill o on o.id = b.of_bill left join bill_state s on s.bill_id = b.id `

func scanDocument(row pgx.Row) (d Document, err error) {
	var currency string
	s := &d.Sum
	var of *workday.Day
	err = row.Scan(&d.ID, &d.Kind, &d.Number, &d.Form, &d.CardID, &d.CustomerID, &d.Of, &d.OfNumber, dayOrNil(&of), &d.Why,
		day(&d.Issued), day(&d.TaxPoint), day(&d.Supplied), day(&d.Due), &currency, &s.Rounding, &d.Registered,
		&d.Seller.Name, &d.Seller.Address, &d.Seller.Phone, &d.Seller.Email, &d.Seller.VATNumber, &d.Seller.Company, &d.Seller.Country,
		&d.Buyer.Name, &d.Buyer.Address, &d.Buyer.VATNumber, &d.Buyer.Reference, &d.Buyer.Country, &d.Car, &d.Words,
		&d.Account.Name, &d.Account.IBAN, &d.Account.BIC,
		&s.LineNet, &s.Allowances, &s.Charges, &s.Totals.Net, &s.Totals.VAT, &s.Totals.Gross, &s.Paid, &d.IssuedBy, &d.IssuedAt, &d.Credited, &d.Paid)
	if err != nil {
		return d, err
	}
	if of != nil {
		d.OfIssued = *of
	}
	s.Due = s.Totals.Gross - s.Paid
	d.Currency, err = money.CurrencyOf(currency)
	return d, err
}

// Read reads a document whole, in two round trips. Error: NotFound.
func Read(ctx context.Context, q pg.Querier, id ID) (Document, error) {
	d, err := scanDocument(q.QueryRow(ctx, `select `+columns+from+`where b.id = $1`, id))
	if err != nil {
		return d, pg.Explain(err, "bill", nil)
	}
	var b pgx.Batch
	b.Queue(`
		select l.key, coalesce(l.line_id, 0), coalesce(l.part_id, 0), l.kind, l.text, l.vat_code, l.rate_bp, l.qty_milli, l.unit, l.price_minor, l.per_milli,
			l.list_minor, l.net_minor, l.all_in, l.inside_minor,
			coalesce(-(select sum(c.qty_milli) from bill n join bill_line c on c.bill_id = n.id where n.of_bill = l.bill_id and c.key = l.key), 0)::bigint
		from bill_line l where l.bill_id = $1 order by l.position limit 1000`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var i Item
			if err := rows.Scan(&i.Key, &i.LineID, &i.PartID, &i.Kind, &i.Text, &i.VAT.Code, &i.VAT.Rate, &i.Qty, &i.Unit, &i.Price, &i.Per,
				&i.List, &i.Net, &i.AllIn, &i.Inside, &i.Credited); err != nil {
				return err
			}
			d.Items = append(d.Items, i)
		}
		return rows.Err()
	})
	b.Queue(`select position, text, up, percent_bp, base_minor, amount_minor from bill_line_adjust where bill_id = $1 order by position, n limit 4000`, id).
		Query(func(rows pgx.Rows) error {
			for rows.Next() {
				var at int
				var a pricing.Adjusted
				if err := rows.Scan(&at, &a.Text, &a.Up, &a.Percent, &a.Base, &a.Amount); err != nil {
					return err
				}
				if at < 1 || at > len(d.Items) {
					return fmt.Errorf("an adjustment of line %d of %d", at, len(d.Items))
				}
				d.Items[at-1].Adjust = append(d.Items[at-1].Adjust, a)
			}
			return rows.Err()
		})
	b.Queue(`select text, up, percent_bp, base_minor, amount_minor, vat_code, rate_bp from bill_adjust where bill_id = $1 order by n limit 1000`, id).
		Query(func(rows pgx.Rows) error {
			for rows.Next() {
				var a pricing.CardAdjusted
				if err := rows.Scan(&a.Text, &a.Up, &a.Percent, &a.Base, &a.Amount, &a.VAT.Code, &a.VAT.Rate); err != nil {
					return err
				}
				d.Sum.Card = append(d.Sum.Card, a)
			}
			return rows.Err()
		})
	b.Queue(`select vat_code, rate_bp, net_minor, vat_minor from bill_vat where bill_id = $1
		order by array_position(array['standard', 'reduced', 'zero', 'exempt', 'outside'], vat_code), rate_bp desc limit 100`, id).
		Query(func(rows pgx.Rows) error {
			for rows.Next() {
				var r money.RateTotal
				if err := rows.Scan(&r.Code, &r.Rate, &r.Net, &r.VAT); err != nil {
					return err
				}
				d.Sum.Totals.ByRate = append(d.Sum.Totals.ByRate, r)
			}
			return rows.Err()
		})
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return d, fmt.Errorf("bill %d: %w", id, err)
	}
	for _, i := range d.Items {
		d.Sum.Lines = append(d.Sum.Lines, i.LineSum)
	}
	return d, nil
}

// Read reads a document for whoever may see customers.
func (s *Service) Read(ctx context.Context, who actor.Actor, id ID) (Document, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Document{}, err
	}
	return Read(ctx, s.db.Pool, id)
}

// Row is one document in a list.
type Row struct {
	ID         ID
	Kind       Kind
	Number     string
	CardID     int64
	CustomerID customer.ID
	Buyer, Car string
	Issued     workday.Day
	Due        workday.Day
	Of         ID
	Currency   money.Currency
	Gross      money.Minor
	Credited   money.Minor
	Paid       money.Minor
	Open       money.Minor
}

// Word is how the document stands, in a word that has a mark.
func (r Row) Word(today workday.Day) string {
	return word(r.Kind, r.Gross, r.Credited, r.Open, r.Due, today)
}

// Filter narrows a list down; its zero value is the latest of all.
type Filter struct {
	// Find is part of a number, a name or a registration mark.
	Find string
	// Unpaid leaves only bills with something owed.
	Unpaid bool
	// Customer and Card narrow to one, when not 0.
	Customer customer.ID
	Card     int64
	// From and To bound the day of issue, both included, when set.
	From, To workday.Day
	// Before is the id that the list goes on from; 0 begins with the newest.
	Before ID
	// Limit is how many at most: 50 when it is not between 1 and 200.
	Limit int
}

const listUsual = 50

// List reads documents, the newest first.
func List(ctx context.Context, q pg.Querier, f Filter) ([]Row, error) {
	if f.Limit < 1 || f.Limit > maxList {
		f.Limit = listUsual
	}
	where, args := ``, []any{f.Limit}
	add := func(sql string, v any) {
		args = append(args, v)
		where += fmt.Sprintf(" and "+sql, len(args))
	}
	if f.Before != 0 {
		add(`b.id < $%d`, f.Before)
	}
	if f.Customer != 0 {
		add(`b.customer_id = $%d`, f.Customer)
	}
	if f.Card != 0 {
		add(`b.card_id = $%d`, f.Card)
	}
	if !f.From.IsZero() {
		add(`b.issued >= $%d`, f.From.UTC())
	}
	if !f.To.IsZero() {
		add(`b.issued <= $%d`, f.To.UTC())
	}
	if f.Find != "" {
		add(`(lower(b.number) like $%[1]d or lower(b.buyer_name) like $%[1]d or lower(b.car) like $%[1]d or replace(lower(b.car), ' ', '') like $%[1]d)`, "%"+likeOf(f.Find)+"%")
	}
	if f.Unpaid {
		where += ` and s.open_minor > 0`
	}
	rows, err := q.Query(ctx, `
		select b.id, b.kind, b.number, b.card_id, b.customer_id, b.buyer_name, b.car, b.issued, b.due, coalesce(b.of_bill, 0), b.currency, b.gross_minor,
			coalesce(s.credited_minor, 0), coalesce(s.paid_minor, 0), coalesce(s.open_minor, 0)
		from bill b left join bill_state s on s.bill_id = b.id
		where true`+where+` order by b.id desc limit $1`, args...)
	if err != nil {
		return nil, fmt.Errorf("list of bills: %w", err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (r Row, err error) {
		var currency string
		if err := row.Scan(&r.ID, &r.Kind, &r.Number, &r.CardID, &r.CustomerID, &r.Buyer, &r.Car, day(&r.Issued), day(&r.Due), &r.Of, &currency, &r.Gross,
			&r.Credited, &r.Paid, &r.Open); err != nil {
			return r, err
		}
		r.Currency, err = money.CurrencyOf(currency)
		return r, err
	})
	if err != nil {
		return nil, fmt.Errorf("list of bills: %w", err)
	}
	return out, nil
}

// List is the function of that name for whoever may see customers.
func (s *Service) List(ctx context.Context, who actor.Actor, f Filter) ([]Row, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	if f.Limit < 0 || len(f.Find) > MaxShort {
		return nil, apperr.Field("find", "at most %d characters, please", MaxShort)
	}
	return List(ctx, s.db.Pool, f)
}
