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
	"rampside/internal/money"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func priced(title string, net money.Minor) jobcard.NewLine {
	l := cardtest.Free(title, time.Hour)
	l.FixedPrice = &net
	return l
}

// A discount on a line, a menu price for two others, a test fee and small
// material, all at the desk; each figure opens to how it came about.
func TestADiscountAMenuAndAFeeAreWrittenOnTheCard(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(priced("Exhaust", 100_00), priced("Oil and filter", 60_00), priced("Brake fluid", 40_00), priced("MOT", 0))
	s.Agree(card.ID)
	s.SignIn(s.Desk)
	b := webtest.Open(t, s.At)
	b.Size(1280, 900)
	b.Go("/sign-in")
	b.Fill("Sign-in", apptest.SignInName(s.Desk))
	b.Fill("Password", cardtest.Password)
	b.Click("Sign in")
	b.Allow("422")
	b.Go(path(card, ""))
	b.Click("Discount or surcharge on Exhaust")
	b.Fill("A word for it", "for the wait")
	b.Click("Note it")
	b.See("Give a percentage or an amount")
	b.Audit(24)
	b.Fill("Per cent", "10")
	b.Click("Note it")
	b.See("for the wait")
	b.See("10% of labour and parts")
	b.Click("One price for several lines")
	b.Fill("Name", "Winter service")
	b.Fill("One price for all, net", "90")
	b.Click("Oil and filter, £60.00")
	b.Click("Brake fluid, £40.00")
	b.Audit(24)
	b.Click("Note it")
	b.See("Winter service")
	b.See("£90.00")
	b.Click("Test fee for MOT")
	b.Fill("Test", "MOT test")
	b.Fill("Class", "4")
	b.Fill("The customer pays", "54.86")
	b.Click("Note it")
	b.See("the law sets a lower maximum")
	b.Audit(24)
	b.Fill("The customer pays", "54.85")
	b.Click("Note it")
	b.See("own test, outside the scope of VAT")
	b.Audit(24)
	b.Dump("prices")
	q := s.Sheet(card.ID).Quote.All
	if q.Net != 90_00+90_00+54_85 || q.VAT != 36_00 || q.Gross != 270_85 {
		t.Errorf("the card comes to %+v", q)
	}
	b.Size(390, 844)
	b.Go(path(card, ""))
	b.Audit(24)
	b.Dump("prices-phone")
}

func TestADiscountChangedTooLateShowsBothAndATechnicianSeesNone(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(priced("Exhaust", 100_00))
	desk := s.SignIn(s.Desk)
	form := func(version, percent string) url.Values {
		return url.Values{"key": {apptest.Key()}, "version": {version}, "up": {"off"}, "what": {"for the wait"}, "percent": {percent}, "applies": {"everything"}}
	}
	if a := desk.Post(path(card, "/adjustments"), form("", "10")); a.Status != http.StatusSeeOther {
		t.Fatalf("%d: %s", a.Status, a.Says())
	}
	id := s.Sheet(card.ID).Extras.Adjustments[0].ID
	one := path(card, "/adjustments/"+ui.Itoa(id))
	if a := desk.Post(one, form("1", "12")); a.Status != http.StatusSeeOther {
		t.Fatalf("%d: %s", a.Status, a.Says())
	}
	if a := desk.Post(one, form("1", "15")); a.Status != http.StatusConflict || !strings.Contains(a.Says(), "12") {
		t.Errorf("a stale edit: %d: %s", a.Status, a.Says())
	}
	if a := desk.Post(one, form("2", "a lot")); a.Status != http.StatusUnprocessableEntity || a.Page().Find("#f-percent-problem").Length() != 1 {
		t.Errorf("%d: %s", a.Status, a.Says())
	}
	other := s.Book(priced("Wipers", 20_00))
	if a := desk.Post(path(other, "/adjustments/"+ui.Itoa(id)), form("2", "12")); a.Status != http.StatusNotFound {
		t.Errorf("through another card: %d", a.Status)
	}
	if says := s.SignIn(s.Posy).Get(path(card, "")).Page().Find("main").Text(); strings.Contains(says, "for the wait") || strings.Contains(says, "£") {
		t.Errorf("a technician reads %s", says)
	}
}

func TestTheDeskLetsALineGoAheadAndTakesItBack(t *testing.T) {
	s := apptest.Start(t)
	card := s.Book(priced("Exhaust", 100_00))
	desk := s.SignIn(s.Desk)
	at := path(card, "/lines/"+ui.Itoa(card.Lines[0].ID)+"/ahead")
	if a := desk.Post(at, url.Values{"key": {apptest.Key()}}); a.Status != http.StatusUnprocessableEntity || a.Page().Find("#f-reason-problem").Length() != 1 {
		t.Fatalf("without a reason: %d: %s", a.Status, a.Says())
	}
	if a := desk.Post(at, url.Values{"key": {apptest.Key()}, "reason": {"they are at sea"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("%d: %s", a.Status, a.Says())
	}
	if says := desk.Get(path(card, "")).Page().Find("main").Text(); !strings.Contains(says, "Not agreed, goes ahead because they are at sea") {
		t.Errorf("the card says %s", says)
	}
	if a := desk.Post(at, url.Values{"key": {apptest.Key()}, "back": {"yes"}}); a.Status != http.StatusSeeOther || s.Sheet(card.ID).Lines[0].AheadWhy != "" {
		t.Errorf("%d: %s", a.Status, a.Says())
	}
}
