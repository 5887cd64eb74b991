package yourcarweb_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/pg"
	"rampside/internal/quote"
	"rampside/web/ui"
	"rampside/web/yourcarweb"
)

func target1(card jobcard.CardID) link.Target {
	return func(context.Context, pg.Querier, int64) (jobcard.CardID, string, error) {
		return card, "Odette Marlowe", nil
	}
}

func TestTheCustomerReadsWhatWasFoundAndWhatItCosts(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	p := s.get(path)
	if p.status != http.StatusOK {
		t.Fatalf("%d: %s", p.status, p.body)
	}
	page := text(p)
	m := v.Garage.Money()
	for _, want := range []string{
		"For Odette Marlowe: Estimate 2001/1 for your Brisling Tern", "BD51 SMR", "We found two things while the car was up.",
		"Front brake pads", m.Format(v.Jobs[1].Gross), "Wiper blades", m.Format(v.Jobs[2].Gross),
		"measured 0.8 mm, the limit is 1.5 mm", "Do not drive the car until it is put right.", "keep an eye on it",
		"If it waits: The discs wear with the pads, and the car may not stop.", "01632 960 100", "What you have said yes to, with VAT:",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q:\n%s", want, page)
		}
	}
	if p.Find("nav").Length() != 0 || strings.Contains(p.body, "Sign in") {
		t.Error("a customer is offered the garage's pages")
	}
	for h, want := range map[string]string{"Cache-Control": "no-store", "X-Robots-Tag": "noindex, nofollow, noarchive", "Referrer-Policy": "same-origin"} {
		if got := p.header.Get(h); got != want {
			t.Errorf("%s is %q, want %q", h, got, want)
		}
	}
	token := strings.TrimPrefix(path, link.Path)
	if strings.Contains(s.log.String(), token) || strings.Contains(s.log.String(), token[:12]) {
		t.Error("the log holds the link")
	}
	if !strings.Contains(s.log.String(), "/your-car/{secret}") {
		t.Errorf("the log does not name the route: %s", s.log.String())
	}
}

func TestThePhotoIsServedBehindTheLinkAndNoOther(t *testing.T) {
	s := newSite(t)
	_, path := s.issue()
	src, _ := s.get(path).Find(".photos img").Attr("src")
	alt, _ := s.get(path).Find(".photos img").Attr("alt")
	if alt != "Inner pad, nearside" {
		t.Errorf("the photo is described as %q", alt)
	}
	if p := s.get(src); p.status != 200 || p.header.Get("Content-Type") != "image/jpeg" || len(p.body) < 500 || strings.Contains(p.header.Get("Cache-Control"), "public") {
		t.Errorf("%d %v, %d bytes", p.status, p.header, len(p.body))
	}
	id := ui.Itoa(s.photo)
	// Another card's photo, nothing at all, and the same photo by another's link.
	_, bill := s.mint(link.Bill, 7, time.Hour)
	for _, bad := range []string{path + "/photo/999", path + "/photo/x", path + "/photo/-1", bill + "/photo/" + id, link.Path + strings.Repeat("A", 48) + "/photo/" + id} {
		if p := s.get(bad); p.status != http.StatusNotFound || strings.Contains(p.header.Get("Content-Type"), "image") {
			t.Errorf("%s: %d", bad, p.status)
		}
	}
	_, err := s.photos.Strike(t.Context(), s.Desk, s.photo)
	s.OK(err)
	if p := s.get(path + "/photo/" + id); p.status == http.StatusOK {
		t.Error("a photo that was taken off the card is shown")
	}
}

func TestTheQuoteIsThereAsPaperWithoutTheLinkOnIt(t *testing.T) {
	s := newSite(t)
	_, path := s.issue()
	p := s.get(path + "/paper")
	if p.status != 200 || p.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(p.body, "%PDF-") || !strings.Contains(p.header.Get("Content-Disposition"), "quote-2001-1.pdf") {
		t.Errorf("%d, %v", p.status, p.header)
	}
	if strings.Contains(p.body, strings.TrimPrefix(path, link.Path)) {
		t.Error("the link is in the file")
	}
}

func TestYesAndNoAreRecordedAsTheCustomers(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	done := s.post(path, says(v, "-yn", "signature", "10,150 80,40 150,150;200,90 280,95")...)
	if done.status != http.StatusSeeOther || !strings.HasPrefix(done.location, path) {
		t.Fatalf("%d to %q: %s", done.status, done.location, text(done))
	}
	page := s.get(strings.Split(done.location, "#")[0])
	m := v.Garage.Money()
	for _, want := range []string{"Thank you. This is what we have noted", "agreed", "declined", "Odette Marlowe, 09:00 on Monday 5 October 2026"} {
		if !strings.Contains(text(page), want) {
			t.Errorf("the page lacks %q:\n%s", want, text(page))
		}
	}
	// The service was agreed to when the car was booked in.
	want := m.Format(v.Jobs[0].Gross + v.Jobs[1].Gross + v.Rest.Gross)
	if got := page.Find(".total-line .amount").Text(); got != want {
		t.Errorf("the total is %s, want %s", got, want)
	}
	if d, _ := page.Find(".signed path").Attr("d"); d != "M10 150L80 40L150 150M200 90L280 95" {
		t.Errorf("the signature is drawn as %q", d)
	}
	sheet := s.Sheet(s.card.ID)
	if a, b := sheet.Lines[1].Consent, sheet.Lines[2].Consent; a != jobcard.Agreed || b != jobcard.Declined {
		t.Errorf("on the card: %s, %s", a, b)
	}
	var staff *int64
	var name, via string
	s.OK(s.DB.Pool.QueryRow(t.Context(), `select staff_id, staff_name, via from event where kind = 'quote answered'`).Scan(&staff, &name, &via))
	if staff != nil || name != "Odette Marlowe" || via != "link" {
		t.Errorf("on record: staff %v, %s by %s", staff, name, via)
	}
	// Changing one's mind: another record, and the new one holds.
	if done = s.post(path, says(v, "--y")...); done.status != http.StatusSeeOther || s.consents() != 2 {
		t.Errorf("another mind: %d, %d records", done.status, s.consents())
	}
	if c := s.Sheet(s.card.ID).Lines[2].Consent; c != jobcard.Agreed {
		t.Errorf("after it: %s", c)
	}
}

func TestWhatWasSentTwiceCountsOnce(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	form := url.Values{"key": {uuid.NewString()}}
	kv := says(v, "-yy")
	for i := 0; i < len(kv); i += 2 {
		form.Set(kv[i], kv[i+1])
	}
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.server.URL+path, strings.NewReader(form.Encode()))
			if err != nil {
				t.Error(err)
				return
			}
			req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
			res, err := c.Do(req)
			if err != nil {
				t.Error(err)
				return
			}
			defer res.Body.Close()
			if res.StatusCode != http.StatusSeeOther {
				t.Errorf("%d", res.StatusCode)
			}
		})
	}
	wait.Wait()
	// A second tab has a key of its own and says the same.
	if again := s.post(path, kv...); again.status != http.StatusSeeOther {
		t.Errorf("the second tab: %d", again.status)
	}
	if n := s.consents(); n != 1 {
		t.Errorf("%d answers are on record", n)
	}
}

func TestBadInputComesBackWithWhatWasChosen(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	brakes := ui.Itoa(v.Jobs[1].LineID)
	for _, c := range []struct {
		name, want string
		form       []string
	}{
		{"nothing chosen", "say yes or no to one of them", says(v, "---")},
		{"no name", "please fill this in", says(v, "-y-", "said_by", "")},
		{"a danger left without a word", "please tick that you have read this", says(v, "-n-")},
		{"a limit below the total", "more than the limit", says(v, "-y-", "up_to", "10.00")},
		{"a limit that is none", "amount", says(v, "-y-", "up_to", "lots")},
		{"a third answer", "choose one from the list", says(v, "---", "answer."+brakes, "perhaps")},
		{"ink that is no signature", "did not arrive in one piece", says(v, "-y-", "signature", "<svg onload=alert(1)>")},
	} {
		p := s.post(path, c.form...)
		if p.status != http.StatusUnprocessableEntity || !strings.Contains(strings.ToLower(text(p)), strings.ToLower(c.want)) {
			t.Errorf("%s: %d, %s", c.name, p.status, text(p))
		}
		if strings.Contains(p.body, "onload=alert") {
			t.Errorf("%s: what was posted stands on the page", c.name)
		}
	}
	list := strings.Join(strings.Fields(s.post(path, says(v, "-n-", "said_by", "")...).Find(".problems").Text()), " ")
	if !strings.Contains(list, "Your name: please fill this in") || !strings.Contains(list, "Front brake pads: please tick") {
		t.Errorf("the list of problems reads %q", list)
	}
	p := s.post(path, says(v, "-n-", "note", "Ring after five")...)
	if _, on := p.Find("#no-" + brakes).Attr("checked"); !on || p.Find("textarea").Text() != "Ring after five" {
		t.Error("what was chosen or typed is lost")
	}
	if s.consents() != 0 {
		t.Errorf("%d answers are on record", s.consents())
	}
	if p := s.post(path, says(v, "-n-", "understood."+brakes, "yes")...); p.status != http.StatusSeeOther {
		t.Errorf("with the tick: %d, %s", p.status, text(p))
	}
}

func TestTheTotalIsWorkedOutWithoutAScriptAndNothingIsKept(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	p := s.post(path, append(says(v, "-yy"), "do", "total")...)
	if want := v.Garage.Money().Format(v.Totals.Gross); p.status != http.StatusOK || p.Find("[data-total-amount]").Text() != want {
		t.Errorf("%d: all of it comes to %q, want %s", p.status, p.Find("[data-total-amount]").Text(), want)
	}
	p = s.post(path, append(says(v, "-ny"), "do", "total")...)
	if want := v.Garage.Money().Format(v.Jobs[0].Gross + v.Jobs[2].Gross + v.Rest.Gross); p.Find("[data-total-amount]").Text() != want {
		t.Errorf("without the brakes: %q, want %s", p.Find("[data-total-amount]").Text(), want)
	}
	if s.consents() != 0 {
		t.Error("working out the total was an answer")
	}
}

func TestANewerVersionTakesTheOldOnesPlaceOnceItWasSent(t *testing.T) {
	s := newSite(t)
	old, path := s.issue()
	m, err := s.quotes.Make(t.Context(), s.Desk, quote.MakeInput{CardID: s.card.ID, Kind: quote.Fixed})
	s.OK(err)
	p := s.get(path)
	if !strings.Contains(text(p), "We have made a newer version, number 2") || p.Find("form.answer-form").Length() != 0 || strings.Contains(text(p), "2001/2") {
		t.Errorf("while the newer one is the garage's own: %s", text(p))
	}
	next, _ := s.send(m.VersionID)
	p = s.get(path)
	if !strings.Contains(text(p), "This is the newer one, 2001/2") || !strings.Contains(text(p), "Fixed quotation 2001/2") {
		t.Errorf("after it was sent: %s", text(p))
	}
	// Whoever had the old page open is shown the new one, and nothing is noted.
	p = s.post(path, says(old, "-yy")...)
	if p.status != http.StatusConflict || !strings.Contains(text(p), "There is a newer version") || p.Find("input[name=version_id]").AttrOr("value", "") != ui.Itoa(next.ID) || s.consents() != 0 {
		t.Errorf("%d: %s", p.status, text(p))
	}
	if p = s.post(path, says(next, "-yy")...); p.status != http.StatusSeeOther || s.consents() != 1 {
		t.Errorf("the new one: %d", p.status)
	}
}

func TestOtherPurposesShowWhatIsRegisteredForThem(t *testing.T) {
	s := newSite(t)
	_, bill := s.mint(link.Bill, 7, time.Hour)
	_, hand := s.mint(link.Handover, 8, time.Hour)
	if p := s.get(bill); p.status != http.StatusNotFound || !strings.Contains(text(p), "There is nothing here yet") {
		t.Errorf("without a view: %d", p.status)
	}
	var from actor.Actor
	s.views[link.Handover] = yourcarweb.View{
		Show: note("What was done", "the brakes"),
		Answer: func(_ context.Context, who actor.Actor, l link.Link, f *ui.Form) (string, error) {
			from = who
			if f.Str("name", 50) == "" {
				f.Fail("name", "please give your name")
				return "", nil
			}
			return "Thank you", nil
		},
	}
	s.views[link.Bill] = yourcarweb.View{
		Show: note("Bill 3001", "to be paid"),
		Paper: func(_ context.Context, l link.Link) (string, []byte, error) {
			return fmt.Sprintf("bill-%d.pdf", l.Target), []byte("%PDF-1.7"), nil
		},
	}
	if p := s.get(bill); p.status != 200 || !strings.Contains(text(p), "to be paid") || p.Find(`a[href$="/paper"]`).Length() != 1 {
		t.Errorf("the bill: %d %s", p.status, text(p))
	}
	if p := s.get(bill + "/paper"); p.body != "%PDF-1.7" || p.header.Get("Content-Type") != "application/pdf" || !strings.Contains(p.header.Get("Content-Disposition"), "bill-7.pdf") {
		t.Errorf("the paper: %q, %v", p.body, p.header)
	}
	if p := s.post(bill); p.status != http.StatusNotFound {
		t.Errorf("a bill is answered: %d", p.status)
	}
	if p := s.post(hand, "name", ""); p.status != http.StatusUnprocessableEntity || !strings.Contains(text(p), "the brakes") {
		t.Errorf("%d", p.status)
	}
	if p := s.post(hand, "name", "Odette"); p.status != http.StatusSeeOther || from.Role != actor.Customer || from.Via != actor.ViaLink || !strings.HasPrefix(from.Key, "link-") {
		t.Errorf("%d, %+v", p.status, from)
	}
}
