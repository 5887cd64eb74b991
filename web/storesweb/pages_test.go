package storesweb_test

import (
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/stores"
)

func num[T ~int64](n T) string { return strconv.FormatInt(int64(n), 10) }

func TestAnOrderThatIsRefusedKeepsWhatWasTypedWhereItWasTyped(t *testing.T) {
	s := newSite(t)
	c := s.Book(cardtest.Op(s.Service))
	first := s.part(c, 0, jobcard.PartTerms{Name: "Plug", SupplierID: s.Supplier})
	second := s.part(c, 0, jobcard.PartTerms{Name: "Lead", SupplierID: s.Supplier})
	form := []string{
		"group", num(s.Supplier), "group.1.supplier", num(s.Supplier), "group.1.how", "by e-mail", "group.1.ref", "WR <b>7</b>", "group.1.due_at", "soon",
		"line.0.part", num(first), "line.1.part", num(second), "line.1.take", "yes", "line.1.cost", "12 quid", "line.1.surcharge", "45",
	}
	a := s.post("desk", "/stores/orders", form...)
	if a.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", a.status)
	}
	for name, want := range map[string]string{"group.1.due_at": "soon", "group.1.ref": "WR <b>7</b>", "line.1.cost": "12 quid", "line.1.surcharge": "45"} {
		in := a.Find(`[name="` + name + `"]`)
		if got := in.AttrOr("value", ""); got != want {
			t.Errorf("%s holds %q, want %q", name, got, want)
		}
	}
	for _, name := range []string{"group.1.due_at", "line.1.cost"} {
		if a.Find(`[name="`+name+`"][aria-invalid="true"]`).Length() != 1 {
			t.Errorf("no message at %s", name)
		}
	}
	if _, on := a.Find(`[name="line.1.take"]`).Attr("checked"); !on {
		t.Error("the row that was ticked is not any more")
	}
	if _, on := a.Find(`[name="line.0.take"]`).Attr("checked"); on {
		t.Error("the row that was not ticked is now")
	}
	if a := s.post("desk", "/stores/orders", "group", "1", "group.1.supplier", "1", "group.1.due_at", "2026-10-05T16:00"); a.status != http.StatusUnprocessableEntity || !strings.Contains(a.Find(".problems").Text(), "Tick what is to be ordered") {
		t.Errorf("nothing ticked: %d %s", a.status, a.Find(".problems").Text())
	}
	if a := s.post("technician", "/stores/orders", form...); a.status != http.StatusForbidden {
		t.Errorf("a technician orders: %d", a.status)
	}
}

func TestWhatWasBookedInMeanwhileIsNotCountedTwice(t *testing.T) {
	s := newSite(t)
	c := s.Book(cardtest.Op(s.Service))
	o := s.order(s.Clock.Add(time.Hour), s.part(c, 0, jobcard.PartTerms{Name: "Disc", Number: "D-7", Qty: 2000}), s.part(c, 0, jobcard.PartTerms{Name: "Clip"}))
	line := o.Lines[0]
	form := []string{"line.3.line", num(line.ID), "line.3.version", "1", "line.3.qty", "5"}
	a := s.post("technician", "/stores/arrivals", form...)
	if a.status != http.StatusUnprocessableEntity || a.Find(`[name="line.3.qty"][aria-invalid="true"]`).AttrOr("value", "") != "5" {
		t.Errorf("too many: %d, %s", a.status, a.Find(".problems").Text())
	}
	form[5] = "1"
	if a := s.post("technician", "/stores/arrivals", form...); a.status != http.StatusSeeOther {
		t.Fatalf("booked in: %d", a.status)
	}
	a = s.post("desk", "/stores/arrivals", form...)
	if a.status != http.StatusConflict || !strings.Contains(a.Find(".problems").Text(), "Somebody changed this line of the order") {
		t.Errorf("once more: %d %s", a.status, a.Find(".problems").Text())
	}
	if a := s.get("technician", "/stores/arrivals?number=d7"); !strings.Contains(a.Find("main").Text(), "1 of 2 are here") || a.Find("[autofocus]").Length() != 1 {
		t.Errorf("by its number: %s", a.Find("main").Text())
	}
	if a := s.get("desk", "/stores/arrivals?number=%00"); a.status != http.StatusUnprocessableEntity {
		t.Errorf("a number that is no text: %d", a.status)
	}
}

func TestAnOrderGoesOutAsTextAsALetterAndOnPaper(t *testing.T) {
	s := newSite(t)
	c := s.Book(cardtest.Op(s.Service))
	_, err := s.stores.Order(t.Context(), s.Desk, stores.OrderInput{
		SupplierID: s.Supplier, DueAt: s.Clock.Add(time.Hour), Note: "a & b + c", Lines: []stores.OrderedLine{{PartID: s.part(c, 0, jobcard.PartTerms{Name: "Plug", Number: "P/1", Cost: 4_00})}},
	})
	s.OK(err)
	a := s.get("desk", "/stores/orders/501")
	mail := a.Find(`a[href^="mailto:"]`).AttrOr("href", "")
	if !strings.Contains(mail, "1%20x%20P%2F1%20%20Plug") || !strings.Contains(mail, "a%20%26%20b%20%2B%20c%0D%0A") || strings.ContainsAny(mail, "+\n ") {
		t.Errorf("the letter is %s", mail)
	}
	if text := a.Find("textarea[readonly]").Text(); !strings.Contains(text, "1 x P/1  Plug (our card 1002)") || strings.Contains(text, "£") {
		t.Errorf("the text is %s", text)
	}
	pdf := s.get("technician", "/stores/orders/501/pdf")
	if pdf.status != http.StatusOK || pdf.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.body, "%PDF-") {
		t.Errorf("on paper: %d %s", pdf.status, pdf.header.Get("Content-Type"))
	}
	for _, path := range []string{"/stores/orders/999", "/stores/orders/999/pdf", "/stores/orders/x", "/stores/shelf/999"} {
		if a := s.get("owner", path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}
