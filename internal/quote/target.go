package quote

import (
	"context"

	"rampside/internal/jobcard"
	"rampside/internal/pg"
)

// Target tells of a version what a link to it has to know: its card and whom
// it is for.
func Target(ctx context.Context, q pg.Querier, id int64) (jobcard.CardID, string, error) {
	var card jobcard.CardID
	var name string
	err := q.QueryRow(ctx, `select card_id, customer_name from quote_version where id = $1`, id).Scan(&card, &name)
	return card, name, pg.Explain(err, "version of a quote", nil)
}
