package garage

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const suppliersMax = 1000

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

func writeSupplier(ctx context.Context, tx *change.Tx, in SupplierInput) (Supplier, error) {
	out := Supplier{ID: in.ID, Name: in.Name, Phone: in.Phone, Email: in.Email, Active: in.Active}
	var was Supplier
	sql := `insert into supplier (name, phone, email) values ($1, $2, $3) returning id, version, active`
	args := []any{in.Name, in.Phone, in.Email}
	if in.ID != 0 {
		var err error
		was, err = scanSupplier(tx.QueryRow(ctx, `
			select id, name, phone, email, active, version from supplier where id = $1 for update`, in.ID))
		if err != nil {
			return out, pg.Explain(err, "supplier", nil)
		}
		if was.Version != in.Version {
			return out, apperr.Stale("supplier", was)
		}
		sql = `update supplier set name = $1, phone = $2, email = $3, active = $4, version = version + 1
			where id = $5 returning id, version, active`
		args = append(args, in.Active, in.ID)
	}
	err := tx.QueryRow(ctx, sql, args...).Scan(&out.ID, &out.Version, &out.Active)
	if err != nil {
		return out, pg.Explain(err, "supplier", taken("supplier_name_once", "there is a supplier of this name already"))
	}
	d := newDiff(in.ID == 0)
	d.add("name", was.Name, out.Name)
	d.add("phone", was.Phone, out.Phone)
	d.add("email", was.Email, out.Email)
	d.add("active", was.Active, out.Active)
	tx.Record(verb("supplier", in.ID == 0, was.Active && !out.Active), 0, out.Name, d.fields)
	return out, nil
}
