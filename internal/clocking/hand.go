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
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// hand is one person whose clockings are about to change, locked.
type hand struct {
	staff    actor.StaffID
	costRate money.Minor
	// open is what they are on; its ID is 0 when that is nothing.
	open open
	// lastEnd is when their last clocking ended, if that is after the moment of
	// this change; else zero.
	lastEnd time.Time
}

// open is a clocking without an end.
type open struct {
	ID      ID
	StaffID actor.StaffID
	LineID  jobcard.LineID
	CardID  jobcard.CardID
	Title   string
	From    time.Time
}

// lockHand takes a person's row, so that their clockings change one after the
// other, and then reads what they are on. The lock does not hold up others
// who only refer to the person.
func lockHand(ctx context.Context, tx *change.Tx, id actor.StaffID) (hand, error) {
	h := hand{staff: id}
	err := tx.QueryRow(ctx, `select cost_rate_minor from staff where id = $1 and active for no key update`, id).Scan(&h.costRate)
	if err := pg.Explain(err, "person on the staff", nil); err != nil {
		return h, err
	}
	var lastEnd *time.Time
	rows, err := tx.Query(ctx, `
		select k.id, k.staff_id, k.line_id, l.card_id, l.title, lower(k.during)
		from clocking k join line l on l.id = k.line_id
		where k.staff_id = $1 and upper_inf(k.during) and not k.voided`, id)
	if err != nil {
		return h, fmt.Errorf("look what they are on: %w", err)
	}
	found, err := pgx.CollectRows(rows, pgx.RowToStructByPos[open])
	if err != nil {
		return h, fmt.Errorf("look what they are on: %w", err)
	}
	if len(found) > 0 {
		h.open = found[0]
	}
	err = tx.QueryRow(ctx, `select max(upper(during)) from clocking
		where staff_id = $1 and not voided and not upper_inf(during) and during && tstzrange($2, null)`, id, tx.At).Scan(&lastEnd)
	if err != nil {
		return h, fmt.Errorf("look when they ended: %w", err)
	}
	if lastEnd != nil {
		h.lastEnd = lastEnd.UTC()
	}
	return h, nil
}

// lockFor locks the card of a line and the card of the clocking that is to be
// left for it, the lower number first.
func lockFor(ctx context.Context, tx *change.Tx, id jobcard.LineID, o open) (jobcard.Card, jobcard.Line, error) {
	var cardID jobcard.CardID
	if err := tx.QueryRow(ctx, `select card_id from line where id = $1`, id).Scan(&cardID); err != nil {
		return jobcard.Card{}, jobcard.Line{}, pg.Explain(err, "line", nil)
	}
	if o.ID != 0 && o.CardID < cardID {
		if _, err := jobcard.Lock(ctx, tx, o.CardID); err != nil {
			return jobcard.Card{}, jobcard.Line{}, err
		}
	}
	c, l, err := jobcard.LockLine(ctx, tx, id)
	if err == nil && o.ID != 0 && o.CardID > cardID {
		_, err = jobcard.Lock(ctx, tx, o.CardID)
	}
	return c, l, err
}

func insert(ctx context.Context, tx *change.Tx, h hand, line jobcard.LineID, from time.Time) (ID, error) {
	var id ID
	err := tx.QueryRow(ctx, `insert into clocking (staff_id, line_id, during, cost_rate_minor)
		values ($1, $2, tstzrange($3, null), $4) returning id`, h.staff, line, from, h.costRate).Scan(&id)
	busy := apperr.New(apperr.Conflict, "a clocking of yours goes beyond this moment: look at your clockings, and at the clock of the server")
	return id, pg.Explain(err, "clocking", map[string]*apperr.Error{
		"clocking_one_at_a_time": busy, "clocking_open_once": busy,
	})
}

// leave ends one clocking whose card is locked, unless it was ended meanwhile,
// and lets its line rest when nobody else is on it.
func leave(ctx context.Context, tx *change.Tx, o open) error {
	if o.ID == 0 {
		return nil
	}
	if err := end(ctx, tx, o); err != nil {
		return err
	}
	return rest(ctx, tx, o.LineID)
}

// rest sets a line of a locked card back to open when nobody is on it.
func rest(ctx context.Context, tx *change.Tx, id jobcard.LineID) error {
	var busy bool
	err := tx.QueryRow(ctx, `select exists (select from clocking where line_id = $1 and upper_inf(during) and not voided)`, id).Scan(&busy)
	if err != nil {
		return fmt.Errorf("look who else is on it: %w", err)
	}
	if busy {
		return nil
	}
	_, l, err := jobcard.LockLine(ctx, tx, id)
	if err != nil {
		return err
	}
	return jobcard.Rest(ctx, tx, l)
}

// endAll ends every clocking on a line of a locked card, and gives those who
// were on it.
func endAll(ctx context.Context, tx *change.Tx, id jobcard.LineID) ([]actor.StaffID, error) {
	rows, err := tx.Query(ctx, `
		select k.id, k.staff_id, k.line_id, l.card_id, l.title, lower(k.during)
		from clocking k join line l on l.id = k.line_id
		where k.line_id = $1 and upper_inf(k.during) and not k.voided order by k.id`, id)
	if err != nil {
		return nil, fmt.Errorf("look who is on it: %w", err)
	}
	on, err := pgx.CollectRows(rows, pgx.RowToStructByPos[open])
	if err != nil {
		return nil, fmt.Errorf("look who is on it: %w", err)
	}
	var who []actor.StaffID
	for _, o := range on {
		if err := end(ctx, tx, o); err != nil {
			return nil, err
		}
		who = append(who, o.StaffID)
	}
	return who, nil
}

// end closes a clocking now; or voids it when it lasted no time; or, when it
// is left over from an earlier day, closes it where it most likely ended.
func end(ctx context.Context, tx *change.Tx, o open) error {
	to, reason := tx.At, ""
	if tx.At.Sub(o.From) > lateNight {
		set, err := garage.Load(ctx, tx)
		if err != nil {
			return err
		}
		if leftOver(set, o.From, tx.At) {
			weeks, err := readWeeks(ctx, tx)
			if err != nil {
				return err
			}
			to, reason = weeks.likelyEnd(set, o.StaffID, o.From, tx.At), "left on overnight: ended where it most likely did"
		}
	}
	void := to.Sub(o.From) < shortest
	if void {
		to, reason = later(to, o.From.Add(time.Microsecond)), "lasted less than a second"
	}
	tag, err := tx.Exec(ctx, `update clocking set during = tstzrange(lower(during), $2), voided = $3, version = version + 1
		where id = $1 and upper_inf(during) and not voided`, o.ID, to, void)
	if err != nil {
		return fmt.Errorf("end the clocking: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return nil // ended by somebody else while this one waited for the card
	}
	if reason != "" {
		if err := putCorrection(ctx, tx, o.ID, workday.Span{From: o.From}, workday.Span{From: o.From, To: to}, void, reason, 0); err != nil {
			return err
		}
	}
	detail := map[string]any{"line": o.LineID, "clocking": o.ID, "staff": o.StaffID, "seconds": int64(to.Sub(o.From) / time.Second)}
	if reason != "" {
		detail["ended"], detail["reason"] = to, reason
	}
	tx.Record("clocked off", int64(o.CardID), o.Title, detail)
	return nil
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// unfinishedBefore names a line that must be finished before this one is
// started; empty when there is none.
func unfinishedBefore(ctx context.Context, q pg.Querier, id jobcard.LineID) (string, error) {
	var title string
	err := q.QueryRow(ctx, `select coalesce((
		select b.title from line_order o join line b on b.id = o.after_id
		where o.line_id = $1 and b.struck_at is null and b.consent <> 'declined' and b.work_state not in ('done', 'deferred')
		order by b.position limit 1), '')`, id).Scan(&title)
	if err != nil {
		return "", fmt.Errorf("look what comes before: %w", err)
	}
	return title, nil
}
