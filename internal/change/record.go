package change

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/pg"
)

// Event is one entry of the record: who did what, when, from where.
type Event struct {
	ID int64
	At time.Time
	// StaffID is 0 for the server's own console.
	StaffID   actor.StaffID
	StaffName string
	Via       actor.Via
	Device    string
	RequestID string
	Kind      string
	// CardID is 0 for what belongs to no card.
	CardID  int64
	Subject string
	// Detail is a JSON object.
	Detail json.RawMessage
}

// Filter narrows the record down; its zero value is all of it.
type Filter struct {
	// Before is the id that the events come before; 0 begins with the newest.
	Before  int64
	CardID  int64
	StaffID actor.StaffID
	// From and To bound the time, [From, To), when both are set.
	From, To time.Time
	// Limit is how many at most: 100 when it is not between 1 and 1000.
	Limit int
}

const (
	eventsUsual = 100
	eventsMost  = 1000
)

// Events reads the record, newest first.
func Events(ctx context.Context, q pg.Querier, f Filter) ([]Event, error) {
	if f.Limit < 1 || f.Limit > eventsMost {
		f.Limit = eventsUsual
	}
	from := `event`
	args := []any{f.Before, f.CardID, f.StaffID, f.Limit}
	if !f.From.IsZero() && !f.To.IsZero() {
		// Found by time first (event_at_idx): walking back from the newest
		// would read years to show one day of long ago.
		from = `(select * from event where at >= $5 and at < $6 offset 0) event`
		args = append(args, f.From, f.To)
	}
	rows, err := q.Query(ctx, `
		select id, at, coalesce(staff_id, 0), staff_name, via, device, request_id, kind, coalesce(card_id, 0), subject, detail
		from `+from+`
		where ($1 = 0 or id < $1) and ($2 = 0 or card_id = $2) and ($3 = 0 or staff_id = $3)
		order by id desc limit $4`, args...)
	if err != nil {
		return nil, fmt.Errorf("events: %w", err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (e Event, err error) {
		err = row.Scan(&e.ID, &e.At, &e.StaffID, &e.StaffName, &e.Via, &e.Device, &e.RequestID, &e.Kind, &e.CardID, &e.Subject, &e.Detail)
		return e, err
	})
	if err != nil {
		return nil, fmt.Errorf("events: %w", err)
	}
	return out, nil
}

// verifyPage is how many events one query verifies, so that each is short
// however long the record has grown.
const verifyPage = 10_000

// Verify recomputes the chain of events from the first on: each must carry the
// digest of its own contents, taken over the digest of the one before. n is
// how many events there are up to the first that does not, or in all; brokenAt
// is that event's id, or 0 when the chain holds.
//
// An event changed, taken out or put in breaks the chain behind it. Events cut
// off at the end do not: compare Head with what was noted down before.
func Verify(ctx context.Context, q pg.Querier) (n int, brokenAt int64, err error) {
	var last int64
	seal := []byte{}
	for {
		rows, err := q.Query(ctx, `
			select e.id, e.prev_hash, e.hash, event_digest(e.prev_hash, e) from event e
			where e.id > $1 order by e.id limit $2`, last, verifyPage)
		if err != nil {
			return n, 0, fmt.Errorf("verify the record: %w", err)
		}
		page := 0
		for rows.Next() {
			var prev, hash, want []byte
			if err := rows.Scan(&last, &prev, &hash, &want); err != nil {
				rows.Close()
				return n, 0, fmt.Errorf("verify the record: %w", err)
			}
			if !bytes.Equal(prev, seal) || !bytes.Equal(hash, want) {
				rows.Close()
				return n, last, nil
			}
			seal = bytes.Clone(hash)
			page++
			n++
		}
		if err := rows.Err(); err != nil {
			return n, 0, fmt.Errorf("verify the record: %w", err)
		}
		if page < verifyPage {
			return n, 0, nil
		}
	}
}

// Head is the newest event and its digest, which seals all before it; id is 0
// while nothing has happened.
func Head(ctx context.Context, q pg.Querier) (id int64, hash []byte, err error) {
	err = q.QueryRow(ctx, `select id, hash from event order by id desc limit 1`).Scan(&id, &hash)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, nil, nil
	}
	if err != nil {
		return 0, nil, fmt.Errorf("head of the record: %w", err)
	}
	return id, hash, nil
}
