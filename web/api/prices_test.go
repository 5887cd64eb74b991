package api

import (
	"fmt"
	"testing"
	"time"

	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
)

// pricing puts a discount, a menu, test fees, an exchange surcharge and small
// material on a card, changes each and takes it off again.
func (s *site) pricing() {
	t := s.t
	t.Helper()
	sheet := s.Book(cardtest.Free("Annual service", 96*time.Minute), cardtest.Free("Take it to its test", 30*time.Minute))
	card := fmt.Sprintf("/cards/%d", sheet.ID)
	line := fmt.Sprintf("%s/lines/%d", card, sheet.Lines[1].ID)
	// Labour alone: 1.6 h and 0.5 h at £60.00, net £126.00.
	comes := func(what string, net, vat money.Minor) {
		t.Helper()
		if q := s.card(sheet.ID).Quote.All; q.Net != net || q.VAT != vat {
			t.Errorf("%s: net %s, VAT %s", what, q.Net, q.VAT)
		}
	}
	comes("labour", 126_00, 25_20)

	off := as[Changed](s.post("desk", card+"/adjustments", obj{"line_id": sheet.Lines[0].ID, "what": "a friend of the house", "percent_bp": 1000}), 201)
	comes("a tenth off the service", 116_40, 23_28)
	adjustment := fmt.Sprintf("/adjustments/%d", off.ExtraID)
	s.put("desk", adjustment, obj{"what": "both", "percent_bp": 1000, "amount_minor": 5, "version": off.Version}).problem(422, "invalid")
	off = as[Changed](s.put("desk", adjustment, obj{"what": "a friend of the house", "amount_minor": 6_00, "version": off.Version}), 200)
	comes("£6.00 off the service", 120_00, 24_00)
	s.put("desk", adjustment, obj{"what": "late", "amount_minor": 1, "version": off.Version - 1}).problem(409, "stale")
	as[Changed](s.post("desk", adjustment+"/strike", obj{"version": off.Version, "reason": "asked again"}), 200)

	lines := []any{sheet.Lines[0].ID, sheet.Lines[1].ID}
	menu := as[Changed](s.post("desk", card+"/menus", obj{"what": "Service and test", "net_minor": 100_00, "line_ids": lines}), 201)
	comes("a menu", 100_00, 20_00)
	menu = as[Changed](s.put("desk", fmt.Sprintf("/menus/%d", menu.ExtraID), obj{"what": "Service and test", "net_minor": 110_00, "line_ids": lines, "version": menu.Version}), 200)
	comes("a dearer menu", 110_00, 22_00)
	as[Changed](s.post("desk", fmt.Sprintf("/menus/%d/strike", menu.ExtraID), obj{"version": menu.Version, "reason": "by the hour after all"}), 200)

	s.testFees(card, line, comes)

	part := as[Changed](s.post("desk", card+"/parts", obj{"name": "Alternator", "qty_milli": 1000, "cost_minor": 0, "price_minor": 80_00, "line_id": sheet.Lines[0].ID}), 201)
	exchange := fmt.Sprintf("/parts/%d/exchange", part.PartID)
	part = as[Changed](s.put("desk", exchange, obj{"version": part.Version, "surcharge_minor": 30_00}), 200)
	comes("an exchange unit", 236_00, 47_20)
	as[Changed](s.put("desk", exchange, obj{"version": part.Version, "surcharge_minor": 30_00, "back_milli": 1000}), 200)
	comes("with the old one back", 206_00, 41_20)

	version := s.card(sheet.ID).Version
	as[Changed](s.put("desk", card+"/sundries", obj{"version": version, "sundries": obj{"percent_bp": 500, "cap_minor": 8_00}}), 200)
	if p := s.card(sheet.ID).Prices; p.Sundries == nil || p.Sundries.Percent != 500 || *p.Sundries.Cap != 8_00 || len(p.Adjustments) != 1 || p.Adjustments[0].StruckWhy != "asked again" || len(p.Menus) != 1 || len(p.Fees) != 1 {
		t.Errorf("the card's prices are %+v", p)
	}
	if c := as[CardSheet](s.get("posy", card), 200); c.Prices != nil || c.Quote != nil {
		t.Error("a technician sees prices")
	}
}

// testFees goes through the published cases of HMRC's VAT manual, VTAXPER48000:
// an own test within the maximum has no VAT on it; of a test by another centre
// what was paid on is outside the scope, and the rest is taxed.
func (s *site) testFees(card, line string, comes func(string, money.Minor, money.Minor)) {
	t := s.t
	t.Helper()
	law := as[TestFees](s.get("desk", "/garage/test-fees"), 200)
	if len(law.Conditions) != 8 || law.Conditions[5].Asked || len(law.Maxima) == 0 {
		t.Errorf("test fees are judged by %+v", law)
	}
	as[TestMaximum](s.put("owner", "/garage/test-fees", obj{"class": "Trailer", "from": "2026-10-01", "fee_minor": 40_00}), 200)
	s.post("desk", line+"/fees", obj{"what": "Test", "class": "Trailer", "charged_minor": 40_01, "own": true}).problem(422, "invalid")
	s.empty(s.delete("owner", "/garage/test-fees/Trailer/2026-10-01"))
	fee := as[Changed](s.post("desk", line+"/fees", obj{"what": "Test", "charged_minor": 54_85, "own": true}), 201)
	comes("an own test", 126_00+54_85, 25_20)
	at := fmt.Sprintf("/fees/%d", fee.ExtraID)
	fee = as[Changed](s.put("desk", at, obj{"what": "Test at the centre", "charged_minor": 54_85, "paid_minor": 40_00, "conditions_met": []int{1, 2, 3, 4, 5, 8}, "version": fee.Version}), 200)
	comes("a test paid on", 126_00+40_00+12_37, 25_20+2_48)
	fee = as[Changed](s.put("desk", at, obj{"what": "Test at the centre", "charged_minor": 54_85, "paid_minor": 40_00, "conditions_met": []int{1}, "version": fee.Version}), 200)
	comes("a test that is no disbursement", 126_00+45_71, 25_20+9_14)
	as[Changed](s.post("desk", at+"/strike", obj{"version": fee.Version, "reason": "they take it themselves"}), 200)
	comes("no test", 126_00, 25_20)
}

func TestAProgramPricesACard(t *testing.T) { newSite(t).pricing() }
