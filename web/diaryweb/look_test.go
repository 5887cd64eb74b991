package diaryweb_test

import (
	"testing"
	"time"

	"rampside/internal/jobcard/cardtest"
	"rampside/internal/outlook"
	"rampside/internal/roster"
	"rampside/internal/workday"
	"rampside/web/ui"
)

func TestTheDiarySaysWhetherEachPromiseWillBeKept(t *testing.T) {
	s := newSite(t)
	_, version, err := roster.Shifts(t.Context(), s.DB.Pool)
	s.OK(err)
	week := roster.Week{StaffID: s.Posy.StaffID}
	for i := range 5 {
		week.Days[i] = &workday.Shift{Start: 8*60 + 30, End: 17*60 + 30, Break: 30 * time.Minute}
	}
	s.OK(roster.New(s.DB).SaveShifts(t.Context(), s.Owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{week}}))
	c := s.Book(cardtest.Op(s.Check))
	link := `a[href="/outlook#car-` + ui.Itoa(c.ID) + `"]`
	if a := s.get("desk", "/diary"); a.Find(link).Length() != 0 {
		t.Error("the diary says something before anything was worked out")
	}
	_, err = outlook.New(s.DB).Refresh(t.Context())
	s.OK(err)
	a := s.get("desk", "/diary")
	s.see(a, "Outlook of the Brisling Tern", "Nearly always on time; most likely about")
	if a.Find(link).Length() != 1 {
		t.Error("the words do not lead to the outlook")
	}
	if a := s.get("desk", "/diary?day=2026-10-06"); a.Find(link).Length() != 0 {
		t.Error("another day says what is said of today")
	}
}
