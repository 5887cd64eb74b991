package garageweb_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/web/ui"
)

func TestTheRecordIsFilteredByCardPersonAndDay(t *testing.T) {
	s := newSite(t)
	card := s.Book(jobcard.NewLine{OperationID: s.Service})
	s.in(s.Posy, "08:30", "16:30")
	a := s.get("/garage/record")
	a.has("garage set up", "labour type added", "card booked", "came in", "went home", "card "+ui.Itoa(card.ID), "Mon 5 Oct 2026 16:30:00")
	if path, _ := a.Find(`td a[href^="/cards/"]`).First().Attr("href"); path != "/cards/"+ui.Itoa(card.ID) {
		t.Errorf("leads to %s", path)
	}
	only := func(query, has, hasNot string) {
		t.Helper()
		got := s.get("/garage/record?" + query).text("tbody")
		if !strings.Contains(got, has) || strings.Contains(got, hasNot) {
			t.Errorf("%s: %s", query, got)
		}
	}
	only("card="+ui.Itoa(card.ID), "card booked", "came in")
	only("staff="+ui.Itoa(s.Posy.StaffID), "came in", "card booked")
	only("day=2026-10-05", "came in", "no such thing")
	s.get("/garage/record?day=2026-10-04").has("Nothing is on record there")
	if a := s.do("owner", http.MethodGet, "/garage/record?day=yesterday", nil); a.Status != http.StatusUnprocessableEntity || a.problem("day") == "" {
		t.Errorf("%d", a.Status)
	}
}

func TestTheRecordIsReadPageByPage(t *testing.T) {
	s := newSite(t)
	for i := range 130 {
		_, err := s.Settings.SaveSupplier(t.Context(), s.Owner, garage.SupplierInput{Name: "Supplier " + ui.Itoa(int64(i))})
		s.OK(err)
	}
	total := s.count(`select count(*) from event`)
	seen, pages, at := map[string]bool{}, 0, "/garage/record"
	for at != "" {
		a := s.get(at)
		a.Find("tbody tr").Each(func(_ int, e *goquery.Selection) { seen[e.Find("td").First().Text()] = true })
		at, _ = a.Find(`a:contains("Older")`).Attr("href")
		if pages++; pages > 10 {
			t.Fatal("no end")
		}
	}
	if len(seen) != total || pages != (total+59)/60 {
		t.Errorf("%d of %d events on %d pages", len(seen), total, pages)
	}
}

func TestWhatChangedIsShownAsItWasAndIs(t *testing.T) {
	s := newSite(t)
	path := "/garage/labour/" + ui.Itoa(s.Labour)
	s.post(path, s.get(path).form(path, "rate", "65")).went("/garage/labour")
	s.get("/garage/record").has("labour type changed", "rate: £60.00 → £65.00")
}

func TestTheChainIsVerifiedFromThePage(t *testing.T) {
	s := newSite(t)
	a := s.get("/garage/record?verify=yes")
	a.has("The chain holds", "each as it was written", "sealed with")
	var id int64
	if err := s.DB.Pool.QueryRow(t.Context(), `select id from event where kind = 'labour type added'`).Scan(&id); err != nil {
		t.Fatal(err)
	}
	s.exec(`alter table event disable trigger all`)
	s.exec(`update event set staff_name = 'Somebody Else' where id = $1`, id)
	a = s.get("/garage/record?verify=yes")
	a.has("The chain is broken at event " + ui.Itoa(id))
	to, _ := a.Find(`a:contains("Look at it")`).Attr("href")
	if first := s.get(to).text("tbody tr:first-child"); !strings.HasPrefix(first, ui.Itoa(id)+" ") || !strings.Contains(first, "Somebody Else") {
		t.Errorf("%s leads to %s", to, first)
	}
}
