package books

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/post"
)

// AboutStatement is what letters with statements are about; their number is the
// customer's.
const AboutStatement = "statement"

// MailInput is a statement to be sent.
type MailInput struct {
	CustomerID customer.ID
	Period     Period
	To         string // a mail address
	Text       string // what the letter says
}

// Mailed names the letter.
type Mailed struct{ LetterID post.ID }

// Mail sends a statement as PDF. The letter goes out after the change; how it
// fares is asked of post. Errors: Forbidden, NotFound; Invalid at from, to_day,
// to and text.
func (s *Service) Mail(ctx context.Context, who actor.Actor, in MailInput) (Mailed, error) {
	st, err := s.Statement(ctx, who, in.CustomerID, in.Period)
	if err != nil {
		return Mailed{}, err
	}
	pdf, err := st.PDF()
	if err != nil {
		return Mailed{}, err
	}
	return change.Do(ctx, s.db, who, "books.mail_statement", in, func(ctx context.Context, tx *change.Tx) (Mailed, error) {
		id, err := post.Put(ctx, tx, post.Letter{
			About: AboutStatement, AboutID: int64(in.CustomerID), ToName: st.Customer.Name, To: in.To, FromName: st.Garage.Name, ReplyTo: st.Garage.Email,
			Subject: "Statement of account from " + st.Garage.Name, Text: in.Text,
			Files: []post.File{{Name: st.FileName(), MediaType: "application/pdf", Content: pdf}},
		})
		if err != nil {
			return Mailed{}, err
		}
		tx.Record("statement.mailed", 0, "customer", map[string]any{
			"customer": in.CustomerID, "from": st.Period.From.String(), "to": st.Period.To.String(), "owed_minor": st.Closing, "letter": id,
		})
		return Mailed{id}, nil
	})
}

// Letters are the statements that went to a customer, the newest first.
func (s *Service) Letters(ctx context.Context, who actor.Actor, id customer.ID) ([]post.Status, error) {
	if err := who.Need(actor.SeeAccounts); err != nil {
		return nil, err
	}
	return post.Of(ctx, s.db.Pool, AboutStatement, int64(id))
}
