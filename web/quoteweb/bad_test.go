package quoteweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"

	"rampside/web/ui"
)

// nasty is what a field may be sent by somebody who means ill, or by a broken
// browser.
var nasty = []string{
	"", " ", "-1", "0", "1e9", "99999999999999999999", "-£5", "NaN", "<script>alert(1)</script>", "\x00", "a\x00b", "\xff\xfe", "\u202e", "\r\nBcc: x@y.test",
	"2026-02-31", "0001-01-01", "9999-12-31", "2026-13-45T99:99", "1,1;2,2", "'; drop table quote; --", strings.Repeat("x", 300), strings.Repeat("é\n", 20_000),
}

// TestWhateverIsSentIsAnsweredInWords puts each of them into each field of
// each form, with the rest filled in well: it is taken, or comes back with a
// message and what was typed. Nothing of it is a fault of ours.
func TestWhateverIsSentIsAnsweredInWords(t *testing.T) {
	s := newSite(t)
	c := s.card()
	card := "/cards/" + ui.Itoa(c.ID) + "/quotes"
	s.make(c.ID)
	s.make(c.ID)
	line := ui.Itoa(c.Lines[1].ID)
	forms := map[string]map[string]string{
		card:                 {"kind": "estimate", "last_day": "2026-10-12", "note": "N", "if_waits." + line: "W"},
		"/quotes/2/send":     {"way": "link", "to_name": "Odette Marlowe", "address": "", "words": "Read this"},
		"/quotes/2/answers":  {"how": "by phone", "said_by": "Odette Marlowe", "up_to": "900", "said_at": "", "signature": "", "note": "N", "answer." + line: "agreed", "understood." + line: ""},
		"/quotes/1/withdraw": {"reason": "R"},
	}
	// New versions last: the others are answered and sent while they hold.
	for _, path := range []string{"/quotes/2/send", "/quotes/2/answers", "/quotes/1/withdraw", card} {
		good := forms[path]
		for field := range good {
			for _, bad := range nasty {
				form := url.Values{"key": {uuid.NewString()}}
				for name, value := range good {
					form.Set(name, value)
				}
				form.Set(field, bad)
				p := s.do("desk", http.MethodPost, path, form)
				if p.status >= 500 || p.status == http.StatusOK {
					t.Errorf("%s, %s = %.40q: %d", path, field, bad, p.status)
				}
				if strings.Contains(p.body, "<script>alert") {
					t.Errorf("%s, %s: the script is on the page", path, field)
				}
				if p.status == 422 {
					if p.Find(".problems").Length() == 0 {
						t.Errorf("%s, %s = %.40q: no message", path, field, bad)
					}
					for name, value := range good {
						if name != field && value == "Read this" && !strings.Contains(p.body, value) {
							t.Errorf("%s, %s = %.40q: %s is lost", path, field, bad, name)
						}
					}
				}
			}
		}
	}
	// Fields that the form does not have, ids that are none, twice the same.
	for _, extra := range []string{"answer.999=agreed", "answer.x=agreed", "answer." + line + "=maybe", "if_waits.-1=x", "understood.%00=yes", "signature=1,2%3BNaN,3"} {
		for path := range forms {
			q, err := url.ParseQuery(extra)
			s.OK(err)
			q.Set("key", uuid.NewString())
			if p := s.do("desk", http.MethodPost, path, q); p.status < 400 || p.status >= 500 {
				t.Errorf("%s with %s and nothing else: %d", path, extra, p.status)
			}
		}
	}
	for _, path := range []string{"/quotes/99999999999999999999/send", "/quotes/-1/answers", "/quotes/%00/withdraw", "/cards/0x1/quotes", "/cards/9223372036854775808/quotes"} {
		if p := s.post("desk", path, "reason", "x"); p.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, p.status)
		}
	}
	for _, path := range []string{card + "/compare?a=%00&b=%ff", card + "?do=%ff", "/quotes/1?link=%00", "/quotes/1?link=99", "/quotes/%ff.pdf"} {
		if p := s.get("desk", path); p.status >= 500 {
			t.Errorf("%s: %d", path, p.status)
		}
	}
}
