package diaryweb_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

func (s *site) book(d workday.Day, lines ...jobcard.NewLine) jobcard.CardID {
	s.t.Helper()
	noon := time.Date(2026, 10, 5, 11, 0, 0, 0, time.UTC).AddDate(0, 0, workday.Must(2026, time.October, 5).DaysUntil(d))
	done, err := s.Cards.Book(s.t.Context(), s.Desk, jobcard.Booking{
		VehicleID: s.Car, Lines: lines,
		Visit: jobcard.Visit{BookedFor: d, ArrivesAt: noon.Add(-4 * time.Hour), PromisedAt: noon.Add(4 * time.Hour)},
	})
	s.OK(err)
	return done.CardID
}

func TestTheDiaryOpensAtTodayWithWhatEachCardWaitsFor(t *testing.T) {
	s := newSite(t)
	s.book(s.Day, cardtest.Op(s.Service), cardtest.Op(s.Check))
	a := s.get("desk", "/diary")
	if a.status != http.StatusOK {
		t.Fatalf("status %d", a.status)
	}
	s.see(a, "Diary, Monday 5 October 2026", "08:00", "16:00", "Card 1002", "BD51 SMR", "Brisling Tern",
		"Odette Marlowe", "01632 960123", "booked", "0 of 2", "2.1 h", "Annual service", "1.6 h", "Look for the noise", "0.5 h",
		"the car: not here yet, it was to come 08:00", "the customer's answer to 2 lines", "Book in")
	for path, want := range map[string]int{
		`a[href="/cards/1002"]`: 1, `a[href="/book-in?day=2026-10-05"]`: 1, `a[rel=prev][href="/diary?day=2026-10-04"]`: 1,
		`a[rel=next][href="/diary?day=2026-10-06"]`: 1, `a[href="/diary?day=2026-10-05&view=week"]`: 1, `main[data-live="garage outlook"]`: 1,
		`nav a[href="/diary"]:contains("Today")`: 0, `nav a[href="/quotes"]`: 1,
	} {
		if got := a.Find(path).Length(); got != want {
			t.Errorf("%d of %s, want %d", got, path, want)
		}
	}
}

func TestAnotherDayLeadsBackToToday(t *testing.T) {
	s := newSite(t)
	s.book(s.Day.AddDays(-5), cardtest.Op(s.Service))
	a := s.get("desk", "/diary?day=2026-09-30")
	s.see(a, "Diary, Wednesday 30 September 2026", "Today", "Card 1002", "did not come on Wed 30 Sep")
	if a.Find(`a[href^="/book-in"]`).Length() != 0 {
		t.Error("the page offers to book in for a day that is over")
	}
	s.see(s.get("desk", "/diary"), "Booked for earlier days and never came", "Wed 30 Sep 08:00", "Card 1002")
	s.see(s.get("desk", "/diary?day=4/10/2026"), "Sunday 4 October 2026", "The garage is closed on this day.", "Nothing is booked.")
}

func TestTheWeekHasEveryDayWithItsRoom(t *testing.T) {
	s := newSite(t)
	s.book(s.Day.AddDays(2), cardtest.Op(s.Service))
	a := s.get("desk", "/diary?view=week")
	s.see(a, "Diary, week of Monday 5 October 2026", "Today, Mon 5 Oct", "Book in for Mon 5 Oct", "Wed 7 Oct", "1.6 h / 0.0 h", "1.6 h more than there are",
		"Card 1002", "Sun 11 Oct", "no hours, none booked", "The garage is closed.")
	for _, path := range []string{`a[href="/diary?day=2026-09-28&view=week"]`, `a[href="/diary?day=2026-10-12&view=week"]`, `a[href="/book-in?day=2026-10-07"]`} {
		if a.Find(path).Length() != 1 {
			t.Errorf("the week has no %s", path)
		}
	}
	s.see(s.get("desk", "/diary?view=week&day=2026-10-21"), "week of Monday 19 October 2026", "This week")
}

func TestADayThatIsNoneIsToldAtTheFieldAndTodayStaysOpen(t *testing.T) {
	s := newSite(t)
	s.book(s.Day, cardtest.Op(s.Service))
	for _, day := range []string{"banana", "2026-02-30", "0000-00-00", "2026-10-05'--", "<b>x</b>", strings.Repeat("9", 5000), "%00", "%ff", "9999-01-01"} {
		a := s.get("desk", "/diary?day="+strings.ReplaceAll(day, "<", "%3C"))
		if a.status != http.StatusUnprocessableEntity || a.Find("#f-day-problem").Length() != 1 {
			t.Errorf("%.40q: status %d, %q at the field", day, a.status, a.text("#f-day-problem"))
		}
		s.see(a, "Diary, Monday 5 October 2026", "Card 1002")
	}
	a := s.get("desk", "/diary?day=banana")
	if v, _ := a.Find("#f-day").Attr("value"); v != "banana" {
		t.Errorf("what was typed became %q", v)
	}
	if a := s.get("desk", "/diary?view=month"); a.status != http.StatusUnprocessableEntity {
		t.Errorf("another view: %d", a.status)
	}
}

func TestTechniciansReadTheDiaryWithoutTelephonesAndDoNotBook(t *testing.T) {
	s := newSite(t)
	s.book(s.Day, cardtest.Op(s.Service))
	a := s.get("technician", "/diary")
	s.see(a, "Card 1002", "Odette Marlowe")
	if strings.Contains(a.text("main"), "01632") || a.Find(`a[href^="/book-in"], a[href^="/customers/"], a[href="/quotes"]`).Length() != 0 {
		t.Errorf("a technician sees %s", a.text("main"))
	}
}

func TestTheFrontPageLeadsEverybodyToWhereTheirDayBegins(t *testing.T) {
	s := newSite(t)
	for role, want := range map[string]string{"owner": "/diary", "desk": "/diary", "technician": "/floor"} {
		if a := s.get(role, "/"); a.status != http.StatusSeeOther || a.location != want {
			t.Errorf("%s: %d to %q", role, a.status, a.location)
		}
	}
	for _, path := range []string{"/", "/diary"} {
		if a := s.get("", path); a.status != http.StatusSeeOther || !strings.HasPrefix(a.location, "/sign-in") {
			t.Errorf("%s without a sign-in: %d to %q", path, a.status, a.location)
		}
	}
}

func TestWhatPeopleTypedIsTextOnTheDiary(t *testing.T) {
	s := newSite(t)
	evil := `<script>alert(1)</script>"><img src=x onerror=alert(2)>`
	id := s.book(s.Day, cardtest.Free(evil, time.Hour))
	sh := s.Sheet(id)
	_, err := s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{
		CardID: id, PartTerms: jobcard.PartTerms{LineID: sh.Lines[0].ID, Name: evil, Qty: 1000},
	})
	s.OK(err)
	a := s.get("desk", "/diary")
	if a.Find("main script, main img").Length() != 0 || strings.Count(a.text("main"), evil) != 2 {
		t.Errorf("the page reads %s", a.text("main"))
	}
}
