package yourcarweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"rampside/internal/quote"
	"rampside/web/ui"
)

// TestWhateverACustomerSendsIsAnsweredInWords puts what makes no sense into
// each field of the page, the rest filled in well.
func TestWhateverACustomerSendsIsAnsweredInWords(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	line, other := ui.Itoa(v.Jobs[2].LineID), ui.Itoa(v.Jobs[1].LineID)
	good := map[string]string{
		"version_id": ui.Itoa(int64(v.ID)), "said_by": "Odette Marlowe", "up_to": "900", "signature": "1,1 2,2", "note": "Thank you", "answer." + line: "agreed",
		"understood." + other: "yes", "do": "",
	}
	for field := range good {
		for _, bad := range []string{
			"", " ", "-1", "0", "1e9", "99999999999999999999", "-£5", "NaN", "<script>alert(1)</script>", "\x00", "a\x00b", "\xff\xfe", "\u202e", "\r\nBcc: x@y.test",
			"'; drop table quote; --", strings.Repeat("x", 300), strings.Repeat("é\n", 20_000), "1,1;" + strings.Repeat("9,9 ", 4000),
		} {
			form := url.Values{"key": {uuid.NewString()}}
			for name, value := range good {
				form.Set(name, value)
			}
			form.Set(field, bad)
			p := s.do("", http.MethodPost, path, form)
			if p.status >= 500 {
				t.Errorf("%s = %.40q: %d", field, bad, p.status)
			}
			if strings.Contains(p.body, "<script>alert") {
				t.Errorf("%s: the script is on the page", field)
			}
			if p.status == 422 && (p.Find(".problems").Length() == 0 || field != "note" && !strings.Contains(p.body, "Thank you")) {
				t.Errorf("%s = %.40q: no message, or what was typed is lost", field, bad)
			}
			if words := p.Find(".problems").Text(); strings.Contains(strings.ToLower(words), "understood 2") || strings.Contains(words, "Answer "+line) {
				t.Errorf("%s = %.40q: a field is called as the program does: %s", field, bad, words)
			}
		}
	}
	for _, q := range []string{"?yes=x", "?yes=-1&yes=%00", "?yes=" + line + "&yes=" + line, "?yes=99999999999999999999", "?" + strings.Repeat("yes=1&", 2000)} {
		if p := s.get(path + "/total" + q); p.status >= 500 {
			t.Errorf("total%.40s: %d", q, p.status)
		}
	}
	one, twice := s.get(path+"/total?yes="+line), s.get(path+"/total?yes="+line+"&yes="+line)
	if one.body != twice.body || !strings.Contains(one.body, v.Garage.Money().Format(s.chosen(v, 2))) {
		t.Errorf("a job named twice counts twice: %s, %s", one.body, twice.body)
	}
	if p := s.get("/your-car/" + strings.Repeat("A", 52) + "/total"); p.status != http.StatusNotFound {
		t.Errorf("the total of nobody's link: %d", p.status)
	}
}

// The link goes on for weeks after the last day: what was agreed is read, and
// nothing is answered.
func TestWhatWasAgreedIsReadAfterTheLastDay(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	if p := s.post(path, says(v, "-y-")...); p.status != http.StatusSeeOther {
		t.Fatalf("%d", p.status)
	}
	s.Clock = v.ValidUntil.Add(quote.ReadOn - time.Second)
	p := s.get(path)
	if p.status != http.StatusOK || !strings.Contains(text(p), "This can be answered no more") || !strings.Contains(text(p), "Odette Marlowe, 09:00 on Monday 5 October 2026") ||
		p.Find("form.answer-form").Length() != 0 {
		t.Errorf("%d: %s", p.status, text(p))
	}
	if p := s.post(path, says(v, "--y")...); p.status != http.StatusConflict {
		t.Errorf("answered after the last day: %d", p.status)
	}
	s.Clock = v.ValidUntil.Add(quote.ReadOn)
	if p := s.get(path); p.status != http.StatusGone {
		t.Errorf("eight weeks later: %d", p.status)
	}
}
