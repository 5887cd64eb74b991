package yourcarweb_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"

	"rampside/internal/link"
	"rampside/web/ui"
)

func TestALinkThatIsOverSaysSoAndHowToReachTheGarage(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	_, second := s.send(v.ID)
	all, err := s.links.OfCard(t.Context(), s.Desk, s.card.ID)
	s.OK(err)
	_, err = s.links.Revoke(t.Context(), s.Desk, all[0].ID)
	s.OK(err)
	s.Clock = s.Clock.AddDate(0, 3, 0)
	for _, c := range []struct{ path, want string }{{path, "This link has expired"}, {second, "This link was withdrawn"}} {
		for _, p := range []answer{s.get(c.path), s.post(c.path, says(v, "-yy")...), s.get(c.path + "/photo/" + ui.Itoa(s.photo)), s.get(c.path + "/paper")} {
			if p.status != http.StatusGone || !strings.Contains(text(p), c.want) || !strings.Contains(text(p), "01632 960 100") || strings.Contains(text(p), "brake") {
				t.Errorf("%d: %s", p.status, text(p))
			}
		}
	}
	if s.consents() != 0 {
		t.Error("a link that is over was answered")
	}
}

func TestATokenThatIsNotOursIsAlwaysTheSamePage(t *testing.T) {
	s := newSite(t)
	_, path := s.issue()
	token := strings.TrimPrefix(path, link.Path)
	flip := "A"
	if token[30:31] == "A" {
		flip = "B"
	}
	var first string
	for i, bad := range []string{
		strings.Repeat("A", 48), token[:30] + flip + token[31:], token[:47], token + "A", "x", "%2e%2e%2fetc", "%00", "%3Cscript%3E", strings.ToLower(token),
	} {
		p := s.get(link.Path + bad)
		if p.status != http.StatusNotFound || p.header.Get("X-Robots-Tag") == "" {
			t.Errorf("%s: %d", bad, p.status)
		}
		if i == 0 {
			first = text(p)
		}
		if text(p) != first || !strings.Contains(first, "This link leads nowhere") || p.Find("script").Length() != 1 {
			t.Errorf("%s tells more: %s", bad, text(p))
		}
	}
}

func TestWrongTokensAreSlowedDownAndRightOnesGoOn(t *testing.T) {
	s := newSite(t)
	_, path := s.issue()
	var got []int
	for i := range 24 {
		p := s.get(link.Path + fmt.Sprintf("%048d", i))
		got = append(got, p.status)
		if p.status == http.StatusTooManyRequests && p.header.Get("Retry-After") == "" {
			t.Error("it does not say when to come back")
		}
	}
	for i, status := range got {
		want := http.StatusNotFound
		if i >= 20 {
			want = http.StatusTooManyRequests
		}
		if status != want {
			t.Errorf("try %d: %d, want %d", i+1, status, want)
		}
	}
	if p := s.get(path); p.status != http.StatusOK {
		t.Errorf("the right link: %d", p.status)
	}
}

func TestStaffSeeThePageAndCannotAnswerForTheCustomer(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	p := s.do("desk", http.MethodGet, path, nil)
	if p.status != 200 || !strings.Contains(text(p), "You are signed in to the garage.") || p.Find("button.main").Length() != 0 {
		t.Errorf("%d: %s", p.status, text(p))
	}
	form := url.Values{"key": {uuid.NewString()}}
	kv := says(v, "-yy")
	for i := 0; i < len(kv); i += 2 {
		form.Set(kv[i], kv[i+1])
	}
	if p := s.do("desk", http.MethodPost, path, form); p.status != http.StatusForbidden || s.consents() != 0 {
		t.Errorf("%d", p.status)
	}
	all, err := s.links.OfCard(t.Context(), s.Desk, s.card.ID)
	s.OK(err)
	if all[0].Opened != 0 {
		t.Error("the garage's own look counts as the customer's")
	}
	s.get(path)
	if all, err = s.links.OfCard(t.Context(), s.Desk, s.card.ID); err != nil || all[0].Opened != 1 {
		t.Errorf("the customer's look: %+v, %v", all, err)
	}
}

func TestAFormFromAnotherSiteIsRefusedAndOneOpenedFromAMailIsNot(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	form := url.Values{"key": {uuid.NewString()}}
	kv := says(v, "-yy")
	for i := 0; i < len(kv); i += 2 {
		form.Set(kv[i], kv[i+1])
	}
	site := func(value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", value) }
	}
	if p := s.do("", http.MethodPost, path, form, site("cross-site")); p.status != http.StatusForbidden || s.consents() != 0 {
		t.Errorf("from another site: %d", p.status)
	}
	if p := s.do("", http.MethodGet, path, nil, site("cross-site")); p.status != http.StatusOK {
		t.Errorf("opened from a mail: %d", p.status)
	}
	if p := s.do("", http.MethodPost, path, form, site("same-origin")); p.status != http.StatusSeeOther {
		t.Errorf("sent from the page: %d", p.status)
	}
	delete(form, "key")
	if p := s.do("", http.MethodPost, path, form); p.status != http.StatusUnprocessableEntity {
		t.Errorf("without a key: %d", p.status)
	}
}
