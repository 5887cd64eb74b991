// Package change is how anything in the garage's books is changed: one
// transaction for one action by one person, its events written with it, and
// the same key sent twice making one change.
package change

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/pg"
)

// DB is the database with the clock that changes are dated by.
type DB struct {
	Pool *pgxpool.Pool
	// Now tells the time; a test or the demo puts its own here.
	Now func() time.Time
	// Follow, when there is one, is called in the transaction of every change
	// that touched anything, after it and before its events are written: it
	// brings up to date what rests on the things touched.
	Follow func(ctx context.Context, tx *Tx, touched []Touched) error
}

// Touched names something that others rest on and that a change has altered.
type Touched struct {
	Thing Thing
	ID    int64
}

// Thing is a kind of what may be touched.
type Thing string

// What may be touched.
const (
	Car  Thing = "vehicle" // what is known of it
	Card Thing = "card"    // the parts on it
)

// New makes a DB on the machine's clock.
func New(pool *pgxpool.Pool) *DB { return &DB{Pool: pool, Now: time.Now} }

// Tx is the transaction of one change. Write helpers take it, so that none
// can be called outside one.
type Tx struct {
	pgx.Tx
	// Who makes the change.
	Who actor.Actor
	// At is when: one instant for all that the change writes, in UTC, to the
	// microsecond that PostgreSQL keeps.
	At      time.Time
	events  []event
	touched []Touched
}

type event struct {
	kind    string
	cardID  *int64
	subject string
	detail  []byte
}

// Record notes an event; it is written just before the commit. cardID 0 means
// that it belongs to no card. detail is stored as JSON: what changed, never a
// secret.
func (t *Tx) Record(kind string, cardID int64, subject string, detail any) {
	e := event{kind: kind, subject: subject}
	if cardID != 0 {
		e.cardID = &cardID
	}
	b, err := json.Marshal(detail)
	if err != nil || detail == nil {
		b = []byte("{}")
	}
	e.detail = b
	t.events = append(t.events, e)
}

// Touch says that the change has altered what others may rest on; see
// DB.Follow.
func (t *Tx) Touch(thing Thing, id int64) {
	if x := (Touched{thing, id}); !slices.Contains(t.touched, x) {
		t.touched = append(t.touched, x)
	}
}

const tries = 5

// keyMax is how many characters a request's key may have (write_key_size).
const keyMax = 200

// Do runs fn in one transaction for who. action names the use case; in is
// what was asked, and with who.Key decides whether a repeat is the same
// request. A repeat returns the first result without running fn again; the
// same key with another request is a Conflict. T must survive JSON.
//
// Serialization failures and deadlocks are run again, a few times. A change
// without an actor is a programming error, reported as Unsigned.
func Do[T any](ctx context.Context, db *DB, who actor.Actor, action string, in any,
	fn func(ctx context.Context, tx *Tx) (T, error),
) (T, error) {
	var zero T
	if !who.Known() {
		return zero, apperr.New(apperr.Unsigned, "please sign in first")
	}
	sum, err := digest(action, in)
	if err != nil {
		return zero, err
	}
	for attempt := 1; ; attempt++ {
		v, err := once(ctx, db, who, action, sum, fn)
		if err == nil || attempt == tries || !pg.Again(err) {
			return v, err
		}
		select {
		case <-ctx.Done():
			return zero, ctx.Err()
		case <-time.After(time.Duration(attempt*attempt) * 3 * time.Millisecond):
		}
	}
}

func once[T any](ctx context.Context, db *DB, who actor.Actor, action string, sum []byte,
	fn func(ctx context.Context, tx *Tx) (T, error),
) (v T, err error) {
	// Whatever the server is set to: under another isolation two changes could
	// follow the same event of the chain without seeing each other.
	ptx, err := db.Pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.ReadCommitted})
	if err != nil {
		return v, fmt.Errorf("%s: begin: %w", action, err)
	}
	// A no-op after the commit; on an error or a panic it undoes everything.
	defer func() { _ = ptx.Rollback(context.WithoutCancel(ctx)) }()
	tx := &Tx{Tx: ptx, Who: who, At: db.Now().UTC().Truncate(time.Microsecond)}
	if who.Key != "" {
		old, repeat, err := claim(ctx, tx, action, sum)
		if err != nil {
			return v, err
		}
		if repeat {
			if err := json.Unmarshal(old, &v); err != nil {
				return v, fmt.Errorf("%s: read the first result: %w", action, err)
			}
			return v, nil
		}
	}
	if v, err = fn(ctx, tx); err == nil && db.Follow != nil && len(tx.touched) > 0 {
		err = db.Follow(ctx, tx, tx.touched)
	}
	if err != nil {
		var zero T
		return zero, err
	}
	if err := finish(ctx, tx, v); err != nil {
		var zero T
		return zero, fmt.Errorf("%s: %w", action, err)
	}
	return v, nil
}

func finish(ctx context.Context, tx *Tx, result any) error {
	var b pgx.Batch
	if tx.Who.Key != "" {
		kept, err := json.Marshal(result)
		if err != nil {
			return fmt.Errorf("keep the result: %w", err)
		}
		b.Queue(`update write_key set result = $3 where staff_id = $1 and key = $2`, tx.Who.StaffID, tx.Who.Key, kept)
	}
	// The events come last: their chain is locked from here to the commit.
	for _, e := range tx.events {
		b.Queue(`
			insert into event (at, staff_id, staff_name, via, device, request_id, kind, card_id, subject, detail)
			values ($1, nullif($2::bigint, 0), $3, $4, $5, $6, $7, $8, $9, $10)`,
			tx.At, tx.Who.StaffID, tx.Who.Name, tx.Who.Via, tx.Who.Device, tx.Who.RequestID,
			e.kind, e.cardID, e.subject, e.detail)
	}
	if b.Len() > 0 {
		if err := tx.SendBatch(ctx, &b).Close(); err != nil {
			return fmt.Errorf("write the events: %w", err)
		}
	}
	if err := tx.Commit(ctx); err != nil {
		return fmt.Errorf("commit: %w", err)
	}
	return nil
}

// claim takes the key for this request, or waits for whoever has it and gives
// their result.
func claim(ctx context.Context, tx *Tx, action string, sum []byte) (result []byte, repeat bool, err error) {
	if n := utf8.RuneCountInString(tx.Who.Key); n > keyMax || !utf8.ValidString(tx.Who.Key) || strings.ContainsRune(tx.Who.Key, 0) {
		return nil, false, apperr.Field("key", "the key of a request is 1 to %d characters of text", keyMax)
	}
	tag, err := tx.Exec(ctx, `
		insert into write_key (staff_id, key, action, request_sha256, at) values ($1, $2, $3, $4, $5)
		on conflict on constraint write_key_pk do nothing`, tx.Who.StaffID, tx.Who.Key, action, sum, tx.At)
	if err != nil {
		return nil, false, fmt.Errorf("%s: claim the key: %w", action, err)
	}
	if tag.RowsAffected() == 1 {
		return nil, false, nil
	}
	var kept []byte
	err = tx.QueryRow(ctx, `select request_sha256, result from write_key where staff_id = $1 and key = $2`,
		tx.Who.StaffID, tx.Who.Key).Scan(&kept, &result)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, apperr.New(apperr.Conflict, "this request came twice at once and the first one failed: send it again")
	}
	if err != nil {
		return nil, false, fmt.Errorf("%s: read the key: %w", action, err)
	}
	if string(kept) != string(sum) {
		return nil, false, apperr.New(apperr.Conflict, "this form was sent before with other contents: open the page again to see what was saved")
	}
	return result, true, nil
}

// Made tells whether the change that who's key stands for has been made. A
// page that looks for what is there already asks it, since a form that comes
// twice must not be refused for what it did itself.
func Made(ctx context.Context, q pg.Querier, who actor.Actor) (bool, error) {
	if who.Key == "" {
		return false, nil
	}
	var made bool
	err := q.QueryRow(ctx, `select exists (select from write_key where staff_id = $1 and key = $2)`, who.StaffID, who.Key).Scan(&made)
	if err != nil {
		return false, fmt.Errorf("look for the key: %w", err)
	}
	return made, nil
}

func digest(action string, in any) ([]byte, error) {
	b, err := json.Marshal(in)
	if err != nil {
		return nil, fmt.Errorf("%s: the request has no JSON form: %w", action, err)
	}
	h := sha256.New()
	h.Write([]byte(action))
	h.Write([]byte{0})
	h.Write(b)
	return h.Sum(nil), nil
}
