package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
)

// quoted issues a version of a card's quote.
func (s *site) quoted(card jobcard.CardID) QuoteMade {
	s.t.Helper()
	return as[QuoteMade](s.post("desk", fmt.Sprintf("/cards/%d/quotes", card), obj{"kind": "estimate"}), http.StatusCreated)
}

// quoting goes through what is done with quotes.
func (s *site) quoting() {
	t := s.t
	t.Helper()
	c := s.book()
	card := fmt.Sprintf("/cards/%d/quotes", c.ID)
	made := as[QuoteMade](s.post("desk", card, obj{
		"kind": "fixed quotation", "last_day": s.Day.AddDays(7).String(), "note": "Ring us.", "if_waits": []obj{{"line_id": c.Lines[0].ID, "words": "It wears the disc."}},
	}), 201)
	at := fmt.Sprintf("/quotes/%d", made.VersionID)
	v := as[QuoteVersion](s.get("desk", at), 200)
	if v.Name != made.Name || v.Kind != quote.Fixed || v.State != quote.Waiting || len(v.Jobs) != 2 || v.Jobs[0].IfWaits != "It wears the disc." || v.Note != "Ring us." ||
		v.Currency != "GBP" || !v.Jobs[0].Open || v.Jobs[0].Lines[0].Key != fmt.Sprintf("line:%d", c.Lines[0].ID) {
		t.Errorf("the version is %+v", v)
	}
	if v.Totals.Gross != v.Jobs[0].Gross+v.Jobs[1].Gross {
		t.Errorf("%d and %d come to %d", v.Jobs[0].Gross, v.Jobs[1].Gross, v.Totals.Gross)
	}
	if pdf := s.get("desk", at+"/pdf"); pdf.Status != 200 || !strings.HasPrefix(string(pdf.Raw), "%PDF-") {
		t.Errorf("%d", pdf.Status)
	}
	sent := as[QuoteSent](s.post("desk", at+"/sendings", obj{"way": "e-mail", "to_name": "Odette Marlowe", "address": "odette@example.org"}), 201)
	if sent.LinkID == 0 || !strings.HasPrefix(sent.Address, "https://jobs.garage.test/your-car/") {
		t.Errorf("sent %+v", sent)
	}
	done := as[QuoteAnswered](s.post("desk", at+"/answers", obj{
		"said_by": "Odette Marlowe", "how": "by phone", "up_to_minor": 50_000,
		"jobs": []obj{{"line_id": c.Lines[0].ID, "answer": "agreed"}, {"line_id": c.Lines[1].ID, "answer": "declined"}},
	}), 200)
	if done.Agreed != 1 || done.Declined != 1 || done.AnswerID == 0 {
		t.Errorf("answered %+v", done)
	}
	v = as[QuoteVersion](s.get("desk", at), 200)
	if v.State != quote.Answered || len(v.Answers) != 2 || *v.Answers[0].UpTo != 50_000 || v.Sendings[0].LetterState != "waiting" {
		t.Errorf("the version is %+v", v)
	}
	s.quoted(c.ID)
	all := as[QuoteVersions](s.get("owner", card), 200)
	if len(all.Versions) != 2 || all.Versions[1].State != quote.Superseded || all.Currency != "GBP" || all.Versions[1].Sent != 1 {
		t.Errorf("versions %+v", all)
	}
	change := as[QuoteComparison](s.get("desk", card+"/compare?a=1&b=2"), 200)
	if len(change.Jobs) != 2 || change.By >= 0 || !change.Kind || change.Jobs[1].Change != quote.Gone {
		t.Errorf("changed %+v", change)
	}
	as[QuoteMade](s.post("desk", fmt.Sprintf("/quotes/%d/withdraw", all.Versions[0].ID), obj{"reason": "wrong pads"}), 200)
}

func TestWhatIsWrongWithAQuoteIsSaidAtItsPlace(t *testing.T) {
	s := newSite(t)
	c := s.book()
	card := fmt.Sprintf("/cards/%d/quotes", c.ID)
	if p := s.post("desk", card, obj{"kind": "estimate", "last_day": "2020-01-01"}).problem(422, "invalid"); p.at("#/last_day") == "" {
		t.Errorf("%+v", p)
	}
	if p := s.post("desk", card, obj{"kind": "estimate", "if_waits": []obj{{"line_id": c.Lines[0].ID, "words": strings.Repeat("x", 301)}}}).problem(422, "invalid"); p.at("#/if_waits/0/words") == "" {
		t.Errorf("%+v", p)
	}
	s.post("posy", card, obj{"kind": "estimate"}).problem(http.StatusForbidden, "forbidden")
	s.get("posy", card).problem(http.StatusForbidden, "forbidden")
	_, err := s.DB.Pool.Exec(t.Context(), `insert into finding (card_id, severity, what, proposed_line_id, at) values ($1, 'dangerous', 'Worn out', $2, $3)`, c.ID, c.Lines[0].ID, s.Clock)
	s.OK(err)
	at := fmt.Sprintf("/quotes/%d", s.quoted(c.ID).VersionID)
	no := obj{"said_by": "Odette Marlowe", "how": "in person", "jobs": []obj{{"line_id": c.Lines[1].ID, "answer": "declined"}, {"line_id": c.Lines[0].ID, "answer": "declined"}}}
	if p := s.post("desk", at+"/answers", no).problem(422, "invalid"); p.at("#/jobs/1/understood") == "" {
		t.Errorf("%+v", p)
	}
	if p := s.post("desk", at+"/sendings", obj{"way": "e-mail", "to_name": "Odette Marlowe", "address": "nobody"}).problem(422, "invalid"); p.at("#/address") == "" {
		t.Errorf("%+v", p)
	}
	s.Clock = s.Clock.Add(20 * 24 * time.Hour)
	s.post("desk", at+"/answers", no).problem(http.StatusConflict, "conflict")
	s.get("desk", "/quotes/987").problem(http.StatusNotFound, "not-found")
}
