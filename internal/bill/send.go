package bill

import (
	"context"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
	"rampside/internal/post"
)

// SendInput sends a document by mail, with files that were made of it.
type SendInput struct {
	BillID  ID
	To      string
	Subject string
	Text    string
	WithXML bool
	// Files are made before, outside the transaction, and always the same of the
	// same document: they are left out of what tells a repeat.
	Files []post.File `json:"-"`
}

// about is what letters are found again by.
const about = "bill"

// Send puts a letter with a document in the post. Errors: NotFound, Invalid at
// to and text.
func (s *Service) Send(ctx context.Context, who actor.Actor, in SendInput) (post.ID, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return 0, err
	}
	to, err := post.Address(in.To)
	if err != nil {
		return 0, apperr.Field("to", "%s", err)
	}
	in.To = to
	return change.Do(ctx, s.db, who, "send a bill", in, func(ctx context.Context, tx *change.Tx) (post.ID, error) {
		d, err := scanDocument(tx.QueryRow(ctx, `select `+columns+from+`where b.id = $1`, in.BillID))
		if err != nil {
			return 0, pg.Explain(err, "bill", nil)
		}
		return post.Put(ctx, tx, post.Letter{
			About: about, AboutID: int64(d.ID), CardID: d.CardID, ToName: d.Buyer.Name, To: in.To, FromName: d.Seller.Name, ReplyTo: d.Seller.Email,
			Subject: in.Subject, Text: in.Text, Files: in.Files,
		})
	})
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
