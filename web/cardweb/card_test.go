package cardweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"rampside/internal/app/apptest"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/ui"
)

func path(s *jobcard.Sheet, rest string) string { return "/cards/" + ui.Itoa(s.ID) + rest }

func lineForm(version, title, likely string) url.Values {
	return url.Values{"key": {apptest.Key()}, "version": {version}, "title": {title}, "must_do": {"yes"}, "likely": {likely}}
}

func TestALineIsChangedInPlaceAndAMistakeKeepsWhatWasTyped(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(cardtest.Op(s.Service))
	desk := s.SignIn(s.Desk)
	line := path(card, "/lines/"+ui.Itoa(card.Lines[0].ID))

	a := desk.Post(line, lineForm("1", "Service with <b>care</b>", "a while"))
	page := a.Page()
	if a.Status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d: %s", a.Status, a.Says())
	}
	if v, _ := page.Find(`input[name="title"]`).Attr("value"); v != "Service with <b>care</b>" {
		t.Errorf("the title typed is %q now", v)
	}
	if v, _ := page.Find(`input[name="likely"]`).Attr("value"); v != "a while" {
		t.Errorf("the hours typed are %q now", v)
	}
	if page.Find("#f-likely-problem").Length() != 1 {
		t.Errorf("no message at the hours: %s", a.Says())
	}
	a = desk.Post(line, lineForm("1", "Service with care", "2.4"))
	if a.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", a.Status, a.Says())
	}
	if l := s.Sheet(card.ID).Lines[0]; l.Title != "Service with care" || l.Estimate.Likely != 144*time.Minute {
		t.Errorf("saved as %+v", l)
	}
}

func TestAnEditThatCameTooLateShowsBothAndLosesNothing(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(cardtest.Op(s.Service))
	one, two := s.SignIn(s.Desk), s.SignIn(s.Owner)
	line := path(card, "/lines/"+ui.Itoa(card.Lines[0].ID))
	if a := one.Post(line, lineForm("1", "Service, first desk", "2")); a.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", a.Status, a.Says())
	}
	a := two.Post(line, lineForm("1", "Service, second desk", "3"))
	if a.Status != http.StatusConflict {
		t.Fatalf("a stale edit: status %d: %s", a.Status, a.Says())
	}
	page := a.Page()
	yours, _ := page.Find(`input[name="title"]`).Attr("value")
	version, _ := page.Find(`main input[name="version"]`).Attr("value")
	if yours != "Service, second desk" || !strings.Contains(a.Says(), "Service, first desk") || version != "2" {
		t.Errorf("yours %q, version %q: %s", yours, version, a.Says())
	}
	if l := s.Sheet(card.ID).Lines[0]; l.Title != "Service, first desk" {
		t.Errorf("the stale edit was saved: %s", l.Title)
	}
	if a := two.Post(line, lineForm(version, yours, "3")); a.Status != http.StatusSeeOther {
		t.Errorf("saved over it: status %d: %s", a.Status, a.Says())
	}
}

func TestATechnicianReadsTheCardWithoutMoneyAndWithoutForms(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(cardtest.Op(s.Brakes))
	a := s.SignIn(s.Posy).Get(path(card, "?do=line-"+ui.Itoa(card.Lines[0].ID)))
	if a.Status != http.StatusOK || strings.Contains(a.Body, "£") || strings.Contains(a.Body, "01632") {
		t.Errorf("status %d, money or a telephone on the page: %s", a.Status, a.Says())
	}
	if n := a.Page().Find("main form").Length(); n != 0 {
		t.Errorf("%d forms", n)
	}
	if !strings.Contains(a.Page().Find("main").Text(), "Local rules, the maker's procedure") {
		t.Errorf("no cautions: %s", a.Says())
	}
}

func TestACardIsCancelledWithAReasonOnly(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(cardtest.Op(s.Service))
	desk := s.SignIn(s.Desk)
	a := desk.Post(path(card, "/stage"), url.Values{"key": {apptest.Key()}, "stage": {"cancelled"}})
	if a.Status != http.StatusUnprocessableEntity || a.Page().Find("#f-reason-problem").Length() != 1 {
		t.Errorf("without a reason: %d %s", a.Status, a.Says())
	}
	a = desk.Post(path(card, "/stage"), url.Values{"key": {apptest.Key()}, "stage": {"cancelled"}, "reason": {"sold the car"}})
	if a.Status != http.StatusSeeOther || s.Sheet(card.ID).Stage != jobcard.Cancelled {
		t.Errorf("with one: %d %s", a.Status, a.Says())
	}
	if a := desk.Get(path(card, "")); !strings.Contains(a.Says(), "sold the car") {
		t.Errorf("the reason does not show: %s", a.Says())
	}
}

func TestWhatTheCustomerSaidIsOnTheSheetWithItsPrice(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(cardtest.Op(s.Service), cardtest.Op(s.Check))
	desk := s.SignIn(s.Desk)
	answer := url.Values{"key": {apptest.Key()}, "said_by": {"Odette Marlowe"}, "how": {"by phone"}, "answer": {"agreed"}}
	if a := desk.Post(path(card, "/answer"), answer); a.Status != http.StatusUnprocessableEntity {
		t.Errorf("an answer to no line: %d", a.Status)
	}
	answer.Set("lines", ui.Itoa(card.Lines[0].ID))
	answer.Set("key", apptest.Key())
	if a := desk.Post(path(card, "/answer"), answer); a.Status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.Status, a.Says())
	}
	// 1.6 h at 60.00, and 0.5 h still asked; 20 % VAT on both.
	for _, want := range []string{"agreed by Odette Marlowe by phone", "at £96.00 net", "£115.20", "£151.20"} {
		if a := desk.Get(path(card, "")); !strings.Contains(a.Says()+a.Body, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
}
