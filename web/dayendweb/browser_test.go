package dayendweb_test

import (
	"bytes"
	"testing"
	"time"

	"rampside/internal/jobcard/cardtest"
	"rampside/web/webtest"
)

func TestTheDaysEndIsForEverybodysEyesAndPaper(t *testing.T) {
	s := newSite(t)
	s.aDay()
	second := s.Book(cardtest.Free("Bulb", 6*time.Minute), cardtest.Free("Exhaust", 2*time.Hour))
	s.Agree(second.ID)
	s.tick(s.Posy, second.Lines[0])
	s.work(s.Posy, second.Lines[1], 100*time.Minute)
	s.tick(s.Posy, second.Lines[1])
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "owner")
	for _, p := range []struct{ path, name, see string }{
		{"/days-end", "days-end", "How it is reckoned"}, {"/cards/1002/cost", "card-cost", "How it is reckoned"}, {"/days-end?day=2026-10-01", "days-end-empty", "No line ended"},
	} {
		b.Go(p.path)
		b.See(p.see)
		b.Audit(24)
		b.Dump(p.name)
	}
	b.Go("/days-end")
	b.Click("£15.70 (adverse, cost against quote of card 1002: how it came about)")
	b.See("labour efficiency")
	b.Axe()
	if cut := webtest.Eval[bool](b, `(() => {
		const open = document.querySelector("details[open] .workings"), box = open.closest(".scroll");
		return open.getBoundingClientRect().bottom > box.getBoundingClientRect().bottom + 1;
	})()`); cut {
		t.Error("the workings are cut off where their table ends")
	}
	b.Screenshot("days-end-open", 1280, 800)
	if pages := bytes.Count(b.PrintPDF("days-end-paper"), []byte("/Type /Page\n")); pages > 4 {
		t.Errorf("a day of two cars is printed on %d sheets", pages)
	}
}
