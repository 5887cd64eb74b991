package clocking

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// CorrectInput gives a clocking other times, or says that it never happened.
type CorrectInput struct {
	ClockingID ID
	Version    int
	From       time.Time
	// To may be zero only while the clocking is open and is to stay so.
	To     time.Time
	Void   bool
	Reason string
}

func (in *CorrectInput) clean(now time.Time) error {
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, jobcard.MaxShort)
	f.Must("reason", in.Reason, "the reason, for the record")
	in.From, in.To = in.From.UTC().Truncate(time.Microsecond), in.To.UTC().Truncate(time.Microsecond)
	if in.Void {
		in.From, in.To = time.Time{}, time.Time{}
		return f.Err()
	}
	until := in.To
	if until.IsZero() {
		until = now
	}
	switch {
	case in.From.IsZero():
		f.Add("from", "say when the work began")
	case in.From.After(now):
		f.Add("from", "that is still to come")
	case in.To.After(now):
		f.Add("to", "that is still to come")
	case until.Sub(in.From) < shortest:
		f.Add("to", "the work must end after it began")
	case until.Sub(in.From) > longest:
		f.Add("to", "nobody works on a line for more than 24 hours at a stretch")
	}
	return f.Err()
}

// Correct changes a clocking afterwards and keeps what it was, what it became
// and why. One's own needs the right to work, anybody else's the right to
// correct clockings. Messages are at from, to and reason; a stale version is a
// Conflict with the Clocking as it stands.
func (s *Service) Correct(ctx context.Context, who actor.Actor, in CorrectInput) (Clocking, error) {
	if err := who.Need(actor.Work); err != nil {
		return Clocking{}, err
	}
	if err := in.clean(s.db.Now()); err != nil {
		return Clocking{}, err
	}
	return change.Do(ctx, s.db, who, "correct clocking", in, func(ctx context.Context, tx *change.Tx) (Clocking, error) {
		k, c, err := lockClocking(ctx, tx, in.ClockingID)
		if err != nil {
			return Clocking{}, err
		}
		switch {
		case k.Version != in.Version:
			return Clocking{}, apperr.Stale("clocking", k)
		case k.Voided:
			return Clocking{}, apperr.New(apperr.Conflict, "this clocking has been struck out: it counts for nothing any more")
		case in.To.IsZero() && !in.Void && !k.To.IsZero():
			return Clocking{}, apperr.Field("to", "say when the work ended")
		}
		now := k
		now.Version++
		now.Voided = in.Void
		if !in.Void {
			now.From, now.To = in.From, in.To
		} else if k.To.IsZero() {
			now.To = later(tx.At, k.From.Add(time.Microsecond))
		}
		if err := rewrite(ctx, tx, now); err != nil {
			return Clocking{}, err
		}
		if err := putCorrection(ctx, tx, k.ID, k.times(), now.times(), in.Void, in.Reason, who.StaffID); err != nil {
			return Clocking{}, err
		}
		kind := "clocking corrected"
		if in.Void {
			kind = "clocking struck out"
		}
		tx.Record(kind, int64(c.ID), k.Title, map[string]any{
			"clocking": k.ID, "line": k.LineID, "staff": k.StaffID, "reason": in.Reason,
			"was": k.times(), "is": now.times(),
		})
		if k.Open() && !now.Open() {
			return now, rest(ctx, tx, k.LineID)
		}
		return now, nil
	})
}

// times is the clocking's own span, its To zero while it is open.
func (k Clocking) times() workday.Span { return workday.Span{From: k.From, To: k.To} }

// lockClocking locks the person and the card of a clocking, checks that the
// actor may correct it, and reads it.
func lockClocking(ctx context.Context, tx *change.Tx, id ID) (Clocking, jobcard.Card, error) {
	k, err := byID(ctx, tx, id)
	if err != nil {
		return k, jobcard.Card{}, err
	}
	if k.StaffID != tx.Who.StaffID {
		if err := tx.Who.Need(actor.CorrectClockings); err != nil {
			return k, jobcard.Card{}, apperr.New(apperr.Forbidden, "this is %s's clocking: only they or the owner may correct it", k.Name)
		}
	}
	// Also for somebody who has left the staff.
	if _, err := tx.Exec(ctx, `select from staff where id = $1 for no key update`, k.StaffID); err != nil {
		return k, jobcard.Card{}, fmt.Errorf("lock the person: %w", err)
	}
	c, _, err := jobcard.LockLine(ctx, tx, k.LineID)
	if err != nil {
		return k, c, err
	}
	k, err = byID(ctx, tx, id)
	return k, c, err
}

// rewrite puts other times on a clocking. What overlaps another clocking of
// the person the database refuses; then the message says which one.
func rewrite(ctx context.Context, tx *change.Tx, k Clocking) error {
	part, err := tx.Begin(ctx) // so that the other one can be looked up after a refusal
	if err != nil {
		return fmt.Errorf("correct the clocking: %w", err)
	}
	var to *time.Time
	if !k.To.IsZero() {
		to = &k.To
	}
	_, err = part.Exec(ctx, `update clocking set during = tstzrange($2, $3), voided = $4, version = version + 1 where id = $1`,
		k.ID, k.From, to, k.Voided)
	if err == nil {
		return part.Commit(ctx)
	}
	if rerr := part.Rollback(ctx); rerr != nil {
		return fmt.Errorf("correct the clocking: %w", rerr)
	}
	if pg.Constraint(err) == "clocking_one_at_a_time" || pg.Constraint(err) == "clocking_open_once" {
		return overlap(ctx, tx, k)
	}
	return fmt.Errorf("correct the clocking: %w", err)
}

// overlap says in words which other clocking of the person is in the way, at
// the field that reaches into it.
func overlap(ctx context.Context, tx *change.Tx, k Clocking) error {
	set, err := garage.Load(ctx, tx)
	if err != nil {
		return err
	}
	var to *time.Time
	if !k.To.IsZero() {
		to = &k.To
	}
	rows, err := tx.Query(ctx, clockingSQL+`
		where k.staff_id = $1 and k.id <> $2 and not k.voided and k.during && tstzrange($3, $4)
		order by lower(k.during) limit 1`, k.StaffID, k.ID, k.From, to)
	if err != nil {
		return fmt.Errorf("look what overlaps: %w", err)
	}
	other, err := pgx.CollectExactlyOneRow(rows, scanClocking)
	if err != nil {
		return fmt.Errorf("look what overlaps: %w", err)
	}
	at := func(t time.Time) string {
		if t.IsZero() {
			return "now"
		}
		return workday.FormatClock(workday.ClockOf(t, set.Location()))
	}
	field := "to"
	if !k.From.Before(other.From) {
		field = "from"
	}
	return apperr.Field(field, "this overlaps the clocking on “%s” from %s to %s", other.Title, at(other.From), at(other.To))
}

func putCorrection(ctx context.Context, tx *change.Tx, id ID, was, became workday.Span, void bool, reason string, by actor.StaffID) error {
	open := func(s workday.Span) (from time.Time, to *time.Time) {
		if s.To.IsZero() {
			return s.From, nil
		}
		return s.From, &s.To
	}
	wasFrom, wasTo := open(was)
	from, to := open(became)
	_, err := tx.Exec(ctx, `
		insert into clocking_correction (clocking_id, was, became, reason, by_staff, at)
		values ($1, tstzrange($2, $3), case when $4 then null else tstzrange($5, $6) end, $7, nullif($8::bigint, 0), $9)`,
		id, wasFrom, wasTo, void, from, to, reason, by, tx.At)
	if err != nil {
		return fmt.Errorf("record the correction: %w", err)
	}
	return nil
}
