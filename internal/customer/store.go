package customer

import (
	"context"
	"fmt"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const columns = `id, name, phone, email, address, note, created_at, version`

// Get reads one customer; NotFound when there is no such one. It checks no
// rights: pages go through Service.Get.
func Get(ctx context.Context, q pg.Querier, id ID) (Customer, error) {
	return pg.One[Customer](ctx, q, "customer", `select `+columns+` from customer where id = $1`, id)
}

// Insert writes a new customer as part of a larger change. Errors are those
// of Input.Clean.
func Insert(ctx context.Context, tx *change.Tx, in Input) (ID, error) {
	in, err := in.Clean()
	if err != nil {
		return 0, err
	}
	var id ID
	err = tx.QueryRow(ctx, `
		insert into customer (name, phone, phone_digits, email, address, note, created_at)
		values ($1, $2, $3, $4, $5, $6, $7) returning id`,
		in.Name, in.Phone, Digits(in.Phone), in.Email, in.Address, in.Note, tx.At).Scan(&id)
	if err != nil {
		return 0, pg.Explain(err, "customer", nil)
	}
	tx.Record("customer added", 0, subject(id), map[string]any{"customer": id})
	return id, nil
}

// update writes an edit over the version it was made from.
func update(ctx context.Context, tx *change.Tx, id ID, version int, in Input) error {
	before, err := pg.One[Customer](ctx, tx, "customer", `select `+columns+` from customer where id = $1 for update`, id)
	if err != nil {
		return err
	}
	if before.Version != version {
		return apperr.Stale("customer", before)
	}
	_, err = tx.Exec(ctx, `
		update customer set name = $2, phone = $3, phone_digits = $4, email = $5, address = $6, note = $7, version = version + 1
		where id = $1`,
		id, in.Name, in.Phone, Digits(in.Phone), in.Email, in.Address, in.Note)
	if err != nil {
		return pg.Explain(err, "customer", nil)
	}
	tx.Record("customer changed", 0, subject(id), map[string]any{"customer": id, "fields": changed(before, in)})
	return nil
}

// subject is a customer in the record of events. Names and contents stay out
// of it, since it only grows and a customer may ask to be forgotten.
func subject(id ID) string { return fmt.Sprintf("customer %d", id) }

// changed names the fields that an edit touches.
func changed(before Customer, in Input) []string {
	var out []string
	for _, f := range []struct{ name, was, is string }{
		{"name", before.Name, in.Name}, {"phone", before.Phone, in.Phone}, {"email", before.Email, in.Email},
		{"address", before.Address, in.Address}, {"note", before.Note, in.Note},
	} {
		if f.was != f.is {
			out = append(out, f.name)
		}
	}
	return out
}

// WithPhone lists the customers already on file under a telephone number, in
// any spelling, at most limit; none for an empty number.
func WithPhone(ctx context.Context, q pg.Querier, phone string, limit int) ([]Customer, error) {
	d := digits(phone)
	if len(d) < 6 {
		return nil, nil
	}
	return pg.All[Customer](ctx, q, "customer", `
		select `+columns+` from customer where phone_digits like '%' || $1 || '%' order by id limit $2`, d, limit)
}
