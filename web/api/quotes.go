package api

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/money"
	"rampside/internal/quote"
)

// VersionAt is one version of a quote in the address.
type VersionAt struct {
	Version quote.VersionID `path:"version" minimum:"1"`
}

// QuoteBody is a new version of a card's quote.
type QuoteBody struct {
	Kind    quote.Kind  `json:"kind"`
	LastDay Day         `json:"last_day,omitzero" doc:"The last day on which it can be agreed to; a fortnight from today when left out."`
	Note    string      `json:"note,omitempty" maxLength:"8000" doc:"Words to the customer."`
	Waits   []WaitsBody `json:"if_waits,omitempty" maxItems:"100"`
}

// WaitsBody says what happens if the work on a line waits.
type WaitsBody struct {
	LineID jobcard.LineID `json:"line_id" minimum:"1"`
	Words  string         `json:"words" maxLength:"1200"`
}

func (b QuoteBody) input(card jobcard.CardID) quote.MakeInput {
	in := quote.MakeInput{CardID: card, Kind: b.Kind, LastDay: b.LastDay.Day, Note: b.Note, IfWaits: map[jobcard.LineID]string{}}
	for _, w := range b.Waits {
		in.IfWaits[w.LineID] = w.Words
	}
	return in
}

// QuoteMade is the version that was made.
type QuoteMade struct {
	VersionID quote.VersionID `json:"version_id"`
	CardID    jobcard.CardID  `json:"card_id"`
	Name      string          `json:"name" doc:"The quote's number and the version's, such as 2001/2."`
}

// SendBody says how a version goes out, and to whom.
type SendBody struct {
	Way     quote.Way `json:"way"`
	ToName  string    `json:"to_name" maxLength:"400"`
	Address string    `json:"address,omitempty" maxLength:"1000" doc:"Needed for an e-mail."`
	Words   string    `json:"words,omitempty" maxLength:"16000" doc:"To open the letter with."`
}

// QuoteSent is a version that went out.
type QuoteSent struct {
	SendingID int64           `json:"sending_id"`
	VersionID quote.VersionID `json:"version_id"`
	CardID    jobcard.CardID  `json:"card_id"`
	LinkID    link.ID         `json:"link_id,omitempty"`
	Address   string          `json:"link_address,omitempty" doc:"Where the customer can answer: whoever has it can. Absent on paper."`
}

// QuoteAnswerBody is what the customer said to a version at one time.
type QuoteAnswerBody struct {
	Jobs      []JobAnswerBody `json:"jobs" minItems:"1" maxItems:"100"`
	SaidBy    string          `json:"said_by" maxLength:"400"`
	How       Way             `json:"how" doc:"Anything but by link."`
	SaidAt    Time            `json:"said_at,omitzero" doc:"Now when left out."`
	UpTo      *money.Minor    `json:"up_to_minor,omitempty" minimum:"0" maximum:"999999999" doc:"How far the yes reaches, with VAT. Needed for a yes by phone."`
	Signature string          `json:"signature,omitempty" maxLength:"20000" doc:"Strokes in a box of 600 by 200: points as x,y with blanks between them, semicolons between strokes."`
	Note      string          `json:"note,omitempty" maxLength:"8000"`
}

// JobAnswerBody is the answer to one line.
type JobAnswerBody struct {
	LineID     jobcard.LineID  `json:"line_id" minimum:"1"`
	Answer     jobcard.Consent `json:"answer" doc:"Agreed or declined."`
	Understood bool            `json:"understood,omitempty" doc:"They were told what leaving a dangerous line means. Without it such a line cannot be declined."`
}

func (b QuoteAnswerBody) input(id quote.VersionID) quote.AnswerInput {
	return quote.AnswerInput{
		VersionID: id, SaidBy: b.SaidBy, How: string(b.How), SaidAt: b.SaidAt.Time, UpTo: b.UpTo, Signature: b.Signature, Note: b.Note,
		Jobs: list(b.Jobs, func(j JobAnswerBody) quote.JobAnswer { return quote.JobAnswer(j) }),
	}
}

// place gives the field of this body that a service means: it names jobs by
// their lines, the body has them in a list.
func (b QuoteAnswerBody) place(name string) string {
	field, line, ok := strings.Cut(name, ".")
	if !ok {
		return name
	}
	i := slices.IndexFunc(b.Jobs, func(j JobAnswerBody) bool { return strconv.FormatInt(int64(j.LineID), 10) == line })
	return fmt.Sprintf("jobs.%d.%s", max(i, 0), field)
}

// QuoteAnswered is what came of an answer.
type QuoteAnswered struct {
	VersionID quote.VersionID `json:"version_id"`
	CardID    jobcard.CardID  `json:"card_id"`
	AnswerID  int64           `json:"answer_id,omitempty" doc:"The record that was made; absent when all of it was on record already."`
	Agreed    int             `json:"agreed"`
	Declined  int             `json:"declined"`
	Same      int             `json:"same" doc:"Lines whose answer stood already."`
}

func (a *API) quoteOperations() {
	const tag = "Quotes"
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/quotes", id: "list-quotes", need: actor.SendQuote, tag: tag,
		short: "The versions of a card's quote, the newest first",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (QuoteVersions, error) {
		all, err := a.Quotes.List(ctx, who, in.Card)
		if err != nil {
			return QuoteVersions{}, err
		}
		out := QuoteVersions{Versions: list(all, briefOf)}
		out.Currency, err = a.currency(ctx, who)
		return out, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/quotes", id: "make-quote", need: actor.SendQuote, tag: tag, status: http.StatusCreated,
		short: "Issue a new version of a card's quote",
		long:  "It holds what the card comes to now and stays as it is. Earlier versions are superseded by it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body QuoteBody
	}) (QuoteMade, error) {
		m, err := a.Quotes.Make(ctx, who, in.Body.input(in.Card))
		err = moved(err, func(name string) string {
			_, line, ok := strings.Cut(name, "if_waits.")
			i := slices.IndexFunc(in.Body.Waits, func(w WaitsBody) bool { return strconv.FormatInt(int64(w.LineID), 10) == line })
			if !ok || i < 0 {
				return name
			}
			return fmt.Sprintf("if_waits.%d.words", i)
		})
		return QuoteMade{m.VersionID, m.CardID, fmt.Sprintf("%d/%d", m.Number, m.No)}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/quotes/compare", id: "compare-quotes", need: actor.SendQuote, tag: tag,
		short: "What changed from one version to another",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		A int `query:"a" minimum:"1" maximum:"999" doc:"Number of a version: 1 is the first. The one before b when left out."`
		B int `query:"b" minimum:"1" maximum:"999" doc:"The newest when left out."`
	}) (QuoteComparison, error) {
		c, err := a.Quotes.Compare(ctx, who, in.Card, in.A, in.B)
		if err != nil {
			return QuoteComparison{}, err
		}
		return comparisonOf(c), nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/quotes/{version}", id: "get-quote", need: actor.SendQuote, tag: tag,
		short: "A version of a quote: what it holds, how it went out, and what was said to it",
	}, func(ctx context.Context, who actor.Actor, in *VersionAt) (QuoteVersion, error) {
		v, err := a.Quotes.Read(ctx, who, in.Version)
		if err != nil {
			return QuoteVersion{}, err
		}
		return versionOf(v, a.Quotes.Now()), nil
	})
	a.quoteFile()
	register(a, operation{
		method: http.MethodPost, path: "/quotes/{version}/sendings", id: "send-quote", need: actor.SendQuote, tag: tag, status: http.StatusCreated,
		short: "Send a version: as a letter with PDF and link, as a link, or on paper",
		long:  "A letter is sent after this has answered; get-quote tells what became of it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		VersionAt
		Body SendBody
	}) (QuoteSent, error) {
		s, err := a.Quotes.Send(ctx, who, quote.SendInput{
			VersionID: in.Version, Way: in.Body.Way, ToName: in.Body.ToName, Address: in.Body.Address, Words: in.Body.Words,
		})
		out := QuoteSent{s.SendingID, s.VersionID, s.CardID, s.LinkID, ""}
		if err == nil && s.LinkID != 0 {
			out.Address, err = a.Quotes.Address(ctx, who, s.LinkID)
		}
		return out, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/quotes/{version}/answers", id: "answer-quote", need: actor.RecordConsent, tag: tag,
		short: "Record what the customer said to a version",
		long:  "A yes is to the version's price of a line. What was said before already is no change.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		VersionAt
		Body QuoteAnswerBody
	}) (QuoteAnswered, error) {
		d, err := a.Quotes.Answer(ctx, who, in.Body.input(in.Version))
		return QuoteAnswered{d.VersionID, d.CardID, d.Sitting, d.Agreed, d.Refused, d.Same}, moved(err, in.Body.place)
	})
	register(a, operation{
		method: http.MethodPost, path: "/quotes/{version}/withdraw", id: "withdraw-quote", need: actor.SendQuote, tag: tag,
		short: "Take a version back: it can be answered no more",
		long:  "Its links open nothing any more. What was agreed on it before stands.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		VersionAt
		Body ReasonBody
	}) (QuoteMade, error) {
		s, err := a.Quotes.Withdraw(ctx, who, quote.WithdrawInput{VersionID: in.Version, Reason: in.Body.Reason})
		if err != nil {
			return QuoteMade{}, err
		}
		return QuoteMade{VersionID: s.VersionID, CardID: s.CardID}, nil
	})
}

func (a *API) quoteFile() {
	d := a.declare(operation{method: http.MethodGet, path: "/quotes/{version}/pdf", id: "get-quote-pdf", need: actor.SendQuote, tag: "Quotes", short: "A version of a quote on A4, as PDF"})
	d.Responses["200"] = &huma.Response{Description: "The version.", Content: map[string]*huma.MediaType{
		"application/pdf": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *VersionAt) (*huma.StreamResponse, error) {
		v, err := a.Quotes.Read(ctx, whoAsks(ctx), in.Version)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		var b bytes.Buffer
		if err := v.Paper("").Write(&b); err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/pdf")
			_, _ = c.BodyWriter().Write(b.Bytes()) // a failure is a client that went away
		}}, nil
	})
}
