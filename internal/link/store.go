package link

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const (
	secretSize = 32
	// listMax bounds the links that are shown of one thing.
	listMax = 200
)

const columns = `id, purpose, target_id, coalesce(card_id, 0), given_to, until, made_at, withdrawn_at, opened, first_opened, last_opened`

func scan(row pgx.CollectableRow) (l Link, err error) {
	var withdrawn, first, last *time.Time
	err = row.Scan(&l.ID, &l.Purpose, &l.Target, &l.CardID, &l.GivenTo, &l.Until, &l.MadeAt, &withdrawn, &l.Opened, &first, &last)
	l.WithdrawnAt, l.FirstOpened, l.LastOpened = when(withdrawn), when(first), when(last)
	return l, err
}

func when(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

// keep holds the secret once it was read: it never changes while a server
// runs, and so a token of somebody who tries costs no query.
type keep struct{ secret atomic.Pointer[[]byte] }

// get reads the secret. Before the first link there is none, and then a fresh
// one stands in for it that has signed nothing; it is not kept.
func (k *keep) get(ctx context.Context, q pg.Querier) ([]byte, error) {
	if p := k.secret.Load(); p != nil {
		return *p, nil
	}
	secret, err := readSecret(ctx, q)
	if errors.Is(err, pgx.ErrNoRows) {
		return random(secretSize), nil
	}
	if err != nil {
		return nil, err
	}
	k.secret.Store(&secret)
	return secret, nil
}

func readSecret(ctx context.Context, q pg.Querier) (secret []byte, err error) {
	if err = q.QueryRow(ctx, `select secret from link_secret`).Scan(&secret); err != nil {
		return nil, fmt.Errorf("the links' secret: %w", err)
	}
	return secret, nil
}

func random(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.Read(b) // it never fails: crypto/rand ends the program instead
	return b
}

// insert writes the row, and before the very first the secret.
func insert(ctx context.Context, tx *change.Tx, in NewLink) (Minted, error) {
	_, err := tx.Exec(ctx, `insert into link_secret (secret, made_at) values ($1, $2) on conflict on constraint link_secret_pk do nothing`,
		random(secretSize), tx.At)
	if err != nil {
		return Minted{}, fmt.Errorf("make the links' secret: %w", err)
	}
	secret, err := readSecret(ctx, tx)
	if err != nil {
		return Minted{}, err
	}
	name := random(nameSize)
	var m Minted
	err = tx.QueryRow(ctx, `
		insert into customer_link (name, purpose, target_id, card_id, given_to, until, made_at, made_by)
		values ($1, $2, $3, nullif($4::bigint, 0), $5, $6, $7, nullif($8::bigint, 0)) returning id`,
		name, in.Purpose, in.Target, in.CardID, in.GivenTo, in.Until, tx.At, tx.Who.StaffID).Scan(&m.ID)
	if err != nil {
		return Minted{}, pg.Explain(err, "link", map[string]*apperr.Error{
			"customer_link_card_fk":       apperr.NoSuch("card"),
			"customer_link_purpose_known": apperr.Field("purpose", "a link is for a quote, a handover or a bill"),
		})
	}
	m.Token = write(secret, name, in.Until)
	return m, nil
}

func tokenOf(ctx context.Context, q pg.Querier, id ID, now time.Time) (Minted, error) {
	var secret, name []byte
	var until time.Time
	var withdrawn *time.Time
	err := q.QueryRow(ctx, `select s.secret, l.name, l.until, l.withdrawn_at from customer_link l cross join link_secret s where l.id = $1`, id).
		Scan(&secret, &name, &until, &withdrawn)
	if err != nil {
		return Minted{}, pg.Explain(err, "link", nil)
	}
	if over := (Link{Until: until, WithdrawnAt: when(withdrawn)}).Over(now); over != "" {
		return Minted{}, apperr.New(apperr.Conflict, "this link is %s: make a new one", over)
	}
	return Minted{ID: id, Token: write(secret, name, until)}, nil
}

func byName(ctx context.Context, q pg.Querier, name []byte) (Link, error) {
	l, err := collect(ctx, q, `select `+columns+` from customer_link where name = $1`, name)
	if apperr.Is(err, apperr.NotFound) {
		return Link{}, ErrUnknown
	}
	return l, err
}

func one(ctx context.Context, q pg.Querier, id ID) (Link, error) {
	return collect(ctx, q, `select `+columns+` from customer_link where id = $1`, id)
}

func collect(ctx context.Context, q pg.Querier, sql string, args ...any) (Link, error) {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		return Link{}, fmt.Errorf("link: %w", err)
	}
	l, err := pgx.CollectExactlyOneRow(rows, scan)
	return l, pg.Explain(err, "link", nil)
}

func list(ctx context.Context, q pg.Querier, where string, args ...any) ([]Link, error) {
	rows, err := q.Query(ctx, fmt.Sprintf(`select %s from customer_link where %s order by id desc limit %d`, columns, where, listMax), args...)
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	out, err := pgx.CollectRows(rows, scan)
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	return out, nil
}

// opened counts one opening; the first one is an event, so that whoever waits
// for the answer sees that it was read.
func opened(ctx context.Context, tx *change.Tx, l Link) (Link, error) {
	err := tx.QueryRow(ctx, `
		update customer_link set opened = opened + 1, first_opened = coalesce(first_opened, $2), last_opened = $2
		where id = $1 returning opened, first_opened, last_opened`, l.ID, tx.At).Scan(&l.Opened, &l.FirstOpened, &l.LastOpened)
	if err != nil {
		return Link{}, fmt.Errorf("count the opening: %w", err)
	}
	if l.Opened == 1 {
		tx.Record("link opened", int64(l.CardID), l.GivenTo, map[string]any{"link": l.ID, "purpose": l.Purpose, "target": l.Target})
	}
	return l, nil
}

// withdraw takes back the links that where picks and that still stand.
func withdraw(ctx context.Context, tx *change.Tx, where string, args ...any) (int, error) {
	rows, err := tx.Query(ctx, `
		update customer_link set withdrawn_at = $1, withdrawn_by = nullif($2::bigint, 0)
		where `+where+` and withdrawn_at is null returning `+columns,
		append([]any{tx.At, int64(tx.Who.StaffID)}, args...)...)
	if err != nil {
		return 0, fmt.Errorf("withdraw links: %w", err)
	}
	gone, err := pgx.CollectRows(rows, scan)
	if err != nil {
		return 0, fmt.Errorf("withdraw links: %w", err)
	}
	for _, l := range gone {
		tx.Record("link withdrawn", int64(l.CardID), l.GivenTo, map[string]any{"link": l.ID, "purpose": l.Purpose, "target": l.Target})
	}
	return len(gone), nil
}
