package post

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// Service is what pages and API do with letters.
type Service struct {
	db   *change.DB
	from string
}

// New makes the service. from is the address that mail comes from; empty means
// that this server sends none, and pages offer what a person can do instead.
func New(db *change.DB, from string) *Service { return &Service{db, from} }

// Sends tells whether this server is set up to send mail.
func (s *Service) Sends() bool { return s.from != "" }

// WhyNot says to staff why nothing is sent by itself; empty when it is.
func (s *Service) WhyNot() string {
	if s.Sends() {
		return ""
	}
	return "This server is not set up to send mail (its setting RAMPSIDE_SMTP is empty), so a letter is sent from your own mail program."
}

// List reads the newest letters, or those in one state.
func (s *Service) List(ctx context.Context, who actor.Actor, state State) ([]Status, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, err
	}
	switch state {
	case "":
		return statuses(ctx, s.db.Pool, "true")
	case Waiting, Sent, Failed, Withdrawn:
		return statuses(ctx, s.db.Pool, "state = $1", state)
	}
	return nil, apperr.Field("state", "a letter is waiting, sent, failed or withdrawn")
}

// Again tries a letter at once that waits or that was given up.
func (s *Service) Again(ctx context.Context, who actor.Actor, id ID) (ID, error) {
	return s.alter(ctx, who, id, "try letter again", "letter to be tried again", []State{Waiting, Failed}, `
		update letter set state = 'waiting', done_at = null, next_try = $2, first_try = case when state = 'failed' then null else first_try end where id = $1`)
}

// Withdraw keeps a letter that waits from being sent.
func (s *Service) Withdraw(ctx context.Context, who actor.Actor, id ID) (ID, error) {
	return s.alter(ctx, who, id, "withdraw letter", "letter withdrawn", []State{Waiting}, `
		update letter set state = 'withdrawn', done_at = $2, held_until = null where id = $1`)
}

func (s *Service) alter(ctx context.Context, who actor.Actor, id ID, action, event string, from []State, sql string) (ID, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, action, id, func(ctx context.Context, tx *change.Tx) (ID, error) {
		var state State
		var card int64
		var subject string
		err := tx.QueryRow(ctx, `select state, coalesce(card_id, 0), subject from letter where id = $1 for update`, id).Scan(&state, &card, &subject)
		if err != nil {
			return 0, pg.Explain(err, "letter", nil)
		}
		ok := false
		for _, f := range from {
			ok = ok || f == state
		}
		if !ok {
			return 0, apperr.New(apperr.Conflict, "this letter is %s already", state)
		}
		if _, err := tx.Exec(ctx, sql, id, tx.At); err != nil {
			return 0, fmt.Errorf("%s: %w", action, err)
		}
		tx.Record(event, card, subject, map[string]any{"letter": id})
		return id, nil
	})
}

// Mailto is a link that opens a new mail in the reader's own program, for a
// server that sends none: RFC 6068, with line breaks as %0D%0A.
func Mailto(to, subject, text string) string {
	text = strings.ReplaceAll(text, "\n", "\r\n")
	return "mailto:" + escape(to) + "?subject=" + escape(subject) + "&body=" + escape(text)
}

// escape is query escaping with blanks as %20: a plus means a plus there.
func escape(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(url.QueryEscape(s), "+", "%20"), "%40", "@")
}
