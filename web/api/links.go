package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/post"
)

// LinkView is a link that was given to a customer.
type LinkView struct {
	ID          link.ID        `json:"id"`
	Purpose     link.Purpose   `json:"purpose"`
	Target      int64          `json:"target_id" doc:"The version of a quote, the bill or the handover that it leads to."`
	CardID      jobcard.CardID `json:"card_id,omitempty"`
	GivenTo     string         `json:"given_to"`
	Made        Time           `json:"made_at"`
	Until       Time           `json:"until"`
	Withdrawn   Time           `json:"withdrawn_at,omitzero" doc:"Absent while it stands."`
	Opened      int            `json:"opened" doc:"How often the customer opened it."`
	FirstOpened Time           `json:"first_opened_at,omitzero"`
	LastOpened  Time           `json:"last_opened_at,omitzero"`
}

func linkOf(l link.Link) LinkView {
	return LinkView{
		l.ID, l.Purpose, l.Target, l.CardID, l.GivenTo, at(l.MadeAt), at(l.Until), at(l.WithdrawnAt), l.Opened, at(l.FirstOpened), at(l.LastOpened),
	}
}

// Links lists the links of a card, the newest first.
type Links struct {
	Links []LinkView `json:"links"`
}

// LinkBody asks for a link.
type LinkBody struct {
	Purpose link.Purpose `json:"purpose"`
	Target  int64        `json:"target_id" minimum:"1" doc:"The version of a quote, the bill or the handover that it leads to."`
	GivenTo string       `json:"given_to,omitempty" maxLength:"400" doc:"Whose answers it takes; left out, the customer's."`
	Until   Time         `json:"until" doc:"After this it opens nothing."`
}

// LinkMade is a link with its address.
type LinkMade struct {
	ID      link.ID `json:"id"`
	Address string  `json:"address" doc:"Whoever has this may see what it leads to. The secret part of it is kept nowhere."`
}

// LinksWithdrawn is how many links were withdrawn.
type LinksWithdrawn struct {
	Withdrawn int `json:"withdrawn"`
}

// LetterView is how things stand with a letter.
type LetterView struct {
	ID      post.ID        `json:"id"`
	About   string         `json:"about,omitempty" doc:"What it is about, such as quote; about_id is which."`
	AboutID int64          `json:"about_id,omitempty"`
	CardID  jobcard.CardID `json:"card_id,omitempty"`
	ToName  string         `json:"to_name,omitempty"`
	To      string         `json:"to"`
	Subject string         `json:"subject"`
	State   post.State     `json:"state"`
	Tries   int            `json:"tries"`
	Trouble string         `json:"trouble,omitempty" doc:"What went wrong at the last try, in the mail server's words."`
	NextTry Time           `json:"next_try_at,omitzero" doc:"Present while it waits."`
	Written Time           `json:"written_at"`
	Done    Time           `json:"done_at,omitzero" doc:"When it was sent, given up or withdrawn."`
}

func letterOf(s post.Status) LetterView {
	return LetterView{
		s.ID, s.About, s.AboutID, s.CardID, s.ToName, s.To, s.Subject, s.State, s.Tries, s.Trouble, at(s.NextTry), at(s.At), at(s.DoneAt),
	}
}

// Letters lists letters, the newest first, at most 200.
type Letters struct {
	Sends   bool         `json:"sends" doc:"Whether this server sends letters by itself."`
	WhyNot  string       `json:"why_not,omitempty"`
	Letters []LetterView `json:"letters"`
}

// LetterChanged is a letter that was tried again or withdrawn.
type LetterChanged struct {
	ID post.ID `json:"id"`
}

// LetterAt is one letter in the address.
type LetterAt struct {
	Letter post.ID `path:"letter" minimum:"1"`
}

func (a *API) linkOperations() {
	const tag = "Links"
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/links", id: "list-links", need: actor.SendQuote, tag: tag,
		short: "The links that customers were given to a card, the newest first",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (Links, error) {
		all, err := a.Links.OfCard(ctx, who, in.Card)
		return Links{list(all, linkOf)}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/links", id: "make-link", need: actor.SendQuote, tag: tag, status: http.StatusCreated,
		short: "Make a link that a customer can open without an account",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body LinkBody }) (LinkMade, error) {
		id, err := a.Links.Make(ctx, who, link.NewLink{Purpose: in.Body.Purpose, Target: in.Body.Target, GivenTo: in.Body.GivenTo, Until: in.Body.Until.Time})
		if err != nil {
			return LinkMade{}, moved(err, func(name string) string {
				if name == "target" {
					return "target_id"
				}
				return name
			})
		}
		address, err := a.Quotes.Address(ctx, who, id)
		return LinkMade{id, address}, err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/links/{link}", id: "withdraw-link", need: actor.SendQuote, tag: tag,
		short: "Withdraw a link: it opens nothing any more",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Link link.ID `path:"link" minimum:"1"`
	}) (LinkView, error) {
		l, err := a.Links.Revoke(ctx, who, in.Link)
		return linkOf(l), err
	})
	register(a, operation{
		method: http.MethodDelete, path: "/cards/{card}/links", id: "withdraw-links", need: actor.SendQuote, tag: tag,
		short: "Withdraw every link of a card",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (LinksWithdrawn, error) {
		n, err := a.Links.RevokeCard(ctx, who, in.Card)
		return LinksWithdrawn{n}, err
	})
}

func (a *API) letterOperations() {
	const tag = "Letters"
	register(a, operation{
		method: http.MethodGet, path: "/letters", id: "list-letters", need: actor.SendQuote, tag: tag,
		short: "The letters that were written and what became of them",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		State string `query:"state" enum:"waiting,sent,failed,withdrawn" doc:"Only those; left out, all."`
	}) (Letters, error) {
		all, err := a.Post.List(ctx, who, post.State(in.State))
		return Letters{a.Post.Sends(), a.Post.WhyNot(), list(all, letterOf)}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/letters/{letter}/again", id: "send-letter-again", need: actor.SendQuote, tag: tag,
		short: "Try a letter at once that waits or was given up",
	}, func(ctx context.Context, who actor.Actor, in *LetterAt) (LetterChanged, error) {
		id, err := a.Post.Again(ctx, who, in.Letter)
		return LetterChanged{id}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/letters/{letter}/withdraw", id: "withdraw-letter", need: actor.SendQuote, tag: tag,
		short: "Keep a letter that waits from being sent",
	}, func(ctx context.Context, who actor.Actor, in *LetterAt) (LetterChanged, error) {
		id, err := a.Post.Withdraw(ctx, who, in.Letter)
		return LetterChanged{id}, err
	})
}
