package quoteweb_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/web/ui"
)

func TestAVersionIsMadeSentAndAnsweredWithoutAScript(t *testing.T) {
	s := newSite(t)
	c := s.card()
	at := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	if p := s.get("desk", at); p.status != 200 || !strings.Contains(p.body, "The first version") {
		t.Fatalf("%d\n%s", p.status, p.body)
	}
	p := s.post("desk", at, "kind", "fixed quotation", "last_day", "2026-10-12", "note", "Ring us with any question.", "if_waits."+ui.Itoa(c.Lines[0].ID), "The discs wear out too.")
	if p.status != http.StatusSeeOther || p.location != "/quotes/1" {
		t.Fatalf("%d to %q: %s", p.status, p.location, p.body)
	}
	p = s.get("desk", "/quotes/1")
	for _, want := range []string{
		"Fixed quotation 2001/1", "you pay the prices below and no more", "until", "Monday 12 October 2026", "Ring us with any question.",
		"If it waits: The discs wear out too.", "£127.74", "Pads worn to the metal: measured 0.4 mm, limit 1.5 mm", "the car should not be driven", "Odette Marlowe",
	} {
		if !strings.Contains(p.Text(), want) {
			t.Errorf("the version does not say %q", want)
		}
	}
	p = s.post("desk", "/quotes/1/send", "way", "link", "to_name", "Odette Marlowe", "address", "", "words", "")
	if p.status != http.StatusSeeOther || p.location != "/quotes/1?link=1" {
		t.Fatalf("%d to %q", p.status, p.location)
	}
	p = s.get("desk", p.location)
	address, _ := p.Find("#link-address").Attr("value")
	token, ok := strings.CutPrefix(address, "https://jobs.garage.test/your-car/")
	if !ok {
		t.Fatalf("the link is %q", address)
	}
	if l, over, err := s.links.Open(t.Context(), token); err != nil || over != "" || l.Target != 1 {
		t.Errorf("%+v %s %v", l, over, err)
	}
	if p = s.get("desk", "/quotes/1"); !strings.Contains(p.Text(), "opened Mon 5 Oct") {
		t.Error("the opening is not shown")
	}
	brakes, service := "answer."+ui.Itoa(c.Lines[0].ID), "answer."+ui.Itoa(c.Lines[1].ID)
	p = s.post("desk", "/quotes/1/answers", "how", "by phone", "said_by", "Odette Marlowe", "up_to", "£150", "said_at", "", "signature", "", "note", "", brakes, "agreed", service, "declined")
	if p.status != http.StatusSeeOther {
		t.Fatalf("%d: %s", p.status, p.Find(".problems").Text())
	}
	now := s.Sheet(c.ID)
	if now.Lines[0].Consent != jobcard.Agreed || now.Lines[1].Consent != jobcard.Declined {
		t.Errorf("%s, %s", now.Lines[0].Consent, now.Lines[1].Consent)
	}
	if p = s.get("desk", at+"/record"); !strings.Contains(p.Text(), "Odette Marlowe, by phone, 5 October 2026, 09:00") || !strings.Contains(p.Text(), "up to £150.00 with VAT") {
		t.Errorf("the record: %s", p.Find("main").Text())
	}
}

func TestWhatWasTypedStaysWhereSomethingIsWrong(t *testing.T) {
	s := newSite(t)
	c := s.card()
	at := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	p := s.post("desk", at, "kind", "", "last_day", "2020-01-01", "note", "My words")
	if p.status != 422 || !strings.Contains(p.body, "My words") || p.Find(".field-problem").Length() == 0 {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	p = s.post("desk", at, "kind", "estimate", "last_day", "2020-01-01", "note", "My words")
	if p.status != 422 || !strings.Contains(p.Find(".problems").Text(), "that day is over") {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	id := s.make(c.ID)
	v := "/quotes/" + ui.Itoa(id)
	p = s.post("desk", v+"/send", "way", "e-mail", "to_name", "Odette Marlowe", "address", "odette at example", "words", "Read this")
	if p.status != 422 || !strings.Contains(p.body, "odette at example") || !strings.Contains(p.Text(), "name@example.org") {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	brakes := ui.Itoa(c.Lines[0].ID)
	p = s.post("desk", v+"/answers", "how", "by phone", "said_by", "Odette Marlowe", "up_to", "", "answer."+brakes, "agreed", "note", "in a hurry")
	if p.status != 422 || !strings.Contains(p.Text(), "ask them, and read it back") || !strings.Contains(p.body, "in a hurry") {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	p = s.post("desk", v+"/answers", "how", "in person", "said_by", "Odette Marlowe", "answer."+brakes, "declined")
	if p.status != 422 || !strings.Contains(p.Find(".field-problem").Text(), "was found to be dangerous") {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	p = s.post("desk", v+"/answers", "how", "in person", "said_by", "Odette Marlowe")
	if p.status != 422 || !strings.Contains(p.Find(".problems").Text(), "Say yes or no to one line at least") {
		t.Errorf("%d: %s", p.status, p.Find(".problems").Text())
	}
	if n := len(s.Sheet(c.ID).Consents); n != 0 {
		t.Errorf("%d answers were recorded", n)
	}
}

func TestAnOldVersionShowsTheWayOn(t *testing.T) {
	s := newSite(t)
	c := s.card()
	first := "/quotes/" + ui.Itoa(s.make(c.ID))
	second := "/quotes/" + ui.Itoa(s.make(c.ID))
	for _, path := range []string{first, first + "/send", first + "/answers"} {
		p := s.get("desk", path)
		if p.status != 200 || !strings.Contains(p.Text(), "There is a newer version of this quote, number 2") || p.Find(`a[href="`+second+`"]`).Length() == 0 {
			t.Errorf("%s: %d", path, p.status)
		}
	}
	p := s.post("desk", first+"/answers", "how", "in person", "said_by", "Odette Marlowe", "answer."+ui.Itoa(c.Lines[1].ID), "agreed")
	if p.status != http.StatusConflict || !strings.Contains(p.Text(), "newer version") {
		t.Errorf("%d", p.status)
	}
	if p = s.post("desk", second+"/withdraw", "reason", ""); p.status != 422 {
		t.Errorf("taken back without a reason: %d", p.status)
	}
	if p = s.post("desk", second+"/withdraw", "reason", "wrong pads"); p.status != http.StatusSeeOther {
		t.Errorf("%d", p.status)
	}
	if p = s.get("desk", second); !strings.Contains(p.Text(), "wrong pads") {
		t.Error("the reason is not shown")
	}
	s.Clock = s.Clock.Add(30 * 24 * time.Hour)
	third := "/quotes/" + ui.Itoa(s.make(c.ID))
	s.Clock = s.Clock.Add(15 * 24 * time.Hour)
	if p = s.get("desk", third); !strings.Contains(p.Text(), "could be agreed to until") {
		t.Error("an expired version does not say so")
	}
}

func TestTheDeskIsToldWhenTheCardIsNotWhatWasQuoted(t *testing.T) {
	s := newSite(t)
	c := s.card()
	at := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	s.make(c.ID)
	if p := s.get("desk", at); strings.Contains(p.Text(), "make a new version") {
		t.Error("nothing changed, and a new version is asked for")
	}
	_, err := s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: jobcard.PartTerms{LineID: c.Lines[1].ID, Name: "Filter", Qty: 1000, Cost: 10_00}})
	s.OK(err)
	if p := s.get("desk", at); !strings.Contains(p.Text(), "make a new version before it is answered") {
		t.Error("the card has a filter more, and nothing is said")
	}
	s.make(c.ID)
	p := s.get("desk", at+"/compare?a=1&b=2")
	// 10.00 with 30 % on it and 20 % VAT.
	if p.status != 200 || !strings.Contains(p.Text(), "£15.60 more") || !strings.Contains(p.Text(), "Filter added, £13.00") {
		t.Errorf("%d: %s", p.status, p.Find("main").Text())
	}
	if p := s.get("desk", at+"/compare?a=1&b=9"); p.status != 404 {
		t.Errorf("%d", p.status)
	}
	if p := s.get("desk", at+"/compare?a=x&b="); p.status != 404 {
		t.Errorf("%d", p.status)
	}
}

func TestQuotesAreForThoseWhoSendThem(t *testing.T) {
	s := newSite(t)
	c := s.card()
	id := ui.Itoa(s.make(c.ID))
	card := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	for _, path := range []string{card, card + "/record", card + "/compare?a=1&b=1", "/quotes/" + id, "/quotes/" + id + ".pdf", "/quotes/" + id + "/send", "/quotes/" + id + "/answers"} {
		if p := s.get("technician", path); p.status != http.StatusForbidden || strings.Contains(p.body, "£") {
			t.Errorf("%s: %d", path, p.status)
		}
		if p := s.get("owner", path); p.status != 200 {
			t.Errorf("%s for the owner: %d", path, p.status)
		}
	}
	for _, path := range []string{"/quotes/999", "/quotes/x", "/quotes/999.pdf", "/quotes/0/answers", "/cards/999/quotes", "/cards/999/quotes/record"} {
		if p := s.get("desk", path); p.status != 404 {
			t.Errorf("%s: %d", path, p.status)
		}
	}
}

func TestThePDFIsTheVersion(t *testing.T) {
	s := newSite(t)
	id := s.make(s.card().ID)
	p := s.get("desk", "/quotes/"+ui.Itoa(id)+".pdf")
	if p.status != 200 || p.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(p.body, "%PDF-") ||
		!strings.Contains(p.header.Get("Content-Disposition"), "quote-2001-1.pdf") {
		t.Errorf("%d %v", p.status, p.header)
	}
	v, err := s.quotes.Read(t.Context(), s.Desk, id)
	s.OK(err)
	if again := s.get("desk", "/quotes/"+ui.Itoa(id)+".pdf"); again.body != p.body {
		t.Error("the same version is another file the second time")
	}
	if v.Kind != quote.Estimate {
		t.Errorf("%s", v.Kind)
	}
}

func TestAGarageThatIsNotRegisteredSpeaksOfNoVAT(t *testing.T) {
	s := newSite(t)
	c := s.card()
	_, err := s.DB.Pool.Exec(t.Context(), `update garage set vat_number = ''`)
	s.OK(err)
	s.make(c.ID)
	s.make(c.ID)
	p := s.post("desk", "/quotes/2/answers", "how", "by phone", "said_by", "Odette Marlowe", "up_to", "500", "answer."+ui.Itoa(c.Lines[1].ID), "agreed")
	if p.status != http.StatusSeeOther {
		t.Fatalf("%d: %s", p.status, p.Find(".problems").Text())
	}
	at := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	for _, path := range []string{at, at + "?do=make", "/quotes/2", "/quotes/2/send", "/quotes/2/answers", at + "/compare?a=1&b=2", "/quotes"} {
		p := s.get("desk", path)
		words := strings.ReplaceAll(p.Find("main").Text(), "We are not registered for VAT, and charge none.", "")
		if p.status != 200 || strings.Contains(words, "VAT") {
			t.Errorf("%s: %d: %s", path, p.status, strings.Join(strings.Fields(words), " "))
		}
	}
	if p := s.get("desk", "/quotes/2.pdf"); p.status != 200 || !strings.HasPrefix(p.body, "%PDF-") {
		t.Errorf("%d", p.status)
	}
}

func TestThePaperOfAVersionCarriesTheCodeOfItsLinkWhileThatHolds(t *testing.T) {
	s := newSite(t)
	id := s.make(s.card().ID)
	at := "/quotes/" + ui.Itoa(id)
	bare := s.get("desk", at+".pdf").body
	if p := s.post("desk", at+"/send", "way", "link", "to_name", "Odette Marlowe"); p.status != http.StatusSeeOther {
		t.Fatalf("%d", p.status)
	}
	coded := s.get("desk", at+".pdf").body
	if len(coded) <= len(bare) {
		t.Errorf("%d bytes with a link, %d without", len(coded), len(bare))
	}
	s.Clock = s.Clock.AddDate(0, 1, 0)
	if over := s.get("desk", at+".pdf").body; over != bare {
		t.Error("the code stands on the paper though nothing can be answered there")
	}
}
