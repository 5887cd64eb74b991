package handoverweb_test

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/web/handoverweb"
)

func handoverPath(id jobcard.CardID) string { return handoverweb.Path(id) }

// whole is a form with all that a handover asks for.
func (s *site) whole(c *jobcard.Sheet) []string {
	seen, _ := s.get("desk", handoverPath(c.ID)).Find(`[name="seen"]`).Attr("value")
	return []string{
		"seen", seen, "given_to", "Odette Marlowe", "keys", "two keys", "mileage_out", "48300", "anyway", "posted", "name", "Odette Marlowe", "how", "in person",
		"signature", "30,160 90,20 150,160;200,150 280,40", "photos", num(handover.ID(c.Photos[0].ID)), "returned", "Old Pad set", "note", "Mind <the> hose & go slowly.",
		"due.0.what", "Annual service", "due.0.on", "2027-10-05", "due.0.at", "58300",
	}
}

func TestWhatIsWrongStandsAtItsField(t *testing.T) {
	s := newSite(t)
	c := s.squeals()
	s.check(c.Lines[0].ID)
	form := s.whole(c)
	set := func(name, value string) []string {
		out := append([]string(nil), form...)
		for i := 0; i < len(out); i += 2 {
			if out[i] == name {
				out[i+1] = value
			}
		}
		return out
	}
	for _, bad := range []struct{ name, value string }{
		{"given_to", ""}, {"keys", " "}, {"mileage_out", "12"}, {"mileage_out", "far"}, {"anyway", ""}, {"name", ""}, {"how", "by pigeon"}, {"signature", "1,1"},
		{"due.0.on", "soon"}, {"due.0.what", ""}, {"due.0.at", "-4"}, {"note", strings.Repeat("x", handover.MaxNote+1)},
	} {
		a := s.post("desk", handoverPath(c.ID), set(bad.name, bad.value)...)
		if a.status != http.StatusUnprocessableEntity || a.Find(".field-problem").Length() == 0 {
			t.Errorf("%s %q: %d, %s", bad.name, bad.value, a.status, a.Find(".problems").Text())
		}
		if bad.name != "note" && a.Find(`[name="note"]`).Text() != "Mind <the> hose & go slowly." {
			t.Errorf("%s: the note is gone", bad.name)
		}
	}
	if a := s.post("desk", handoverPath(c.ID), set("seen", "x")...); a.status != http.StatusConflict || !strings.Contains(a.Find(".problems").Text(), "has changed") {
		t.Errorf("another card was looked at: %d %s", a.status, a.Find(".problems").Text())
	}
	if a := s.post("technician", handoverPath(c.ID), form...); a.status != http.StatusForbidden {
		t.Errorf("a technician: %d", a.status)
	}
	if a := s.get("desk", "/cards/99999/handover"); a.status != http.StatusNotFound {
		t.Errorf("no such card: %d", a.status)
	}
	a := s.post("desk", handoverPath(c.ID), form...)
	if a.status != http.StatusSeeOther {
		t.Fatalf("the whole form: %d %s", a.status, a.Find(".problems").Text())
	}
	if again := s.get("desk", handoverPath(c.ID)); again.location != a.location {
		t.Errorf("afterwards the card's handover leads to %q", again.location)
	}
	if a := s.post("desk", handoverPath(c.ID), form...); a.status != http.StatusConflict {
		t.Errorf("once more: %d", a.status)
	}
}

func TestTheCustomersCopyShowsNothingOfTheGaragesOwn(t *testing.T) {
	s := newSite(t)
	c := s.squeals()
	s.check(c.Lines[0].ID)
	a := s.post("desk", handoverPath(c.ID), s.whole(c)...)
	h, err := s.hands.OfCard(t.Context(), s.Desk, c.ID)
	s.OK(err)
	if a := s.post("desk", a.location+"/copies", "name", "Odette Marlowe", "address", "nobody at all"); a.status != http.StatusUnprocessableEntity || a.Find(`[name="address"]`).AttrOr("value", "") != "nobody at all" {
		t.Errorf("a bad address: %d", a.status)
	}
	if a := s.post("desk", a.location+"/copies", "name", "Odette Marlowe", "address", "odette@marlowe.example"); a.status != http.StatusSeeOther {
		t.Fatalf("a letter: %d %s", a.status, a.Find(".problems").Text())
	}
	copies, err := s.hands.Copies(t.Context(), s.Desk, h)
	s.OK(err)
	if len(copies.Links) != 1 || len(copies.Letters) != 1 || copies.Letters[0].To != "odette@marlowe.example" {
		t.Fatalf("%+v", copies)
	}
	var text string
	var file []byte
	s.OK(s.DB.Pool.QueryRow(t.Context(), `select l.body, f.content from letter l join letter_file f on f.letter_id = l.id`).Scan(&text, &file))
	if !strings.Contains(text, "http://localhost/your-car/") || !strings.Contains(text, "Dangerous: Brake hose, front left") || !bytes.HasPrefix(file, []byte("%PDF-1.7")) {
		t.Errorf("%s, %d bytes", text, len(file))
	}

	customer := handoverweb.ForCustomer(s.kit, s.services())
	_, body, err := customer.Show(t.Context(), copies.Links[0])
	s.OK(err)
	var b bytes.Buffer
	s.OK(body.Render(t.Context(), &b))
	for _, want := range []string{"Brake hose, front left", "I was told that", "Front brake pads", "Mind &lt;the&gt; hose &amp; go slowly.", "by Tuesday 5 October 2027 or at 58,300 miles"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the customer does not see %q", want)
		}
	}
	if strings.Contains(b.String(), "posted") || strings.Contains(b.String(), "/photos/") {
		t.Error("the customer sees the garage's reasons or an address that they cannot open")
	}
	name, pdf, err := customer.Paper(t.Context(), copies.Links[0])
	s.OK(err)
	if name != "handover-"+num(c.ID)+".pdf" || !bytes.Contains(pdf, []byte("/DCTDecode")) {
		t.Errorf("%s has no photo in it", name)
	}
	other := copies.Links[0]
	other.Purpose = link.Quote
	if _, _, err := customer.Show(t.Context(), other); err == nil {
		t.Error("a link to a quote shows a handover")
	}
}

func TestPapersAreGivenAsPDF(t *testing.T) {
	s := newSite(t)
	c := s.squeals()
	if a := s.get("technician", "/cards/"+num(c.ID)+"/pdf"); a.status != http.StatusOK || a.header.Get("Content-Type") != "application/pdf" || !bytes.HasPrefix(a.body, []byte("%PDF-")) {
		t.Errorf("the card: %d", a.status)
	}
	if a := s.get("desk", handoverPath(c.ID)+".pdf"); a.status != http.StatusNotFound {
		t.Errorf("a handover that is not made yet: %d", a.status)
	}
	s.check(c.Lines[0].ID)
	made := s.post("desk", handoverPath(c.ID), s.whole(c)...)
	for _, path := range []string{handoverPath(c.ID) + ".pdf", made.location + "/pdf"} {
		if a := s.get("desk", path); a.status != http.StatusOK || a.header.Get("Content-Type") != "application/pdf" || !bytes.Contains(a.body, []byte("/StructTreeRoot")) {
			t.Errorf("%s: %d", path, a.status)
		}
		if a := s.get("technician", path); a.status != http.StatusForbidden {
			t.Errorf("%s for a technician: %d", path, a.status)
		}
	}
}

func TestAnIntervalThatIsRefusedKeepsWhatWasTypedInItsRow(t *testing.T) {
	s := newSite(t)
	path := "/garage/intervals/" + num(s.Service)
	field := "op." + num(s.Service) + "."
	a := s.post("owner", path, "version", "0", field+"months", "999", field+"distance", "12")
	if a.status != http.StatusUnprocessableEntity || a.Find(`[name="`+field+`months"]`).AttrOr("value", "") != "999" {
		t.Errorf("%d %s", a.status, a.Find(".problems").Text())
	}
	if a := s.post("owner", path, "version", "0", field+"months", "12", field+"distance", ""); a.status != http.StatusSeeOther {
		t.Errorf("%d %s", a.status, a.Find(".problems").Text())
	}
	if a := s.post("owner", path, "version", "0", field+"months", "24"); a.status != http.StatusConflict || a.Find(`[name="months"]`).Length() == 0 {
		t.Errorf("a stale one: %d", a.status)
	}
	if a := s.post("owner", path, "version", "1", "months", "24", "distance", ""); a.status != http.StatusSeeOther {
		t.Errorf("from the page that shows both: %d", a.status)
	}
	if a := s.get("owner", "/garage/intervals"); a.Find(`[name="`+field+`months"]`).AttrOr("value", "") != "24" {
		t.Error("it is not noted")
	}
	if a := s.post("desk", path, "version", "2"); a.status != http.StatusForbidden {
		t.Errorf("the desk: %d", a.status)
	}
}
