package dayendweb_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/ui"
)

// cell gives the figure and the workings of a row's cell, by the head of its
// column.
func (a answer) cell(t *testing.T, table, row, col string) (value, workings string) {
	t.Helper()
	grid := a.Find(`table:has(caption:contains("` + table + `"))`)
	at := -1
	grid.Find("thead th").Each(func(i int, e *goquery.Selection) {
		if strings.TrimSpace(e.Text()) == col {
			at = i
		}
	})
	tr := grid.Find(`tbody tr:has(th:contains("` + row + `"))`).First()
	cell := tr.Children().Eq(at)
	if at < 0 || cell.Length() == 0 {
		t.Fatalf("no %q of %q in %q", col, row, table)
	}
	text := func(e *goquery.Selection) string { return strings.Join(strings.Fields(e.Text()), " ") }
	if v := cell.Find(".value"); v.Length() > 0 {
		var steps []string
		cell.Find(".steps > div").Each(func(_ int, e *goquery.Selection) { steps = append(steps, text(e.Find("dt"))+" = "+text(e.Find("dd"))) })
		return strings.TrimSpace(text(v) + " " + text(cell.Children().Filter(".small"))), strings.Join(steps, "; ")
	}
	return text(cell), ""
}

func (s *site) want(a answer, table, row, col, value, workings string) {
	s.t.Helper()
	got, steps := a.cell(s.t, table, row, col)
	if got != value || steps != workings {
		s.t.Errorf("%s, %s of %s: %q from %q\nwant %q from %q", table, col, row, got, steps, value, workings)
	}
}

func TestTheDaysEndShowsEveryFigureWithHowItCameAbout(t *testing.T) {
	s := newSite(t)
	s.aDay()
	a := s.get("owner", "/days-end")
	if a.status != http.StatusOK {
		t.Fatalf("status %d: %s", a.status, a.text("main"))
	}
	s.see(a, "Day's end, Monday 5 October 2026", "The day so far, at 11:45.")
	// The service, 1.6 h agreed and 2 h taken at 20.00; the wash, never agreed.
	const cost = "Lines that ended"
	s.want(a, cost, "Card 1002", "Quoted", "1.6 h", "Annual service = 1.6 h; Wash = 0.0 h; together = 1.6 h")
	s.want(a, cost, "Card 1002", "Taken", "2.25 h", "Annual service = 2.0 h; Wash = 0.25 h; together = 2.25 h")
	s.want(a, cost, "Card 1002", "Labour", "£44.50", "Annual service = £40.00; Wash = £4.50; together = £44.50")
	s.want(a, cost, "Card 1002", "Parts", "£27.90", "Annual service = £27.90; Wash = £0.00; together = £27.90")
	s.want(a, cost, "Card 1002", "Price", "£132.27", "Annual service = £132.27; Wash = £0.00; together = £132.27")
	s.want(a, cost, "The day", "Profit", "£59.87 45.26%", "price = £132.27; less labour = -£44.50; less parts = -£27.90; gross profit = £59.87; "+
		"margin, its share of the price = 45.26%")
	// 2 h at 2.00 over the plan; 0.4 h and 0.25 h at 18.00 beyond the quote.
	const vars = "Variances"
	s.want(a, vars, "Labour rate", "Difference", "£4.00 adverse", "Card 1002 BD51 SMR = £4.00 adverse; together = £4.00 adverse")
	s.want(a, vars, "Labour efficiency", "Difference", "£11.70 adverse", "Card 1002 BD51 SMR = £11.70 adverse; together = £11.70 adverse")
	s.want(a, vars, "Parts usage", "Difference", "none", "Card 1002 BD51 SMR = none; together = none")
	s.want(a, vars, "Together", "Difference", "£15.70 adverse", "Card 1002 BD51 SMR = £15.70 adverse; together = £15.70 adverse")
	s.want(a, vars, "Labour rate", "As it was", "£44.50", "")
	s.want(a, vars, "Labour rate", "Set against", "£40.50", "")

	const work = "Work of the day"
	s.want(a, work, "Card 1002", "Worked", "2.75 h", "Bram Oakes on “Annual service”, 09:00 to 11:00 = 2.0 h; "+
		"Posy Thackeray on “Front brake pads”, 11:00 to 11:30 = 0.5 h; Posy Thackeray on “Wash”, 11:30 to 11:45 = 0.25 h; together = 2.75 h")
	s.want(a, work, "The day", "Going on", "£9.00", "Card 1002 BD51 SMR = £9.00; together = £9.00")

	const hrs = "Hours sold"
	s.want(a, hrs, "Bram Oakes", "Sold", "1.6 h", "Card 1002, “Annual service” = 1.6 h; together = 1.6 h")
	s.want(a, hrs, "Bram Oakes", "Efficiency", "80% 1.6 h / 2.0 h", "sold = 1.6 h; over worked = 2.0 h; comes to = 80%")
	s.want(a, hrs, "The technicians", "Worked", "2.75 h", "Bram Oakes = 2.0 h; Posy Thackeray = 0.75 h; together = 2.75 h")
	s.want(a, hrs, "Posy Thackeray", "Attended", "0.75 h", "in from 11:00 to 11:45 = 0.75 h; less breaks = 0.0 h; attended = 0.75 h")

	s.see(a, "Work that brings nothing", "Wash", "done and never agreed: went ahead because they could not be reached, and the car is needed; the customer may still agree", "0.25 h", "£4.50", "£60.00", "Still to be agreed",
		"Still to be asked", "Wash", "not asked yet", "£60.00",
		"What was done, and what was not", "carried over: here since 09:00", "Done", "Annual service, 11:00", "Wash, 11:45",
		"Deferred", "Sills: too wet. Decided by Odette Marlowe.", "Waiting on parts",
		"Clutch: the kit comes tomorrow (Clutch kit from Estuary Motor Factors, due Tue 6 Oct 11:00)", "Left to do", "Front brake pads",
		"How it is reckoned", "midnight to midnight")
	for path, want := range map[string]int{
		`a[href="/cards/1002/cost"]`: 2, `a[rel=prev][href="/days-end?day=2026-10-04"]`: 1, `a[rel=next]`: 0, `main[data-live=garage]`: 1,
		`.print-head`: 1,
	} {
		if got := a.Find(path).Length(); got != want {
			t.Errorf("%d of %s, want %d", got, path, want)
		}
	}
}

func TestACardsCostIsOpenLineByLine(t *testing.T) {
	s := newSite(t)
	s.aDay()
	a := s.get("owner", "/cards/1002/cost")
	const lines = "Every line"
	s.want(a, lines, "Annual service", "Taken", "2.0 h", "Bram Oakes, Mon 5 Oct 09:00 to 11:00 = 2.0 h; together = 2.0 h")
	s.want(a, lines, "Annual service", "Labour", "£40.00", "Bram Oakes, 2.0 h at £20.00 an hour = £40.00; together = £40.00")
	s.want(a, lines, "Annual service", "Parts", "£27.90", "4.5 × Oil at £6.20 = £27.90; together = £27.90")
	s.want(a, lines, "Annual service", "Price", "£132.27", "labour, 1.6 h at £60.00 an hour = £96.00; 4.5 × Oil at £8.06 = £36.27; net = £132.27")
	s.want(a, lines, "Annual service", "Against quote", "£11.20 adverse",
		"labour as it was, 2.0 h = £40.00; the same hours at £18.00 an hour = £36.00; the quoted 1.6 h at £18.00 an hour = £28.80; "+
			"parts as they were = £27.90; the same quantities at the quoted cost = £27.90; the quoted quantities at the quoted cost = £27.90; "+
			"labour rate = £4.00 adverse; labour efficiency = £7.20 adverse; parts price = none; parts usage = none; together = £11.20 adverse")
	s.want(a, lines, "Wash", "Price", "£0.00", "labour, 1.0 h at £60.00 an hour = £60.00; never agreed, so it brings = £0.00")
	s.want(a, lines, "Front brake pads", "Quoted", "1.2 h", "agreed with the customer = 1.2 h")
	s.want(a, lines, "Front brake pads", "Taken", "0.5 h", "Posy Thackeray, Mon 5 Oct 11:00 to 11:30 = 0.5 h; together = 0.5 h")
	s.want(a, lines, "Front brake pads", "Profit", "", "")
	s.see(a, "0.5 h and £9.00 of labour have gone into lines that are still going on", "How it is reckoned")
	if a := s.get("owner", "/cards/424242/cost"); a.status != http.StatusNotFound {
		t.Errorf("a card that is none: %d", a.status)
	}
	if a := s.get("owner", "/cards/banana/cost"); a.status != http.StatusNotFound {
		t.Errorf("no card at all: %d", a.status)
	}
}

func TestTheDaysEndIsNotForTechnicians(t *testing.T) {
	s := newSite(t)
	c := s.aDay()
	for _, path := range []string{"/days-end", "/days-end?day=2026-10-04", "/cards/" + ui.Itoa(c.ID) + "/cost"} {
		a := s.get("technician", path)
		if a.status != http.StatusForbidden || strings.Contains(a.text("body"), "£") {
			t.Errorf("%s for a technician: %d, %s", path, a.status, a.text("main"))
		}
		if a := s.get("", path); a.status != http.StatusSeeOther || !strings.HasPrefix(a.location, "/sign-in") {
			t.Errorf("%s without a sign-in: %d to %q", path, a.status, a.location)
		}
		if a := s.get("desk", path); a.status != http.StatusOK {
			t.Errorf("%s for the desk: %d", path, a.status)
		}
	}
}

func TestADayThatIsNoneIsToldAtTheField(t *testing.T) {
	s := newSite(t)
	for _, day := range []string{"banana", "2026-13-01", "%3Cscript%3E", "%00", "%ff", "9999-01-01", strings.Repeat("1", 3000)} {
		a := s.get("owner", "/days-end?day="+day)
		if a.status != http.StatusUnprocessableEntity || a.Find("#f-day-problem").Length() != 1 {
			t.Errorf("%.40q: status %d, %q at the field", day, a.status, a.text("#f-day-problem"))
		}
		s.see(a, "Day's end, Monday 5 October 2026")
	}
}

func TestAnEmptyDaySaysSo(t *testing.T) {
	s := newSite(t)
	a := s.get("owner", "/days-end?day=2026-10-04")
	s.see(a, "Day's end, Sunday 4 October 2026", "Today", "Day after", "No line ended on this day.", "Nobody was clocked on to a line.", "No technician was in.",
		"None: everything worked on is agreed.", "No car was in the garage.")
	s.see(s.get("owner", "/days-end?day=2027-01-01"), "This day has not come yet.")
}

func TestWhatIsToBePutRightLeadsToWhereThatIsDone(t *testing.T) {
	s := newSite(t)
	c := s.Book(cardtest.Op(s.Service), cardtest.Free("Bulb", 6*time.Minute))
	s.Agree(c.ID)
	s.tick(s.Posy, c.Lines[1])
	_, err := s.clocks.ClockOn(t.Context(), s.Bram, clocking.OnInput{LineID: c.Lines[0].ID})
	s.OK(err)
	s.Clock = s.Clock.Add(24 * time.Hour)
	a := s.get("owner", "/days-end?day=2026-10-05")
	s.see(a, "To be put right first", "Bram Oakes is still clocked on to “Annual service” since Mon 5 Oct", "Correct the clocking",
		"Bram Oakes has not gone home by the record", "Correct the attendance", "“Bulb” was ticked with no time clocked on it", "Open card 1002")
	for _, path := range []string{`a[href^="/floor/clockings/"]`, `a[href^="/attendance/"]`, `.note a[href^="/cards/1002#line-"]`} {
		if a.Find(path).Length() != 1 {
			t.Errorf("there are %d of %s", a.Find(path).Length(), path)
		}
	}
	s.see(a, "09:00 to 17:30, most likely")
}

func TestTheCurrencyIsTheGarages(t *testing.T) {
	s := newSite(t)
	s.aDay()
	_, err := s.DB.Pool.Exec(t.Context(), `update garage set currency = 'EUR'`)
	s.OK(err)
	a := s.get("owner", "/days-end")
	if text := a.text("main"); strings.Contains(text, "£") || !strings.Contains(text, "€132.27") {
		t.Errorf("the page reads %.800s", text)
	}
}

func TestWhatPeopleTypedIsTextOnTheDaysEnd(t *testing.T) {
	s := newSite(t)
	evil := `<script>alert(1)</script>"><img src=x onerror=alert(2)>`
	c := s.Book(cardtest.Free(evil, time.Hour), cardtest.Free("Sills", time.Hour))
	s.part(c, 0, jobcard.PartTerms{Name: evil, Cost: 1_00, Supply: jobcard.Arrived})
	_, err := s.Cards.GoAhead(t.Context(), s.Desk, jobcard.AheadInput{LineID: c.Lines[0].ID, Reason: evil})
	s.OK(err)
	s.work(s.Posy, c.Lines[0], time.Hour)
	s.tick(s.Posy, c.Lines[0])
	_, err = s.clocks.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: c.Lines[1].ID, Reason: evil, DecidedBy: evil})
	s.OK(err)
	for _, path := range []string{"/days-end", "/cards/1002/cost"} {
		a := s.get("owner", path)
		if a.Find("main script, main img").Length() != 0 || !strings.Contains(a.text("main"), evil) {
			t.Errorf("%s reads %s", path, a.text("main"))
		}
	}
}
