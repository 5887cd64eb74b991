package quote

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pricing"
)

// around is what a version takes from the card besides its prices.
type around struct {
	lines map[jobcard.LineID]lineRow
	parts map[jobcard.PartID]partRow
}

type lineRow struct {
	title  string
	must   bool
	likely time.Duration
}

type partRow struct {
	number string
	own    bool
}

// most bounds every list that is read of a card.
const most = 500

// readAround reads whom the version is for, the car, what was found and the
// photos into it, and gives the lines and parts by their identity.
func readAround(ctx context.Context, tx *change.Tx, v *Version) (around, error) {
	a := around{lines: map[jobcard.LineID]lineRow{}, parts: map[jobcard.PartID]partRow{}}
	if _, err := tx.Exec(ctx, `insert into quote (card_id, made_at) values ($1, $2) on conflict on constraint quote_card_once do nothing`,
		v.CardID, tx.At); err != nil {
		return a, fmt.Errorf("number the quote: %w", err)
	}
	var b pgx.Batch
	b.Queue(`select q.number, coalesce(max(v.version_no), 0) + 1 from quote q left join quote_version v on v.card_id = q.card_id
		where q.card_id = $1 group by q.number`, v.CardID).QueryRow(func(r pgx.Row) error { return r.Scan(&v.Number, &v.No) })
	b.Queue(`select u.id, u.name, u.address, u.phone, u.email, v.id, v.mark_shown, coalesce(v.vin, ''), trim(v.make || ' ' || v.model)
		from card c join customer u on u.id = c.customer_id join vehicle v on v.id = c.vehicle_id where c.id = $1`, v.CardID).
		QueryRow(func(r pgx.Row) error {
			u, k := &v.Customer, &v.Car
			return r.Scan(&u.ID, &u.Name, &u.Address, &u.Phone, &u.Email, &k.ID, &k.Mark, &k.VIN, &k.Name)
		})
	b.Queue(`select id, title, must_do, likely_minutes from line where card_id = $1 limit $2`, v.CardID, most).Query(each(func(r pgx.Rows) error {
		var id jobcard.LineID
		var row lineRow
		var minutes int
		err := r.Scan(&id, &row.title, &row.must, &minutes)
		row.likely = time.Duration(minutes) * time.Minute
		a.lines[id] = row
		return err
	}))
	b.Queue(`select id, number, source = 'customer' from part where card_id = $1 limit $2`, v.CardID, most).Query(each(func(r pgx.Rows) error {
		var id jobcard.PartID
		var row partRow
		err := r.Scan(&id, &row.number, &row.own)
		a.parts[id] = row
		return err
	}))
	b.Queue(`select id, coalesce(proposed_line_id, 0), coalesce(line_id, 0), severity, what, measured, limit_value
		from finding where card_id = $1 order by id limit $2`, v.CardID, most).Query(collect(&v.Findings, pgx.RowToStructByPos[Finding]))
	b.Queue(`select id, line_id, caption from photo where card_id = $1 and struck_at is null order by id limit 200`, v.CardID).
		Query(collect(&v.Photos, pgx.RowToStructByPos[Photo]))
	if err := tx.SendBatch(ctx, &b).Close(); err != nil {
		return a, fmt.Errorf("read what is quoted: %w", err)
	}
	return a, nil
}

// insertVersion writes a version and all that belongs to it; after the commit
// the database lets nothing be changed or added.
func insertVersion(ctx context.Context, tx *change.Tx, v *Version) error {
	g, u, k := v.Garage, v.Customer, v.Car
	err := tx.QueryRow(ctx, `
		insert into quote_version (quote_number, card_id, version_no, kind, issued_at, issued_by, valid_until, note,
			garage_name, garage_address, garage_phone, garage_email, vat_number, tax_name, currency, zone,
			customer_id, customer_name, customer_address, customer_phone, customer_email,
			vehicle_id, mark, vin, car, mileage, mileage_unit, customer_words,
			rounding, line_net_minor, allowances_minor, charges_minor, net_minor, vat_minor, gross_minor, whole)
		values ($1, $2, $3, $4, $5, nullif($6::bigint, 0), $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
			$22, $23, $24, $25, $26, $27, $28, $29, $30, $31, $32, $33, $34, $35, $36)
		returning id`,
		v.Number, v.CardID, v.No, v.Kind, v.IssuedAt, tx.Who.StaffID, v.ValidUntil, v.Note,
		g.Name, g.Address, g.Phone, g.Email, g.VATNumber, g.TaxName, g.Currency, g.ZoneName,
		u.ID, u.Name, u.Address, u.Phone, u.Email, k.ID, k.Mark, k.VIN, k.Name, k.Mileage, k.MileageUnit, v.Words,
		v.Rounding, v.LineNet, v.Allowances, v.Charges, v.Totals.Net, v.Totals.VAT, v.Totals.Gross, v.whole).Scan(&v.ID)
	if err != nil {
		return fmt.Errorf("issue the version: %w", err)
	}
	w := writer{id: v.ID, jobs: map[jobcard.LineID]int{}}
	for _, j := range v.Jobs {
		w.job(j)
	}
	if v.Rest.Title != "" {
		w.job(v.Rest)
	}
	for _, c := range v.Adjust {
		w.adjustment(c.Adjusted, nil, &c.VAT)
	}
	for i, r := range v.Totals.ByRate {
		w.b.Queue(`insert into quote_vat (version_id, position, vat_code, vat_bp, net_minor, vat_minor) values ($1, $2, $3, $4, $5, $6)`,
			v.ID, i+1, r.Code, r.Rate, r.Net, r.VAT)
	}
	w.found(v.Findings)
	for _, p := range v.Photos {
		w.b.Queue(`insert into quote_photo (version_id, photo_id, line_id, caption) values ($1, $2, $3, $4)`, v.ID, p.ID, p.LineID, p.Caption)
	}
	if err := tx.SendBatch(ctx, &w.b).Close(); err != nil {
		return fmt.Errorf("issue the version: %w", err)
	}
	return nil
}

// writer queues the rows of one version.
type writer struct {
	b      pgx.Batch
	id     VersionID
	jobs   map[jobcard.LineID]int
	line   int
	adjust int
}

func (w *writer) job(j Job) {
	w.b.Queue(`insert into quote_job (version_id, position, line_id, title, must_do, if_waits, minutes, net_minor, gross_minor)
		values ($1, $2, nullif($3::bigint, 0), $4, $5, $6, $7, $8, $9)`,
		w.id, j.Position, j.LineID, j.Title, j.MustDo, j.IfWaits, int(j.Time/time.Minute), j.Net, j.Gross)
	w.jobs[j.LineID] = j.Position
	for i, l := range j.Lines {
		w.line++
		a := j.About[i]
		var inside *int64
		if l.AllIn {
			n := int64(l.Inside)
			inside = &n
		}
		w.b.Queue(`insert into quote_line (version_id, position, job_position, key, kind, part_id, what, number, qty_milli, unit, price_minor,
				per_milli, customers_own, list_minor, net_minor, vat_code, vat_bp, inside_minor)
			values ($1, $2, $3, $4, $5, nullif($6::bigint, 0), $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18)`,
			w.id, w.line, j.Position, l.Key, l.Kind, a.PartID, l.Text, a.Number, l.Qty, l.Unit, l.Price, l.Per, a.CustomersOwn,
			l.List, l.Net, l.VAT.Code, l.VAT.Rate, inside)
		for _, adj := range l.Adjust {
			w.adjustment(adj, &w.line, nil)
		}
	}
}

// adjustment queues one, on a line or on the whole at a rate.
func (w *writer) adjustment(a pricing.Adjusted, line *int, vat *pricing.VAT) {
	w.adjust++
	var at, code, rate any
	if line != nil {
		at = *line
	}
	if vat != nil {
		code, rate = string(vat.Code), int64(vat.Rate)
	}
	w.b.Queue(`insert into quote_adjustment (version_id, position, line_position, what, up, percent_bp, base_minor, amount_minor, vat_code, vat_bp)
		values ($1, $2, $3::int, $4, $5, $6, $7, $8, $9::text, $10::bigint)`,
		w.id, w.adjust, at, a.Text, a.Up, a.Percent, a.Base, a.Amount, code, rate)
}

func (w *writer) found(findings []Finding) {
	for i, f := range findings {
		var job any
		if n, ok := w.jobs[f.JobLine]; ok && f.JobLine != 0 {
			job = n
		}
		w.b.Queue(`insert into quote_finding (version_id, position, finding_id, job_position, line_id, severity, what, measured, limit_value)
			values ($1, $2, $3, $4::int, nullif($5::bigint, 0), $6, $7, $8, $9)`,
			w.id, i+1, f.ID, job, f.FoundOn, f.Severity, f.What, f.Measured, f.Limit)
	}
}

// each calls f for every row of a batch's query.
func each(f func(pgx.Rows) error) func(pgx.Rows) error {
	return func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			if err := f(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	}
}

// collect reads all rows of a batch's query into dst.
func collect[T any](dst *[]T, scan pgx.RowToFunc[T]) func(pgx.Rows) error {
	return func(rows pgx.Rows) (err error) {
		*dst, err = pgx.CollectRows(rows, scan)
		return err
	}
}
