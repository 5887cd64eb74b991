package diaryweb_test

import (
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/webtest"
)

func TestTheDiaryIsForEverybodysEyesAndHands(t *testing.T) {
	s := newSite(t)
	s.book(s.Day.AddDays(-1), cardtest.Op(s.Service))
	over := s.book(s.Day.AddDays(-1), cardtest.Op(s.Brakes))
	_, err := s.Cards.SetStage(t.Context(), s.Desk, jobcard.StageInput{CardID: over, Stage: jobcard.OnSite})
	s.OK(err)
	id := s.book(s.Day, cardtest.Op(s.Service), cardtest.Op(s.Check))
	_, err = s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: id, PartTerms: jobcard.PartTerms{
		LineID: s.Sheet(id).Lines[0].ID, Name: "Oil filter", Qty: 1000, Supply: jobcard.Ordered, DueAt: s.Clock.Add(-time.Hour),
	}})
	s.OK(err)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	for path, name := range map[string]string{"/diary": "diary", "/diary?view=week": "diary-week", "/diary?day=banana": "diary-wrong"} {
		b.Go(path)
		b.See("Card 1004")
		b.Audit(24)
		b.Dump(name)
	}
	// A figure opens, and nothing of its workings is out of sight.
	b.Go("/diary")
	b.Click("2.1 h (hours of card 1004: how it came about)")
	b.See("Annual service")
	b.Axe()
	b.Screenshot("diary-open", 1280, 800)
}
