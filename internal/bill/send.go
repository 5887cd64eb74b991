package bill

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/post"
)

// SendInput sends a document by mail, as PDF.
type SendInput struct {
	BillID ID
	To     string
	// Text is the letter; the usual one when empty.
	Text string
	// WithXML puts the electronic invoice in as well.
	WithXML bool
}

// about is what letters are found again by.
const about = "bill"

// FileName is what the document's files are called, without their ending.
func (d Document) FileName() string { return SafeName(string(d.Kind) + " " + d.Number) }

// SafeName is a name for a file that every system takes.
func SafeName(s string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case c >= '0' && c <= '9', c >= 'A' && c <= 'Z', c >= 'a' && c <= 'z', c == '-':
			return c
		}
		return '-'
	}, s)
}

// PDF sets the document on A4.
func (d Document) PDF() ([]byte, error) {
	var b bytes.Buffer
	if err := d.Printed().Write(&b); err != nil {
		return nil, fmt.Errorf("set %s %s as PDF: %w", d.Kind, d.Number, err)
	}
	return b.Bytes(), nil
}

// Subject is that of the letter which the document goes out with.
func (d Document) Subject() string { return d.Title() + " " + d.Number + " from " + d.Seller.Name }

// Letter is what is usually written with the document.
func (d Document) Letter() string {
	out := "Dear " + d.Buyer.Name + ",\n\n"
	switch {
	case d.Kind == CreditNote:
		out += "here is credit note " + d.Number + " for bill " + d.OfNumber + ", " + d.Currency.Format(-d.Sum.Totals.Gross) + "."
	case d.Open() > 0:
		out += "here is bill " + d.Number + " for " + d.Car + ": " + d.Currency.Format(d.Open()) + " to pay by " + DayWords(d.Due) + "."
	default:
		out += "here is bill " + d.Number + " for " + d.Car + ". It is paid; thank you."
	}
	return out + "\n\n" + d.Seller.Name + "\n" + d.Seller.Phone
}

// Send puts a letter with a document in the post. Errors: NotFound, Invalid at
// to and text, Conflict where the electronic invoice lacks something.
func (s *Service) Send(ctx context.Context, who actor.Actor, in SendInput) (post.ID, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return 0, err
	}
	to, err := post.Address(in.To)
	if err != nil {
		return 0, apperr.Field("to", "%s", err)
	}
	in.To = to
	// The files are made before the change, so that no connection waits for
	// them. What was issued stays as it is; what was paid since is as of now.
	d, err := Read(ctx, s.db.Pool, in.BillID)
	if err != nil {
		return 0, err
	}
	files, err := s.files(ctx, who, d, in.WithXML)
	if err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "send a bill", in, func(ctx context.Context, tx *change.Tx) (post.ID, error) {
		return post.Put(ctx, tx, post.Letter{
			About: about, AboutID: int64(d.ID), CardID: d.CardID, ToName: d.Buyer.Name, To: in.To, FromName: d.Seller.Name, ReplyTo: d.Seller.Email,
			Subject: d.Subject(), Text: or(in.Text, d.Letter()), Files: files,
		})
	})
}

func (s *Service) files(ctx context.Context, who actor.Actor, d Document, withXML bool) ([]post.File, error) {
	pdf, err := d.PDF()
	if err != nil {
		return nil, err
	}
	out := []post.File{{Name: d.FileName() + ".pdf", MediaType: "application/pdf", Content: pdf}}
	if !withXML {
		return out, nil
	}
	e, err := s.Electronic(ctx, who, d.ID)
	if err != nil {
		return nil, err
	}
	for i, one := range e.Docs {
		b, err := e.File(i == 1)
		if err != nil {
			return nil, err
		}
		out = append(out, post.File{Name: SafeName(one.Number) + ".xml", MediaType: "application/xml", Content: b})
	}
	return out, nil
}

// Letters are the letters that a document went out with, the newest first.
func (s *Service) Letters(ctx context.Context, who actor.Actor, id ID) ([]post.Status, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	all, err := post.Of(ctx, s.db.Pool, about, int64(id))
	slices.Reverse(all)
	return all, err
}
