package garage

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// Bounds of the lists: far beyond what one garage has.
const (
	labourTypesMax = 200
	operationsMax  = 2000
	suppliersMax   = 1000
)

const settingsColumns = `name, address, phone, email, vat_number, zone, currency,
	(extract(epoch from opens) / 60)::int, (extract(epoch from closes) / 60)::int, work_days,
	standard_cost_rate_minor, default_markup_bp, vat_rounding, version`

// Load reads the settings; NotFound while the garage is not set up.
func Load(ctx context.Context, q pg.Querier) (Settings, error) {
	return scanSettings(q.QueryRow(ctx, `select `+settingsColumns+` from garage where id = 1`))
}

// LoadLater puts reading the settings into a batch; into is filled when the
// batch has run, which gives Load's errors.
func LoadLater(b *pgx.Batch, into *Settings) {
	b.Queue(`select ` + settingsColumns + ` from garage where id = 1`).QueryRow(func(row pgx.Row) (err error) {
		*into, err = scanSettings(row)
		return err
	})
}

func scanSettings(row pgx.Row) (Settings, error) {
	var s Settings
	var days []int16
	err := row.Scan(&s.Name, &s.Address, &s.Phone, &s.Email, &s.VATNumber, &s.ZoneName, &s.Currency,
		&s.Opens, &s.Closes, &days, &s.StandardCostRate, &s.DefaultMarkupBP, &s.VATRounding, &s.Version)
	if errors.Is(err, pgx.ErrNoRows) {
		return s, apperr.New(apperr.NotFound, "the garage is not set up yet")
	}
	if err != nil {
		return s, fmt.Errorf("garage: %w", err)
	}
	for _, d := range days {
		s.WorkDays = append(s.WorkDays, fromISO(d))
	}
	if _, err := zone(s.ZoneName); err != nil {
		return s, fmt.Errorf("garage: zone %q: %w", s.ZoneName, err)
	}
	return s, nil
}

// LabourTypes lists the types of labour by name, retired ones last.
func LabourTypes(ctx context.Context, q pg.Querier) ([]LabourType, error) {
	rows, err := q.Query(ctx, `
		select id, name, rate_minor, active, version from labour_type
		order by active desc, name limit $1`, labourTypesMax)
	if err != nil {
		return nil, fmt.Errorf("labour types: %w", err)
	}
	return collect(rows, "labour types", scanLabourType)
}

// LabourTypeByID reads one type of labour, active or not.
func LabourTypeByID(ctx context.Context, q pg.Querier, id LabourTypeID) (LabourType, error) {
	t, err := scanLabourType(q.QueryRow(ctx, `
		select id, name, rate_minor, active, version from labour_type where id = $1`, id))
	return t, pg.Explain(err, "labour type", nil)
}

func scanLabourType(row pgx.Row) (t LabourType, err error) {
	err = row.Scan(&t.ID, &t.Name, &t.Rate, &t.Active, &t.Version)
	return t, err
}

const operationSelect = `
	select o.id, o.name, o.labour_type_id, l.name, l.rate_minor, o.low_minutes, o.likely_minutes, o.high_minutes,
		o.fixed_price_minor, o.vat_code, o.cautions, o.safety, o.wheels_off, o.inspects, o.active, o.version
	from operation o join labour_type l on l.id = o.labour_type_id `

// OperationByID reads one operation, active or not.
func OperationByID(ctx context.Context, q pg.Querier, id OperationID) (Operation, error) {
	o, err := scanOperation(q.QueryRow(ctx, operationSelect+`where o.id = $1`, id))
	return o, pg.Explain(err, "operation", nil)
}

// Operations lists the garage's operations by name, retired ones last; text
// narrows it as in SearchOperations.
func Operations(ctx context.Context, q pg.Querier, text string) ([]Operation, error) {
	rows, err := q.Query(ctx, operationSelect+`
		where o.name ilike all ($1) order by o.active desc, o.name limit $2`, patterns(text), operationsMax)
	if err != nil {
		return nil, fmt.Errorf("operations: %w", err)
	}
	return collect(rows, "operations", scanOperation)
}

// SearchOperations finds the active operations whose names hold every word of
// text, anywhere and in any case, at most limit. Those that begin with the
// text come first. No text finds all.
func SearchOperations(ctx context.Context, q pg.Querier, text string, limit int) ([]Operation, error) {
	words := patterns(text)
	start := "%"
	if len(words) > 0 {
		start = words[0][1:]
	}
	rows, err := q.Query(ctx, operationSelect+`
		where o.active and o.name ilike all ($1)
		order by o.name ilike $2 desc, o.name limit $3`, words, start, max(0, min(limit, operationsMax)))
	if err != nil {
		return nil, fmt.Errorf("operations: %w", err)
	}
	return collect(rows, "operations", scanOperation)
}

// patterns makes one pattern of each word typed, at most eight; what no name
// can hold is left out.
func patterns(text string) []string {
	const most = 8
	text = strings.ReplaceAll(strings.ToValidUTF8(text, ""), "\x00", "")
	escape := strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)
	out := []string{}
	for _, w := range strings.Fields(text) {
		if len(out) < most && len(w) <= nameMax*4 {
			out = append(out, "%"+escape.Replace(w)+"%")
		}
	}
	return out
}

func scanOperation(row pgx.Row) (o Operation, err error) {
	var low, likely, high int64
	var cautions []string
	err = row.Scan(&o.ID, &o.Name, &o.LabourTypeID, &o.LabourName, &o.Rate, &low, &likely, &high,
		&o.FixedPrice, &o.VATCode, &cautions, &o.Safety, &o.WheelsOff, &o.Inspects, &o.Active, &o.Version)
	o.Low, o.Likely, o.High = minutes(low), minutes(likely), minutes(high)
	for _, c := range cautions {
		o.Cautions = append(o.Cautions, caution.Key(c))
	}
	return o, err
}

func minutes(n int64) time.Duration { return time.Duration(n) * time.Minute }

// Suppliers lists the suppliers by name, retired ones last.
func Suppliers(ctx context.Context, q pg.Querier) ([]Supplier, error) {
	rows, err := q.Query(ctx, `
		select id, name, phone, email, active, version from supplier
		order by active desc, name limit $1`, suppliersMax)
	if err != nil {
		return nil, fmt.Errorf("suppliers: %w", err)
	}
	return collect(rows, "suppliers", scanSupplier)
}

// SupplierByID reads one supplier, active or not.
func SupplierByID(ctx context.Context, q pg.Querier, id SupplierID) (Supplier, error) {
	s, err := scanSupplier(q.QueryRow(ctx, `
		select id, name, phone, email, active, version from supplier where id = $1`, id))
	return s, pg.Explain(err, "supplier", nil)
}

func scanSupplier(row pgx.Row) (s Supplier, err error) {
	err = row.Scan(&s.ID, &s.Name, &s.Phone, &s.Email, &s.Active, &s.Version)
	return s, err
}

// VATRates gives the rate of each category on a day; a category that had none
// yet is absent. Outside is present at zero.
func VATRates(ctx context.Context, q pg.Querier, day workday.Day) (map[money.VATCode]money.Rate, error) {
	rows, err := q.Query(ctx, `
		select distinct on (code) code, coalesce(rate_bp, 0) from vat_rate
		where from_day <= $1 order by code, from_day desc`, day.UTC())
	if err != nil {
		return nil, fmt.Errorf("VAT rates: %w", err)
	}
	out := map[money.VATCode]money.Rate{}
	var code money.VATCode
	var rate money.Rate
	_, err = pgx.ForEachRow(rows, []any{&code, &rate}, func() error { out[code] = rate; return nil })
	if err != nil {
		return nil, fmt.Errorf("VAT rates: %w", err)
	}
	return out, nil
}

func collect[T any](rows pgx.Rows, thing string, scan func(pgx.Row) (T, error)) ([]T, error) {
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (T, error) { return scan(row) })
	if err != nil {
		return nil, fmt.Errorf("%s: %w", thing, err)
	}
	return out, nil
}
