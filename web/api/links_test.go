package api

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"rampside/internal/change"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/post"
	"rampside/internal/quote"
)

// linking goes through the links that customers are given, and the letters.
func (s *site) linking() {
	t := s.t
	t.Helper()
	card := s.Book(cardtest.Op(s.Service))
	made := as[QuoteMade](s.post("desk", fmt.Sprintf("/cards/%d/quotes", card.ID), obj{"kind": quote.Estimate}), 201)
	until := s.Clock.Add(48 * time.Hour).Format(time.RFC3339)
	body := obj{"purpose": "quote", "target_id": made.VersionID, "until": until}
	l := as[LinkMade](s.post("desk", "/links", body), 201)
	if !strings.HasPrefix(l.Address, "https://jobs.garage.test/your-car/") || len(l.Address) != len("https://jobs.garage.test/your-car/")+48 {
		t.Errorf("the address is %q", l.Address)
	}
	as[LinkMade](s.post("owner", "/links", body), 201)
	of := fmt.Sprintf("/cards/%d/links", card.ID)
	all := as[Links](s.get("desk", of), 200).Links
	if len(all) != 2 || all[1].ID != l.ID || all[1].GivenTo != "Odette Marlowe" || all[1].Opened != 0 || all[1].CardID != card.ID {
		t.Errorf("links %+v", all)
	}
	if v := as[LinkView](s.delete("desk", fmt.Sprintf("/links/%d", l.ID)), 200); v.Withdrawn.IsZero() {
		t.Errorf("withdrawn %+v", v)
	}
	if n := as[LinksWithdrawn](s.delete("desk", of), 200); n.Withdrawn != 1 {
		t.Errorf("withdrawn %+v", n)
	}
	for _, bad := range []obj{
		{"purpose": "quote", "target_id": 999, "until": until}, {"purpose": "bill", "target_id": 1, "until": until},
		{"purpose": "quote", "target_id": made.VersionID, "until": "2020-01-01T00:00:00Z"},
	} {
		if r := s.post("desk", "/links", bad); r.Status != 404 && r.Status != 422 {
			t.Errorf("%v: %d", bad, r.Status)
		}
	}
	if r := s.post("posy", "/links", body); r.Status != 403 {
		t.Errorf("a technician makes a link: %d", r.Status)
	}

	put := func(subject string) post.ID {
		id, err := change.Do(t.Context(), s.DB, s.Desk, "send", subject, func(ctx context.Context, tx *change.Tx) (post.ID, error) {
			return post.Put(ctx, tx, post.Letter{About: "test", AboutID: 1, CardID: card.ID, To: "odette@example.org", Subject: subject, Text: "Here it is."})
		})
		s.OK(err)
		return id
	}
	one := put("Your quote")
	letters := as[Letters](s.get("desk", "/letters?state=waiting"), 200)
	found := false
	for _, x := range letters.Letters {
		found = found || x.ID == one && x.To == "odette@example.org" && x.State == post.Waiting && x.Done.IsZero() && !x.NextTry.IsZero()
	}
	if !letters.Sends || letters.WhyNot != "" || !found {
		t.Errorf("letters %+v", letters)
	}
	as[LetterChanged](s.post("desk", fmt.Sprintf("/letters/%d/again", one), obj{}), 200)
	as[LetterChanged](s.post("desk", fmt.Sprintf("/letters/%d/withdraw", one), obj{}), 200)
	if gone := as[Letters](s.get("desk", "/letters?state=withdrawn"), 200).Letters; len(gone) != 1 || gone[0].ID != one || gone[0].Done.IsZero() {
		t.Errorf("withdrawn %+v", gone)
	}
	if r := s.get("posy", "/letters"); r.Status != 403 {
		t.Errorf("a technician reads letters: %d", r.Status)
	}
}

func TestLinksAndLettersAreKeptByPrograms(t *testing.T) { newSite(t).linking() }
