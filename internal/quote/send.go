package quote

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/post"
)

// Ways lists how a version can go out.
var Ways = []Way{ByMail, ByLink, OnPaper}

// MaxLetter is how many characters the words of a letter may have.
const MaxLetter = 4000

// ReadOn is how much longer than it can be agreed to a version can be read by
// its link: what was agreed is looked up when the car is fetched and the bill is
// there. (Eight weeks: our choice, no published source.)
const ReadOn = 8 * 7 * 24 * time.Hour

// SendInput says how a version goes out, and to whom.
type SendInput struct {
	VersionID VersionID
	Way       Way
	ToName    string
	// Address is needed for a letter by e-mail.
	Address string
	// Words open the letter; empty for the usual ones.
	Words string
}

// Sent is a version that went out.
type Sent struct {
	SendingID int64
	VersionID VersionID
	CardID    jobcard.CardID
	// LinkID is the link that was made, 0 on paper.
	LinkID link.ID
}

func (in SendInput) clean() (SendInput, error) {
	f := apperr.Fields{}
	if !slices.Contains(Ways, in.Way) {
		f.Add("way", "say how it goes out: by e-mail, as a link or on paper")
	}
	in.ToName = f.Line("to_name", in.ToName, jobcard.MaxShort)
	f.Must("to_name", in.ToName, "the name of who it goes to")
	in.Words = f.Prose("words", in.Words, MaxLetter)
	if in.Way == ByMail {
		at, err := post.Address(in.Address)
		if err != nil {
			f.Add("address", "%s", err.Error())
		}
		in.Address = at
	} else {
		in.Address = f.Line("address", in.Address, jobcard.MaxShort)
	}
	return in, f.Err()
}

// Send notes that a version goes out: as a letter with the version as PDF and
// a link in it, as a link that somebody passes on, or on paper. Only a version
// that can still be agreed to goes out. Errors: fields way, to_name, address,
// words; Conflict.
func (s *Service) Send(ctx context.Context, who actor.Actor, in SendInput) (Sent, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Sent{}, err
	}
	in, err := in.clean()
	if err != nil {
		return Sent{}, err
	}
	var file []byte
	if in.Way == ByMail {
		if !s.mail.Sends() {
			return Sent{}, apperr.Field("way", "%s Choose the link, and send it from there.", s.mail.WhyNot())
		}
		// A version never changes, so it may be set before the transaction.
		v, err := ReadVersion(ctx, s.db.Pool, in.VersionID)
		if err != nil {
			return Sent{}, err
		}
		var b bytes.Buffer
		if err := v.Paper("").Write(&b); err != nil {
			return Sent{}, fmt.Errorf("set the quote as PDF: %w", err)
		}
		file = b.Bytes()
	}
	return change.Do(ctx, s.db, who, "send quote", in, func(ctx context.Context, tx *change.Tx) (Sent, error) {
		v, err := lockVersion(ctx, tx, in.VersionID)
		if err != nil {
			return Sent{}, err
		}
		if why, ok := v.Answerable(tx.At); !ok {
			return Sent{}, apperr.New(apperr.Conflict, "this version cannot go out any more. %s", why)
		}
		return s.send(ctx, tx, v, in, file)
	})
}

func (s *Service) send(ctx context.Context, tx *change.Tx, v *Version, in SendInput, file []byte) (Sent, error) {
	out := Sent{VersionID: v.ID, CardID: v.CardID}
	var letter post.ID
	if in.Way != OnPaper {
		m, err := link.Mint(ctx, tx, link.NewLink{Purpose: link.Quote, Target: int64(v.ID), CardID: v.CardID, GivenTo: in.ToName, Until: v.ValidUntil.Add(ReadOn)})
		if err != nil {
			return Sent{}, err
		}
		out.LinkID = m.ID
		if in.Way == ByMail {
			letter, err = post.Put(ctx, tx, post.Letter{
				About: "quote", AboutID: int64(v.ID), CardID: v.CardID, ToName: in.ToName, To: in.Address,
				FromName: v.Garage.Name, ReplyTo: v.Garage.Email, Subject: v.Subject(), Text: v.Letter(in.ToName, in.Words, s.public(m.Path())),
				Files: []post.File{{Name: v.FileName(), MediaType: "application/pdf", Content: file}},
			})
			if err != nil {
				return Sent{}, err
			}
		}
	}
	err := tx.QueryRow(ctx, `
		insert into quote_sending (version_id, way, to_name, to_address, link_id, letter_id, at, by_staff)
		values ($1, $2, $3, $4, nullif($5::bigint, 0), nullif($6::bigint, 0), $7, nullif($8::bigint, 0)) returning id`,
		v.ID, in.Way, in.ToName, in.Address, out.LinkID, letter, tx.At, tx.Who.StaffID).Scan(&out.SendingID)
	if err != nil {
		return Sent{}, fmt.Errorf("note the sending: %w", err)
	}
	tx.Record("quote sent", int64(v.CardID), v.Title(), map[string]any{"version": v.ID, "way": in.Way, "sending": out.SendingID, "link": out.LinkID})
	return out, nil
}

// Subject is what stands over a letter with the version.
func (v *Version) Subject() string {
	return v.Title() + " for your " + strings.TrimSpace(v.Car.Name+" "+v.Car.Mark)
}

// FileName is what the version is called as a file.
func (v *Version) FileName() string {
	return "quote-" + strings.ReplaceAll(v.Name(), "/", "-") + ".pdf"
}

// Letter is the text that the version goes out with; address is where it can
// be answered.
func (v *Version) Letter(toName, words, address string) string {
	if words == "" {
		words = "here is our " + strings.ToLower(v.Kind.Title()) + " for the work on your " + v.Car.Name + "."
	}
	to := v.Garage.Money().Format(v.Totals.Gross)
	sign := v.Garage.Name
	for _, s := range []string{v.Garage.Phone, v.Garage.Email} {
		if s != "" {
			sign += "\n" + s
		}
	}
	return fmt.Sprintf("Dear %s,\n\n%s\n\nAll that is listed comes to %s%s.\n\nPlease look at it and say yes or no to each line here:\n%s\n\n"+
		"It can be agreed to until %s. %s\n\n%s\n", toName, words, to, v.Garage.WithTax(), address, v.LastDay().Long(), v.Kind.Means(), sign)
}

// WithdrawInput takes a version back.
type WithdrawInput struct {
	VersionID VersionID
	Reason    string
}

// Withdraw takes a version back: it can be answered no more, its links open
// nothing, and letters with it that still wait are not sent. What was agreed on it before stands. Errors: field reason; Conflict
// when it is withdrawn already.
func (s *Service) Withdraw(ctx context.Context, who actor.Actor, in WithdrawInput) (Sent, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Sent{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, jobcard.MaxShort)
	f.Must("reason", in.Reason, "why it is taken back")
	if err := f.Err(); err != nil {
		return Sent{}, err
	}
	return change.Do(ctx, s.db, who, "withdraw quote", in, func(ctx context.Context, tx *change.Tx) (Sent, error) {
		v, err := lockVersion(ctx, tx, in.VersionID)
		if err != nil {
			return Sent{}, err
		}
		if !v.Withdrawn.At.IsZero() {
			return Sent{}, apperr.New(apperr.Conflict, "this version was withdrawn already")
		}
		_, err = tx.Exec(ctx, `insert into quote_withdrawal (version_id, reason, at, by_staff) values ($1, $2, $3, nullif($4::bigint, 0))`,
			v.ID, in.Reason, tx.At, tx.Who.StaffID)
		if err != nil {
			return Sent{}, fmt.Errorf("withdraw the version: %w", err)
		}
		n, err := link.RevokeOf(ctx, tx, link.Quote, int64(v.ID))
		if err != nil {
			return Sent{}, err
		}
		letters, err := post.WithdrawOf(ctx, tx, "quote", int64(v.ID))
		if err != nil {
			return Sent{}, err
		}
		tx.Record("quote withdrawn", int64(v.CardID), v.Title(), map[string]any{"version": v.ID, "reason": in.Reason, "links": n, "letters": letters})
		return Sent{VersionID: v.ID, CardID: v.CardID}, nil
	})
}
