package outlookweb_test

import (
	"fmt"
	"strings"
	"testing"

	"rampside/internal/jobcard"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestThePictureAndTheSentenceCountTheSame(t *testing.T) {
	s := newSite(t)
	cards := s.aDay()
	page := s.get("owner", "/outlook")
	read, err := s.looks.Today(t.Context(), s.Owner)
	s.OK(err)
	for _, c := range cards {
		row := page.Find("#car-" + ui.Itoa(c.ID))
		car, ok := read.Of(c.ID)
		if !ok {
			t.Fatalf("card %d is not in the outlook", c.ID)
		}
		strip := read.Strip(car)
		kept, missed := row.Find("circle.kept").Length(), row.Find("circle.missed").Length()
		if kept != strip.Kept || kept+missed != 20 {
			t.Errorf("%s: %d filled and %d hollow dots, %d days are said", car.Name, kept, missed, strip.Kept)
		}
		if strip.Kept+strip.Late+strip.Past != 20 {
			t.Errorf("%s: %d on time, %d late and %d after closing", car.Name, strip.Kept, strip.Late, strip.Past)
		}
		if got := row.Text(); !strings.Contains(got, strip.Sentence()) || !strings.Contains(got, strip.Counts) {
			t.Errorf("the row does not say %q: %s", strip.Sentence(), strings.Join(strings.Fields(got), " "))
		}
		for _, never := range []string{"0 days in 20", "20 days in 20"} {
			if strings.Contains(" "+row.Text(), " "+never) {
				t.Errorf("it claims %q", never)
			}
		}
	}
}

func TestTheOrderIsSetFromThePageAndBadPlacesAreSaid(t *testing.T) {
	s := newSite(t)
	cards := s.aDay()
	day := s.Day.String()
	place := func(i int) string { return fmt.Sprintf("place.%d", cards[i].ID) }
	if a := s.post("owner", "/outlook/order", "how", "own", "day", day, place(0), "first", place(1), "2"); a.status != 422 || a.Find("[name='"+place(0)+"']").AttrOr("value", "") != "first" {
		t.Errorf("a place that is no number: %d, kept %q", a.status, a.Find("[name='"+place(0)+"']").AttrOr("value", ""))
	}
	if a := s.post("owner", "/outlook/order", "how", "own", "day", day, place(0), "1", place(1), "3", place(2), "2", fmt.Sprintf("pin.%d", cards[2].ID), "yes"); a.status != 303 {
		t.Fatalf("the order was not taken: %d %s", a.status, a.text())
	}
	s.refresh()
	read, err := s.looks.Today(t.Context(), s.Owner)
	s.OK(err)
	want := []jobcard.CardID{cards[0].ID, cards[2].ID, cards[1].ID}
	for i, id := range want {
		if read.Cars[i].Card != id {
			t.Errorf("car %d is card %d, want %d", i, read.Cars[i].Card, id)
		}
	}
	if !read.Cars[1].Pinned {
		t.Error("the car does not keep its place")
	}
	if a := s.post("owner", "/outlook/order", "how", "usual", "day", "2026-10-01"); a.status != 422 || !strings.Contains(a.text(), "this order was made for Thursday 1 October 2026") {
		t.Errorf("an order of another day: %d %s", a.status, a.text())
	}
	if a := s.post("technician", "/outlook/order", "how", "usual", "day", day); a.status != 403 {
		t.Errorf("a technician's order: %d", a.status)
	}
	if a := s.get("technician", "/outlook"); a.status != 200 || strings.Contains(a.text(), "£") || strings.Contains(a.text(), "An order of your own") {
		t.Errorf("the technician's page: %d %s", a.status, a.text())
	}
}

func TestAPromiseIsLookedForAndWhatIsMissingIsSaid(t *testing.T) {
	s := newSite(t)
	s.shifts()
	s.refresh()
	a := s.get("desk", fmt.Sprintf("/outlook/promise?operations=%d", s.Service))
	if a.status != 200 || !strings.Contains(a.text(), "Monday 5 October 2026") || !strings.Contains(a.text(), "safe") {
		t.Errorf("%d: %s", a.status, a.text())
	}
	if a := s.get("desk", "/outlook/promise?operations=999999"); a.status != 422 || !strings.Contains(a.text(), "one of these operations is not there") && !strings.Contains(a.text(), "One of these operations is not there") {
		t.Errorf("an operation that is none: %d %s", a.status, a.text())
	}
	if a := s.get("desk", fmt.Sprintf("/outlook/promise?operations=%d&day=yesterday", s.Service)); a.status != 422 {
		t.Errorf("a day that is none: %d", a.status)
	}
}

func TestTheOutlookIsForEverybodysEyesAndPaper(t *testing.T) {
	s := newSite(t)
	empty := webtest.Open(t, s.server.URL)
	empty.SetCookie("rampside", "owner")
	empty.Go("/outlook")
	empty.See("is being worked out")
	empty.Audit(24)
	s.refresh()
	empty.Go("/outlook")
	empty.See("Nobody is planned to work")
	s.aDay()
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "owner")
	for _, p := range []struct{ path, name, see string }{
		{"/outlook", "outlook", "What is assumed"}, {"/outlook/learned", "outlook-learned", "Ramps"}, {"/outlook/kept", "outlook-kept", "No forecast has an outcome yet"},
		{fmt.Sprintf("/outlook/promise?operations=%d", s.Check), "outlook-promise", "The first promise that is safe"},
	} {
		b.Go(p.path)
		b.See(p.see)
		b.Audit(24)
		b.Dump(p.name)
	}
	b.Go("/outlook")
	b.PrintPDF("outlook-paper")
}
