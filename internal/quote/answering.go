package quote

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/signature"
)

// Answer records what the customer said to a version: yes or no to each job,
// at the version's price. What was said before already is no change; another
// answer than before is a new record, and the former stays. It is for whoever
// records consent, and for the customer at a link.
//
// Errors: fields said_by, how, said_at, up_to, signature, note, jobs,
// answer.<line> and understood.<line>; a Conflict that says the way on when
// the version is withdrawn, superseded or over, when a line was struck out
// since, and when one is declined that work has begun on.
func (s *Service) Answer(ctx context.Context, who actor.Actor, in AnswerInput) (Done, error) {
	if err := mayAnswer(who); err != nil {
		return Done{}, err
	}
	in, err := in.clean(who)
	if err != nil {
		return Done{}, err
	}
	return change.Do(ctx, s.db, who, "answer quote", in, func(ctx context.Context, tx *change.Tx) (Done, error) {
		v, err := lockVersion(ctx, tx, in.VersionID)
		if err != nil {
			return Done{}, err
		}
		if !v.openTo(who) {
			return Done{}, apperr.NoSuch("version of a quote")
		}
		if why, ok := v.Answerable(tx.At); !ok {
			return Done{}, apperr.New(apperr.Conflict, "%s", why)
		}
		if in.SaidAt.IsZero() {
			in.SaidAt = tx.At
		}
		if err := in.fitTo(v, tx.At); err != nil {
			return Done{}, err
		}
		return answer(ctx, tx, v, in)
	})
}

func mayAnswer(who actor.Actor) error {
	if who.Role == actor.Customer {
		return who.Need(actor.AnswerQuote)
	}
	return who.Need(actor.RecordConsent)
}

// lockVersion holds the card of a version and reads the version as it then is.
func lockVersion(ctx context.Context, tx *change.Tx, id VersionID) (*Version, error) {
	var card jobcard.CardID
	err := tx.QueryRow(ctx, `select card_id from quote_version where id = $1`, id).Scan(&card)
	if err != nil {
		return nil, pg.Explain(err, "version of a quote", nil)
	}
	if _, err := jobcard.Lock(ctx, tx, card); err != nil {
		return nil, err
	}
	return ReadVersion(ctx, tx, id)
}

// clean checks what can be checked without the version.
func (in AnswerInput) clean(who actor.Actor) (AnswerInput, error) {
	f := apperr.Fields{}
	if who.Role == actor.Customer {
		in.How = jobcard.ByLink
		if in.SaidBy == "" {
			in.SaidBy = who.Name
		}
	} else if !slices.Contains(jobcard.Ways, in.How) {
		f.Add("how", "say how they answered: in person, by phone or in writing")
	}
	in.SaidBy = f.Line("said_by", in.SaidBy, jobcard.MaxShort)
	f.Must("said_by", in.SaidBy, "the name of who answered")
	in.Note = f.Prose("note", in.Note, jobcard.MaxNote)
	drawn, err := signature.Parse(in.Signature)
	if err != nil {
		f.Add("signature", "%s", err.Error())
	}
	in.Signature = drawn.String()
	if len(in.Jobs) == 0 {
		f.Add("jobs", "say yes or no to one line at least")
	}
	if len(in.Jobs) > jobcard.MaxLines {
		f.Add("jobs", "a card has at most %d lines", jobcard.MaxLines)
	}
	seen := map[jobcard.LineID]bool{}
	yes := false
	for _, j := range in.Jobs {
		if j.Answer != jobcard.Agreed && j.Answer != jobcard.Declined {
			f.Add(answerField(j.LineID), "say yes or no")
		}
		if seen[j.LineID] {
			f.Add("jobs", "a line was answered twice at once")
		}
		seen[j.LineID] = true
		yes = yes || j.Answer == jobcard.Agreed
	}
	switch {
	case in.UpTo != nil && (*in.UpTo < 0 || *in.UpTo > money.MaxTyped):
		f.Add("up_to", "give the limit as an amount, such as 250.00")
	case in.UpTo == nil && yes && in.How == "by phone":
		f.Add("up_to", "say up to how much they agreed, with VAT: ask them, and read it back")
	}
	return in, f.Err()
}

func answerField(id jobcard.LineID) string { return "answer." + strconv.FormatInt(int64(id), 10) }

func understoodField(id jobcard.LineID) string {
	return "understood." + strconv.FormatInt(int64(id), 10)
}

// fitTo checks what was said against the version.
func (in AnswerInput) fitTo(v *Version, now time.Time) error {
	f := apperr.Fields{}
	if in.SaidAt.After(now) {
		f.Add("said_at", "that is still to come: give the time at which it was said")
	}
	if in.SaidAt.Before(v.IssuedAt) {
		f.Add("said_at", "that was before this version was issued")
	}
	var agreed []jobcard.LineID
	for _, a := range in.Jobs {
		j, ok := v.Job(a.LineID)
		switch {
		case !ok:
			f.Add("jobs", "a line that was answered is not on this version")
		case j.Struck:
			return apperr.New(apperr.Conflict, "“%s” has been struck out on the card since this version was issued: make a new version", j.Title)
		case a.Answer == jobcard.Declined && j.Begun:
			return apperr.New(apperr.Conflict, "work on “%s” has begun: it cannot be declined any more. Please speak with the garage", j.Title)
		case a.Answer == jobcard.Declined && j.Dangerous() && !a.Understood:
			f.Add(understoodField(a.LineID), "“%s” was found to be dangerous: leaving it needs a word that this was understood", j.Title)
		case a.Answer == jobcard.Agreed:
			agreed = append(agreed, j.LineID)
		}
	}
	if in.UpTo != nil && f.Err() == nil {
		all, err := v.Chosen(agreed)
		if err != nil {
			return err
		}
		if *in.UpTo < all.Totals.Gross {
			f.Add("up_to", "what was agreed comes to %s%s, which is more than the limit", v.Garage.Money().Format(all.Totals.Gross), v.Garage.WithTax())
		}
	}
	return f.Err()
}

// answer writes what is new of what was said.
func answer(ctx context.Context, tx *change.Tx, v *Version, in AnswerInput) (Done, error) {
	done := Done{VersionID: v.ID, CardID: v.CardID}
	var lines []jobcard.LineAnswer
	var said []JobAnswer
	for _, a := range in.Jobs {
		j, _ := v.Job(a.LineID)
		if j.stands(v.ID, a.Answer) {
			done.Same++
			continue
		}
		said = append(said, a)
		lines = append(lines, jobcard.LineAnswer{LineID: a.LineID, Answer: a.Answer, Time: &j.Time, Net: &j.Net})
		if a.Answer == jobcard.Agreed {
			done.Agreed++
		} else {
			done.Refused++
		}
	}
	if len(said) == 0 {
		return done, nil
	}
	err := tx.QueryRow(ctx, `
		insert into quote_answer (version_id, said_by, how, said_at, up_to_minor, signature, note, device, taken_by, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, nullif($9::bigint, 0), $10) returning id`,
		v.ID, in.SaidBy, in.How, in.SaidAt.UTC(), in.UpTo, in.Signature, in.Note, tx.Who.Device, tx.Who.StaffID, tx.At).Scan(&done.Sitting)
	if err != nil {
		return Done{}, fmt.Errorf("record the answer: %w", err)
	}
	if err := insertAnswers(ctx, tx, v, done.Sitting, said); err != nil {
		return Done{}, err
	}
	err = jobcard.RecordAnswer(ctx, tx, v.CardID, lines, jobcard.AnswerDetails{
		SaidBy: in.SaidBy, How: in.How, Version: int64(v.ID), Signature: []byte(in.Signature), CardUpTo: in.UpTo,
	})
	if err != nil {
		return Done{}, inOurWords(err)
	}
	tx.Record("quote answered", int64(v.CardID), v.Title(), map[string]any{
		"version": v.ID, "answer": done.Sitting, "agreed": done.Agreed, "declined": done.Refused, "said by": in.SaidBy, "how": in.How,
	})
	return done, nil
}

// stands tells whether this very answer was given to the version before and
// holds still.
func (j Job) stands(v VersionID, a jobcard.Consent) bool {
	if j.Last == nil || j.Last.VersionID != v || j.Last.Answer != a {
		return false
	}
	return a == jobcard.Agreed && j.Agreed() || a == jobcard.Declined && j.Declined()
}

// inOurWords drops the field names of the card from an error: the form of a
// quote has others.
func inOurWords(err error) error {
	var e *apperr.Error
	if errors.As(err, &e) && e.Kind == apperr.Invalid {
		return apperr.New(apperr.Conflict, "%s", e.Message)
	}
	return err
}
