package garageweb_test

import (
	"testing"
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/web/ui"
	"rampside/web/webtest"
)

// open gives the owner's browser.
func (s *site) open() *webtest.Browser {
	s.t.Helper()
	b := webtest.Open(s.t, s.server.URL)
	b.SetCookie("rampside", "owner")
	return b
}

func TestEveryPageCanBeReadAndReachedByEverybody(t *testing.T) {
	s := newSite(t)
	s.Book(jobcard.NewLine{OperationID: s.Service})
	done := s.in(s.Posy, "08:30", "16:30")
	s.in(s.Bram, "09:00", "")
	s.Clock = time.Date(2026, 10, 5, 17, 0, 0, 0, time.UTC)
	s.post("/garage/vat", s.get("/garage/vat").form("/garage/vat", "code", "standard", "from", "2027-01-04", "rate", "17.5"))
	s.post("/garage/hours/away", s.get("/garage/hours").form("/garage/hours/away", "staff", ui.Itoa(s.Bram.StaffID), "from", "12/10/2026", "to", "14/10/2026", "reason", "course"))
	b := s.open()
	for _, page := range []string{"/garage", "/garage/settings", "/garage/operations", "/garage/operations/new", "/garage/operations/" + ui.Itoa(s.Brakes),
		"/garage/labour", "/garage/labour/" + ui.Itoa(s.Labour), "/garage/suppliers", "/garage/suppliers/" + ui.Itoa(s.Supplier), "/garage/vat",
		"/garage/hours", "/garage/record?verify=yes", "/attendance/" + ui.Itoa(done.ID), "/attendance/new"} {
		t.Run(page, func(t *testing.T) {
			b.Go(page)
			if b.Status() != 200 {
				t.Fatalf("%d", b.Status())
			}
			b.Audit(24)
		})
	}
}

func TestAFormThatCameBackCanBeReadByEverybody(t *testing.T) {
	s := newSite(t)
	b := s.open()
	b.Go("/garage/settings")
	b.Fill("Name", "")
	b.Fill("Closes", "early")
	b.Click("Save")
	b.See("Please fill this in")
	b.Go("/garage/hours")
	b.Fill("Posy Thackeray, Tuesday", "all day")
	b.Click("Save the shifts")
	b.See("Write a shift as 08:30-17:30")
	b.Audit(24)
}

func TestAnOperationIsWrittenWithTheKeyboardAlone(t *testing.T) {
	s := newSite(t)
	b := s.open()
	b.Go("/garage/operations/new")
	for b.Focused() != "Name" {
		b.Press("Tab")
	}
	b.Type("Gearbox oil, renew")
	b.Press("Tab", "ArrowDown", "Tab")
	b.Type("0.4")
	b.Press("Tab")
	b.Type("0.5")
	b.Press("Tab")
	b.Type("1")
	b.Press("Enter")
	b.See("Operation saved: Gearbox oil, renew")
	b.See("£30.00")
}

func TestShiftsAreFilledInAlongARow(t *testing.T) {
	s := newSite(t)
	b := s.open()
	b.Go("/garage/hours")
	b.Fill("Posy Thackeray, Monday", "8:30-17:30, 60")
	for _, day := range []string{"Tuesday", "Wednesday"} {
		b.Press("Tab")
		if b.Focused() != "Posy Thackeray, "+day {
			t.Errorf("the next cell is %q", b.Focused())
		}
		b.Type("8:30-17:30, 60")
	}
	b.Press("Enter")
	b.See("Shifts saved")
	if got := b.Value("Posy Thackeray, Wednesday"); got != "08:30-17:30, 60" {
		t.Errorf("%q", got)
	}
}

func TestWhatSomebodyElseAddsShowsByItself(t *testing.T) {
	s := newSite(t)
	b := s.open()
	b.Go("/garage/suppliers")
	b.Fill("Name", "Half a na")
	_, err := s.Settings.SaveSupplier(t.Context(), s.Owner, garage.SupplierInput{Name: "Harbour Motor Factors"})
	s.OK(err)
	b.See("Harbour Motor Factors")
	if got := b.Value("Name"); got != "Half a na" {
		t.Errorf("what was being typed became %q", got)
	}
}
