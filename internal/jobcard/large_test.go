package jobcard_test

import (
	"testing"
	"time"

	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
)

// Each amount by itself is allowed; together they would be more than money
// holds, and the card could not be opened any more.
func TestACardThatComesToMoreThanMoneyHoldsIsRefusedAtTheField(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	l := s.Lines[0]
	part := jobcard.PartTerms{LineID: l.ID, Name: "Gold", Qty: 100_000_000, Cost: 100_000_000}
	_, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: part})
	wantFields(t, err, "qty")
	small := part
	small.Qty, small.Cost = 1000, 100
	made, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: small})
	g.OK(err)
	_, err = g.Cards.EditPart(t.Context(), g.Desk, jobcard.EditPartInput{PartID: made.PartID, Version: 1, PartTerms: part})
	wantFields(t, err, "qty")
	rate := money.Minor(100_000_000)
	dear := jobcard.LineTerms{Title: "Dear", Rate: &rate, Estimate: hours.One(200 * time.Hour)}
	for range 6 { // 200 million pounds each
		if _, err = g.Cards.AddLine(t.Context(), g.Desk, jobcard.AddLineInput{CardID: s.ID, NewLine: jobcard.NewLine{LineTerms: dear}}); err != nil {
			break
		}
	}
	wantFields(t, err, "likely")
	_, err = g.Cards.EditLine(t.Context(), g.Desk, jobcard.EditLineInput{LineID: l.ID, Version: l.Version, LineTerms: dear})
	wantFields(t, err, "likely")
	if n := len(g.Sheet(s.ID).Lines); n < 2 || n > 5 {
		t.Errorf("the card opens with %d lines", n)
	}
}
