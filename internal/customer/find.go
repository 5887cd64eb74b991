package customer

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"rampside/internal/actor"
	"rampside/internal/pg"
)

// findMax is the most customers that one search gives.
const findMax = 50

// Find finds customers by name or telephone number in any spelling, as you
// type; at most limit, by name. Text of one character finds nothing.
func (s *Service) Find(ctx context.Context, who actor.Actor, text string, limit int) ([]Customer, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	return Find(ctx, s.db.Pool, text, limit)
}

// Find is the search of the Service, without asking for rights.
func Find(ctx context.Context, q pg.Querier, text string, limit int) ([]Customer, error) {
	text = strings.Join(strings.Fields(strings.ReplaceAll(strings.ToValidUTF8(text, " "), "\x00", " ")), " ")
	var args []any
	arg := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args))
	}
	var ways []string
	if where := NameLike(text, "name", arg); where != "" {
		ways = append(ways, "("+where+")")
	}
	if d := SearchDigits(text); len(d) >= 3 && len(d) <= 20 {
		ways = append(ways, `phone_digits like '%' || `+arg(d)+` || '%'`)
	}
	if len(ways) == 0 {
		return nil, nil
	}
	return pg.All[Customer](ctx, q, "find a customer", `select `+columns+` from customer where `+strings.Join(ways, " or ")+`
		order by lower(name), id limit `+arg(max(0, min(limit, findMax))), args...)
}

// NameLike gives the SQL condition that every word of text stands in the
// column somewhere, in any case, and "" when no word is long enough. Words of
// two letters must begin a word, so that an index serves them. arg notes an
// argument and gives its place.
func NameLike(text, column string, arg func(any) string) string {
	const most = 6 // words
	var all []string
	for _, w := range strings.Fields(text) {
		like := `lower(` + column + `) like `
		switch n := utf8.RuneCountInString(w); {
		case len(all) == most || n < 2 || n > NameMax:
		case n == 2:
			a := `lower(` + arg(EscapeLike(w)) + `)`
			all = append(all, `(`+like+a+` || '%' or `+like+`'% ' || `+a+` || '%')`)
		default:
			all = append(all, like+`'%' || lower(`+arg(EscapeLike(w))+`) || '%'`)
		}
	}
	return strings.Join(all, " and ")
}

// EscapeLike takes the meaning out of the signs that like has a meaning for.
func EscapeLike(s string) string {
	return strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(s)
}
