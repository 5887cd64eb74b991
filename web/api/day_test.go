package api

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"rampside/internal/caution"
	"rampside/internal/jobcard"
)

// book takes the car in through the interface, with the brakes and a free line.
func (s *site) book() CardSheet {
	s.t.Helper()
	done := as[Changed](s.post("desk", "/cards", obj{
		"vehicle_id": s.Car, "booked_for": "2026-10-05", "here": true, "arrives_at": "2026-10-05T08:00:00Z", "promised_at": "2026-10-05T16:00:00Z",
		"lines": []obj{{"operation_id": s.Brakes}, {"title": "Look at the rattle", "likely_minutes": 30, "must_do": false}},
	}), http.StatusCreated)
	return s.card(done.CardID)
}

func (s *site) card(id jobcard.CardID) CardSheet {
	s.t.Helper()
	return as[CardSheet](s.get("owner", fmt.Sprintf("/cards/%d", id)), http.StatusOK)
}

func (s *site) agree(id jobcard.CardID) {
	s.t.Helper()
	as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/answers", id), obj{"answer": "agreed", "said_by": "Odette Marlowe", "how": "by phone"}), http.StatusOK)
}

func TestAProgramTakesACarThroughItsDay(t *testing.T) {
	s := newSite(t)
	found := as[VehicleHits](s.get("desk", "/vehicles?text=bd51smr"), http.StatusOK)
	if len(found.Vehicles) != 1 || found.Vehicles[0].ID != s.Car || found.Vehicles[0].Phone != "01632 960123" {
		t.Fatalf("found %+v", found)
	}
	c := s.book()
	if c.Stage != jobcard.OnSite || len(c.Lines) != 2 || c.Currency != "GBP" || !c.PromisedAt.Equal(time.Date(2026, 10, 5, 16, 0, 0, 0, time.UTC)) {
		t.Fatalf("booked %+v", c)
	}
	// 1.2 h at 60.00 is 72.00; half an hour is 30.00; VAT at 20 % is 20.40.
	if q := c.Quote; q.All.Net != 10200 || q.All.VAT != 2040 || q.All.Gross != 12240 || q.Agreed.Net != 0 {
		t.Fatalf("the quote is %+v", *q)
	}
	brakes, rattle := c.Lines[0], c.Lines[1]
	if *brakes.Rate != 6000 || brakes.LikelyMinutes != 72 || !brakes.Safety || brakes.Price.Net != 7200 || rattle.LowMinutes != 30 || rattle.MustDo {
		t.Fatalf("the lines are %+v and %+v", brakes, rattle)
	}
	part := as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), obj{
		"line_id": brakes.ID, "name": "Brake pads", "qty_milli": 1000, "cost_minor": 2000, "supply": "arrived", "supplier_id": s.Supplier,
	}), http.StatusCreated)
	s.agree(c.ID)
	c = s.card(c.ID)
	if c.Lines[0].Consent != jobcard.Agreed || *c.Lines[0].AgreedNet != 9800 { // 72.00 and 20.00 with 30 % on it
		t.Fatalf("agreed %+v", c.Lines[0])
	}
	as[Changed](s.post("posy", fmt.Sprintf("/parts/%d/verdict", part.PartID), obj{"version": c.Parts[0].Version, "verdict": "fits", "note": "shape and thickness beside the old ones"}), http.StatusOK)

	line := fmt.Sprintf("/lines/%d", brakes.ID)
	unread := s.post("posy", line+"/clock-on", nil).problem(http.StatusConflict, "unread-cautions")
	if *unread.Line != int64(brakes.ID) || len(unread.Cautions) != 1 || unread.Cautions[0].Key != caution.Brakes || unread.Cautions[0].Source == "" {
		t.Fatalf("unread cautions: %+v", unread)
	}
	on := as[ClockedOn](s.post("posy", line+"/clock-on", obj{"cautions_read": []string{"brakes"}}), http.StatusOK)
	if on.LineID != brakes.ID || on.ClockingID == 0 {
		t.Fatalf("clocked on %+v", on)
	}
	if f := as[Floor](s.get("posy", "/floor"), http.StatusOK); f.Mine == nil || f.Mine.LineID != brakes.ID || !f.In {
		t.Errorf("the floor has %+v in hand", f.Mine)
	}
	s.Clock = s.Clock.Add(time.Hour)
	moved := as[Moved](s.post("posy", line+"/tick", nil), http.StatusOK)
	if len(moved.Off) != 1 || moved.Off[0] != s.Posy.StaffID {
		t.Errorf("the tick clocked off %v", moved.Off)
	}
	as[Moved](s.post("posy", fmt.Sprintf("/lines/%d/defer", rattle.ID), obj{"reason": "no time today"}), http.StatusOK)

	stage := fmt.Sprintf("/cards/%d/stage", c.ID)
	early := s.post("desk", stage, obj{"stage": "ready"}).problem(http.StatusUnprocessableEntity, "invalid")
	if early.at("#/stage") == "" {
		t.Errorf("ready too early: %+v", early)
	}
	s.post("posy", line+"/check", obj{"torque_nm": 120}).problem(http.StatusForbidden, "forbidden")
	bare := s.post("bram", line+"/check", obj{}).problem(http.StatusUnprocessableEntity, "invalid")
	if bare.at("#/torque_nm") == "" {
		t.Errorf("a check without its torque: %+v", bare)
	}
	as[Changed](s.post("bram", line+"/check", obj{"torque_nm": 120}), http.StatusOK)
	as[Changed](s.post("desk", stage, obj{"stage": "ready"}), http.StatusOK)
	as[Changed](s.post("desk", stage, obj{"stage": "collected"}), http.StatusOK)

	c = s.card(c.ID)
	if c.Stage != jobcard.Collected || c.Lines[0].Check == nil || c.Lines[0].Check.TorqueNm != 120 || c.Lines[0].Worked != 3600 || c.Parts[0].Supply != jobcard.Fitted {
		t.Errorf("in the end %+v", c.Lines[0])
	}
	// An hour at 18.00, against 1.2 h planned at 18.00: 3.60 favourable.
	end := as[DayEnd](s.get("owner", "/days-end"), http.StatusOK)
	if g := end.Totals.Gross; g.Price != 9800 || g.LabourCost != 1800 || g.PartsCost != 2000 || g.Profit != 6000 || end.Totals.Labour.Total != -360 {
		t.Errorf("the day came to %+v, labour %+v", g, end.Totals.Labour)
	}
	if len(end.Cards) != 1 || len(end.Cards[0].Deferred) != 1 || end.Cards[0].Deferred[0].Why != "no time today" {
		t.Errorf("the day's cards: %+v", end.Cards)
	}
	left := as[LeftOvers](s.get("desk", fmt.Sprintf("/vehicles/%d/left-overs", s.Car)), http.StatusOK)
	if len(left.LeftOvers) != 1 || left.LeftOvers[0].LineID != rattle.ID || left.LeftOvers[0].Decided != "Posy Thackeray" {
		t.Fatalf("left over: %+v", left)
	}
	again := as[Changed](s.post("desk", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-12", "take_back": []any{rattle.ID}}), http.StatusCreated)
	if c := s.card(again.CardID); len(c.Lines) != 1 || c.Lines[0].CarriedFrom != rattle.ID {
		t.Errorf("taken back: %+v", c.Lines)
	}
}

func TestWhatIsDoneHereStandsInTheRecordWithItsToken(t *testing.T) {
	s := newSite(t)
	c := s.book()
	page := as[Events](s.get("owner", fmt.Sprintf("/events?card=%d&limit=1", c.ID)), http.StatusOK)
	if len(page.Events) != 1 || page.Before == 0 {
		t.Fatalf("a page of one: %+v", page)
	}
	e := page.Events[0]
	if e.Via != "api" || e.Device != "desk's program" || e.StaffID != s.Desk.StaffID || e.RequestID == "" {
		t.Errorf("the event is %+v", e)
	}
	rest := as[Events](s.get("owner", fmt.Sprintf("/events?card=%d&before=%d", c.ID, page.Before)), http.StatusOK)
	if len(rest.Events) == 0 || rest.Events[0].ID >= e.ID || rest.Before != 0 {
		t.Errorf("the rest is %+v", rest)
	}
	if v := as[Verdict](s.get("owner", "/events/verify"), http.StatusOK); !v.Holds || v.Events == 0 || len(v.Seal) != 64 {
		t.Errorf("the verdict is %+v", v)
	}
}
