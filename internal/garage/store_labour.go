package garage

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// labourTypesMax, like the other bounds of lists here, is far beyond what one
// garage has.
const labourTypesMax = 200

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

func writeLabourType(ctx context.Context, tx *change.Tx, in LabourTypeInput) (LabourType, error) {
	out := LabourType{ID: in.ID, Name: in.Name, Rate: in.Rate, Active: in.Active}
	var was LabourType
	sql := `insert into labour_type (name, rate_minor) values ($1, $2) returning id, version, active`
	args := []any{in.Name, in.Rate}
	if in.ID != 0 {
		var err error
		was, err = scanLabourType(tx.QueryRow(ctx, `
			select id, name, rate_minor, active, version from labour_type where id = $1 for update`, in.ID))
		if err != nil {
			return out, pg.Explain(err, "labour type", nil)
		}
		if was.Version != in.Version {
			return out, apperr.Stale("labour", was)
		}
		if was.Active && !in.Active {
			if err := unused(ctx, tx, in.ID); err != nil {
				return out, err
			}
		}
		sql = `update labour_type set name = $1, rate_minor = $2, active = $3, version = version + 1
			where id = $4 returning id, version, active`
		args = append(args, in.Active, in.ID)
	}
	err := tx.QueryRow(ctx, sql, args...).Scan(&out.ID, &out.Version, &out.Active)
	if err != nil {
		return out, pg.Explain(err, "labour type", taken("labour_type_name_once", "there is labour of this name already"))
	}
	d := newDiff(in.ID == 0)
	d.add("name", was.Name, out.Name)
	d.add("rate", was.Rate.String(), out.Rate.String())
	d.add("active", was.Active, out.Active)
	tx.Record(verb("labour type", in.ID == 0, was.Active && !out.Active), 0, out.Name, d.fields)
	return out, nil
}

// unused refuses to retire labour that active operations take. The labour's
// row is locked, and writeOperation shares that lock.
func unused(ctx context.Context, tx *change.Tx, id LabourTypeID) error {
	var n int
	var example string
	err := tx.QueryRow(ctx, `
		select count(*), coalesce(min(name), '') from operation where labour_type_id = $1 and active`, id).Scan(&n, &example)
	if err != nil {
		return fmt.Errorf("operations of a labour type: %w", err)
	}
	if n > 0 {
		return apperr.Field("active", "%d operations still take this labour, such as %s: give them another first", n, example)
	}
	return nil
}
