package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/books"
	"rampside/internal/customer"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/post"
)

// StatementView is one customer's account over a period.
type StatementView struct {
	CustomerID customer.ID    `json:"customer_id"`
	Customer   string         `json:"customer"`
	From       Day            `json:"from"`
	To         Day            `json:"to"`
	Currency   string         `json:"currency"`
	Opening    money.Minor    `json:"opening_minor"`
	Closing    money.Minor    `json:"closing_minor"`
	Rows       []StatementRow `json:"rows"`
	Open       DebtorView     `json:"open" doc:"At the end of the period, or today if that comes first."`
}

// StatementRow is one entry, and what was owed after it.
type StatementRow struct {
	Day     Day         `json:"day"`
	Sort    ledger.Sort `json:"sort" enum:"bill,credit note,payment,refund"`
	Number  string      `json:"number"`
	Text    string      `json:"text"`
	Amount  money.Minor `json:"amount_minor" doc:"Bills and refunds raise what is owed, credit notes and payments lower it."`
	Balance money.Minor `json:"balance_minor"`
}

// StatementMailBody sends a statement by mail.
type StatementMailBody struct {
	From Day    `json:"from,omitempty"`
	To   Day    `json:"to,omitempty"`
	Mail string `json:"mail" maxLength:"254"`
	Text string `json:"text" maxLength:"4000"`
}

// StatementMailed names the letter.
type StatementMailed struct {
	LetterID post.ID `json:"letter_id"`
}

func (a *API) statementOperations() {
	type asked struct {
		CustomerAt
		PeriodAsked
	}
	register(a, operation{
		method: http.MethodGet, path: "/accounts/customers/{customer}", id: "get-statement", need: actor.SeeAccounts, tag: "Accounts", short: "A customer's statement of account",
	}, func(ctx context.Context, who actor.Actor, in *asked) (StatementView, error) {
		s, err := a.Books.Statement(ctx, who, in.Customer, in.period())
		return statementOf(s), err
	})
	d := a.declare(operation{method: http.MethodGet, path: "/accounts/customers/{customer}/pdf", id: "get-statement-pdf", need: actor.SeeAccounts, tag: "Accounts", short: "A statement on A4, as PDF"})
	d.Responses["200"] = &huma.Response{Description: "The statement.", Content: map[string]*huma.MediaType{
		"application/pdf": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *asked) (*huma.StreamResponse, error) {
		s, err := a.Books.Statement(ctx, whoAsks(ctx), in.Customer, in.period())
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		doc, err := s.PDF()
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/pdf")
			_, _ = c.BodyWriter().Write(doc) // a failure is a client that went away
		}}, nil
	})
	register(a, operation{
		method: http.MethodPost, path: "/accounts/customers/{customer}/mail", id: "mail-statement", need: actor.SeeAccounts, tag: "Accounts", short: "Send a statement by mail",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CustomerAt
		Body StatementMailBody
	}) (StatementMailed, error) {
		b := in.Body
		got, err := a.Books.Mail(ctx, who, books.MailInput{CustomerID: in.Customer, Period: books.Period{From: b.From.Day, To: b.To.Day}, To: b.Mail, Text: b.Text})
		return StatementMailed{got.LetterID}, err
	})
}

func statementOf(s books.Statement) StatementView {
	return StatementView{
		CustomerID: s.Customer.ID, Customer: s.Customer.Name, From: on(s.Period.From), To: on(s.Period.To), Currency: s.Garage.Currency, Opening: s.Opening, Closing: s.Closing,
		Rows: list(s.Rows, func(r ledger.Row) StatementRow {
			return StatementRow{on(r.Day), r.Sort, r.Number, r.Text, r.Amount, r.Balance}
		}),
		Open: debtorOf(s.Debtor),
	}
}
