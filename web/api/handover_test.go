package api

import (
	"fmt"
	"strings"
	"testing"

	"rampside/internal/clocking"
	"rampside/internal/jobcard/cardtest"
)

func TestACarIsHandedOverByAProgram(t *testing.T) { newSite(t).handing() }

// handing goes through the handover of a car.
func (s *site) handing() {
	t := s.t
	t.Helper()
	c := s.Book(cardtest.Op(s.Service))
	s.Agree(c.ID)
	_, err := s.api.Clocks.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: c.Lines[0].ID})
	s.OK(err)
	card := fmt.Sprintf("/cards/%d/handover", c.ID)
	plan := as[HandoverPlan](s.get("desk", card), 200)
	if len(plan.Items) != 1 || plan.Items[0].Kind != "done" || len(plan.Stops) != 1 || plan.Stops[0].Hard {
		t.Errorf("the plan is %+v", plan)
	}
	if a := s.post("desk", card, obj{"seen": plan.Seen, "given_to": "Odette Marlowe", "keys": ""}); a.Status != 422 {
		t.Errorf("without keys: %d", a.Status)
	}
	made := as[HandoverMade](s.post("desk", card, obj{
		"seen": plan.Seen, "given_to": "Odette Marlowe", "keys": "two", "anyway": "posted", "due": []obj{{"what": "Annual service", "on": s.Day.AddDays(365).String()}},
	}), 201)
	at := fmt.Sprintf("/handovers/%d", made.ID)
	h := as[Handover](s.get("owner", at), 200)
	if h.CardID != c.ID || h.GivenTo != "Odette Marlowe" || len(h.Items) != 2 || h.Items[1].DueOn.Day != s.Day.AddDays(365) || h.Acknowledged != nil || h.Anyway != "posted" {
		t.Errorf("the handover is %+v", h)
	}
	if pdf := s.get("desk", at+"/pdf"); pdf.Status != 200 || !strings.HasPrefix(string(pdf.Raw), "%PDF-") {
		t.Errorf("the PDF: %d", pdf.Status)
	}
}
