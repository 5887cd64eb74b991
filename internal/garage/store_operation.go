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
	"rampside/internal/change"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/pg"
)

const operationsMax = 2000

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
		where o.name ilike all ($1::text[]) order by o.active desc, o.name limit $2`, patterns(text), operationsMax)
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
		where o.active and o.name ilike all ($1::text[])
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

func writeOperation(ctx context.Context, tx *change.Tx, in OperationInput) (Operation, error) {
	labour, err := scanLabourType(tx.QueryRow(ctx, `
		select id, name, rate_minor, active, version from labour_type where id = $1 for share`, in.LabourTypeID))
	if errors.Is(err, pgx.ErrNoRows) || err == nil && !labour.Active && in.Active {
		return Operation{}, apperr.Field("labour_type", "please choose labour from the list")
	}
	if err != nil {
		return Operation{}, fmt.Errorf("labour of an operation: %w", err)
	}
	var was Operation
	if in.ID != 0 {
		was, err = scanOperation(tx.QueryRow(ctx, operationSelect+`where o.id = $1 for update of o`, in.ID))
		if err != nil {
			return Operation{}, pg.Explain(err, "operation", nil)
		}
		if was.Version != in.Version {
			return Operation{}, apperr.Stale("operation", was)
		}
	}
	out := Operation{
		ID: in.ID, Name: in.Name, LabourTypeID: in.LabourTypeID, LabourName: labour.Name, Rate: labour.Rate,
		Low: in.Low, Likely: in.Likely, High: in.High, FixedPrice: in.FixedPrice, VATCode: in.VATCode,
		Cautions: in.Cautions, Safety: in.Safety, WheelsOff: in.WheelsOff, Inspects: in.Inspects, Active: in.Active || in.ID == 0,
	}
	sql := `
		insert into operation (name, labour_type_id, low_minutes, likely_minutes, high_minutes, fixed_price_minor, vat_code,
			cautions, safety, wheels_off, inspects, active)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) returning id, version`
	keys := out.Cautions
	if keys == nil {
		keys = []caution.Key{}
	}
	args := []any{out.Name, out.LabourTypeID, wholeMinutes(out.Low), wholeMinutes(out.Likely), wholeMinutes(out.High),
		out.FixedPrice, out.VATCode, keys, out.Safety, out.WheelsOff, out.Inspects, out.Active}
	if in.ID != 0 {
		sql = `
		update operation set name = $1, labour_type_id = $2, low_minutes = $3, likely_minutes = $4, high_minutes = $5,
			fixed_price_minor = $6, vat_code = $7, cautions = $8, safety = $9, wheels_off = $10, inspects = $11, active = $12,
			version = version + 1
		where id = $13 returning id, version`
		args = append(args, in.ID)
	}
	if err := tx.QueryRow(ctx, sql, args...).Scan(&out.ID, &out.Version); err != nil {
		return Operation{}, pg.Explain(err, "operation", taken("operation_name_once", "there is an operation of this name already"))
	}
	tx.Record(verb("operation", in.ID == 0, was.Active && !out.Active), 0, out.Name, operationChanged(was, out))
	return out, nil
}

func wholeMinutes(d time.Duration) int { return int(d / time.Minute) }

func operationChanged(was, is Operation) map[string]any {
	d := newDiff(was.ID == 0)
	d.add("name", was.Name, is.Name)
	d.add("labour", was.LabourName, is.LabourName)
	d.add("hours", hoursOf(was), hoursOf(is))
	d.add("fixed price", priceOf(was), priceOf(is))
	d.add("VAT", was.VATCode, is.VATCode)
	d.add("cautions", cautionWords(was.Cautions), cautionWords(is.Cautions))
	d.add("second check", was.Safety, is.Safety)
	d.add("wheels off", was.WheelsOff, is.WheelsOff)
	d.add("inspects", was.Inspects, is.Inspects)
	d.add("active", was.Active, is.Active)
	return d.fields
}

func cautionWords(keys []caution.Key) string {
	words := make([]string, len(keys))
	for i, k := range keys {
		words[i] = string(k)
	}
	return strings.Join(words, ", ")
}

func hoursOf(o Operation) string {
	return hours.FormatBare(o.Low) + " / " + hours.FormatBare(o.Likely) + " / " + hours.FormatBare(o.High)
}

func priceOf(o Operation) string {
	if o.FixedPrice == nil {
		return "by the hour"
	}
	return money.Format(*o.FixedPrice)
}
