package post

import (
	"context"
	"crypto/rand"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/pg"
)

// listMax bounds the letters that are shown at once.
const listMax = 200

// Put writes a letter down inside the change that sends it; it goes out after
// the commit. Errors: fields to, reply_to, to_name, from_name, subject, text,
// files.
func Put(ctx context.Context, tx *change.Tx, l Letter) (ID, error) {
	l, err := l.check()
	if err != nil {
		return 0, err
	}
	var id ID
	err = tx.QueryRow(ctx, `
		insert into letter (about, about_id, card_id, to_name, to_address, from_name, reply_to, subject, body, message_id, next_try, written_at, written_by)
		values ($1, $2, nullif($3::bigint, 0), $4, $5, $6, $7, $8, $9, $10, $11, $11, nullif($12::bigint, 0)) returning id`,
		l.About, l.AboutID, l.CardID, l.ToName, l.To, l.FromName, l.ReplyTo, l.Subject, l.Text,
		strings.ToLower(rand.Text()), tx.At, tx.Who.StaffID).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("write the letter: %w", err)
	}
	var b pgx.Batch
	for i, f := range l.Files {
		b.Queue(`insert into letter_file (letter_id, place, name, media_type, content) values ($1, $2, $3, $4, $5)`,
			id, i+1, f.Name, f.MediaType, f.Content)
	}
	if b.Len() > 0 {
		if err := tx.SendBatch(ctx, &b).Close(); err != nil {
			return 0, fmt.Errorf("write the letter's files: %w", err)
		}
	}
	tx.Record("letter written", int64(l.CardID), l.Subject, map[string]any{"letter": id, "about": l.About, "of": l.AboutID})
	return id, nil
}

const statusColumns = `id, about, about_id, coalesce(card_id, 0), to_name, to_address, subject, state, tries, trouble, next_try, written_at, done_at`

func scanStatus(row pgx.CollectableRow) (s Status, err error) {
	var done *time.Time
	err = row.Scan(&s.ID, &s.About, &s.AboutID, &s.CardID, &s.ToName, &s.To, &s.Subject, &s.State, &s.Tries, &s.Trouble, &s.NextTry, &s.At, &done)
	if done != nil {
		s.DoneAt = *done
	}
	if s.State != Waiting {
		s.NextTry = time.Time{}
	}
	return s, err
}

func statuses(ctx context.Context, q pg.Querier, where string, args ...any) ([]Status, error) {
	rows, err := q.Query(ctx, fmt.Sprintf(`select %s from letter where %s order by id desc limit %d`, statusColumns, where, listMax), args...)
	if err != nil {
		return nil, fmt.Errorf("letters: %w", err)
	}
	out, err := pgx.CollectRows(rows, scanStatus)
	if err != nil {
		return nil, fmt.Errorf("letters: %w", err)
	}
	return out, nil
}

// Of reads how things stand with the letters about one thing, the newest
// first.
func Of(ctx context.Context, q pg.Querier, about string, id int64) ([]Status, error) {
	return statuses(ctx, q, "about = $1 and about_id = $2", about, id)
}

// WithdrawOf keeps the letters about one thing that still wait from being sent,
// inside the change that takes it back, and gives how many there were.
func WithdrawOf(ctx context.Context, tx *change.Tx, about string, id int64) (int, error) {
	rows, err := tx.Query(ctx, `
		update letter set state = 'withdrawn', done_at = $3, held_until = null
		where about = $1 and about_id = $2 and state = 'waiting' returning `+statusColumns, about, id, tx.At)
	if err != nil {
		return 0, fmt.Errorf("withdraw letters: %w", err)
	}
	gone, err := pgx.CollectRows(rows, scanStatus)
	if err != nil {
		return 0, fmt.Errorf("withdraw letters: %w", err)
	}
	for _, l := range gone {
		tx.Record("letter withdrawn", int64(l.CardID), l.Subject, map[string]any{"letter": l.ID})
	}
	return len(gone), nil
}

// claimed is a letter that this server has in hand.
type claimed struct {
	ID ID
	Letter
	messageID string
	tries     int
	writtenAt time.Time
	// firstTry is when the days began after which it is given up.
	firstTry time.Time
}

// claim takes the letter that has waited longest in hand until held. Servers
// that ask at the same moment get different ones. Nothing due is pgx.ErrNoRows.
func claim(ctx context.Context, tx *change.Tx, held time.Duration) (c claimed, err error) {
	err = tx.QueryRow(ctx, `
		update letter set held_until = $2, tries = tries + 1, first_try = coalesce(first_try, $1) where id = (
			select id from letter where state = 'waiting' and next_try <= $1 and (held_until is null or held_until <= $1)
			order by next_try, id limit 1 for update skip locked)
		returning id, about, about_id, coalesce(card_id, 0), to_name, to_address, from_name, reply_to, subject, body, message_id, tries, written_at, first_try`,
		tx.At, tx.At.Add(held)).
		Scan(&c.ID, &c.About, &c.AboutID, &c.CardID, &c.ToName, &c.To, &c.FromName, &c.ReplyTo, &c.Subject, &c.Text, &c.messageID, &c.tries, &c.writtenAt, &c.firstTry)
	if err != nil {
		return claimed{}, fmt.Errorf("take a letter in hand: %w", err)
	}
	rows, err := tx.Query(ctx, `select name, media_type, content from letter_file where letter_id = $1 order by place`, c.ID)
	if err != nil {
		return claimed{}, fmt.Errorf("the letter's files: %w", err)
	}
	if c.Files, err = pgx.CollectRows(rows, pgx.RowToStructByPos[File]); err != nil {
		return claimed{}, fmt.Errorf("the letter's files: %w", err)
	}
	return c, nil
}

// settle notes what became of a try, unless somebody withdrew the letter
// meanwhile or another server has it in hand by now and this one was late.
func settle(ctx context.Context, tx *change.Tx, c claimed, state State, next time.Time, trouble string) error {
	tag, err := tx.Exec(ctx, `
		update letter set state = $2, trouble = $3, next_try = $4, held_until = null, done_at = case when $2 = 'waiting' then null else $5::timestamptz end
		where id = $1 and state = 'waiting' and ($2 = 'sent' or tries = $6)`, c.ID, state, trouble, next, tx.At, c.tries)
	if err != nil {
		return fmt.Errorf("note what became of the letter: %w", err)
	}
	if tag.RowsAffected() == 1 && state != Waiting {
		tx.Record("letter "+string(state), int64(c.CardID), c.Subject, map[string]any{"letter": c.ID, "tries": c.tries, "trouble": trouble})
	}
	return nil
}
