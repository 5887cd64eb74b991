package garage

import (
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
)

// What the stores of this package share.

func collect[T any](rows pgx.Rows, thing string, scan func(pgx.Row) (T, error)) ([]T, error) {
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (T, error) { return scan(row) })
	if err != nil {
		return nil, fmt.Errorf("%s: %w", thing, err)
	}
	return out, nil
}

// diff is what an edit changed, for the record: each field that differs with
// what it was and what it is, or, of something new, what it is.
type diff struct {
	isNew  bool
	fields map[string]any
}

// newDiff begins the diff of an edit, or of something new.
func newDiff(isNew bool) diff { return diff{isNew, map[string]any{}} }

func (d diff) add(name string, was, is any) {
	switch {
	case was == is:
	case d.isNew:
		d.fields[name] = is
	default:
		d.fields[name] = map[string]any{"was": was, "is": is}
	}
}

func taken(constraint, message string) map[string]*apperr.Error {
	return map[string]*apperr.Error{constraint: apperr.Field("name", "%s", message)}
}

func verb(noun string, added, retired bool) string {
	switch {
	case added:
		return noun + " added"
	case retired:
		return noun + " retired"
	}
	return noun + " changed"
}
