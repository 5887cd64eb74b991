package api

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
)

func TestEveryOperationOfTheDocumentDoesWhatItSays(t *testing.T) {
	s := newSite(t)
	s.setUp()
	s.deskWork()
	s.workshop()
	s.fitting()
	s.hoursAndStaff()
	s.reckoning()
	s.storesWork()
	s.looking()
	s.linking()
	s.quoting()
	s.handing()
	s.accounting()
	s.billing()
	s.pricing()
	n := 0
	for path, item := range s.api.huma.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
			if op == nil {
				continue
			}
			n++
			if _, ok := s.done.Load(op.OperationID); !ok {
				t.Errorf("%s (%s %s) has not been made to work", op.OperationID, op.Method, path)
			}
		}
	}
	if n < 100 {
		t.Errorf("only %d operations", n)
	}
}

// setUp goes through what the owner sets up.
func (s *site) setUp() {
	t := s.t
	t.Helper()
	house := as[House](s.get("posy", "/garage"), 200)
	if house.Currency != "GBP" || house.Today.String() != "2026-10-05" || house.Opens.String() != "08:30" || len(house.WorkDays) != 5 || house.WorkDays[0] != "monday" {
		t.Errorf("the garage is %+v", house)
	}
	set := as[SettingsBody](s.get("owner", "/garage/settings"), 200)
	set.Phone, set.DefaultMarkUp = "01632 960001", 2500
	if saved := as[SettingsBody](s.put("owner", "/garage/settings", set), 200); saved.Phone != "01632 960001" || saved.Version != set.Version+1 {
		t.Errorf("saved %+v", saved)
	}
	labour := as[LabourType](s.post("owner", "/labour-types", obj{"name": "Diagnosis", "rate_minor": 7500}), 201)
	at := fmt.Sprintf("/labour-types/%d", labour.ID)
	labour = as[LabourType](s.put("owner", at, obj{"name": "Diagnosis", "rate_minor": 8000, "version": labour.Version}), 200)
	if got := as[LabourType](s.get("owner", at), 200); *got.Rate != 8000 || !got.Active || got.Version != labour.Version {
		t.Errorf("labour %+v", got)
	}
	if all := as[LabourTypes](s.get("owner", "/labour-types"), 200); len(all.LabourTypes) != 2 || all.Currency != "GBP" {
		t.Errorf("labour types %+v", all)
	}
	op := as[Operation](s.post("owner", "/operations", obj{
		"name": "Find a short", "labour_type_id": labour.ID, "low_minutes": 30, "likely_minutes": 60, "high_minutes": 120, "vat_code": "standard",
		"cautions": []string{"high-voltage"}, "fixed_price_minor": 9900,
	}), 201)
	if !op.Safety || *op.FixedPrice != 9900 || *op.Rate != 8000 {
		t.Errorf("operation %+v", op)
	}
	at = fmt.Sprintf("/operations/%d", op.ID)
	as[Operation](s.put("owner", at, obj{
		"name": "Find a short", "labour_type_id": labour.ID, "low_minutes": 30, "likely_minutes": 60, "high_minutes": 120, "vat_code": "standard",
		"active": false, "version": op.Version,
	}), 200)
	if got := as[Operation](s.get("owner", at), 200); got.Active || got.FixedPrice != nil || len(got.Cautions) != 0 {
		t.Errorf("what an edit left out is %+v", got)
	}
	if all := as[Operations](s.get("owner", "/operations?text=short"), 200); len(all.Operations) != 1 {
		t.Errorf("operations %+v", all)
	}
	supplier := as[Supplier](s.post("owner", "/suppliers", obj{"name": "Harbour Spares", "phone": "01632 960777"}), 201)
	at = fmt.Sprintf("/suppliers/%d", supplier.ID)
	as[Supplier](s.put("owner", at, obj{"name": "Harbour Spares", "email": "parts@example.com", "version": supplier.Version}), 200)
	if got := as[Supplier](s.get("owner", at), 200); got.Email != "parts@example.com" || got.Phone != "" {
		t.Errorf("supplier %+v", got)
	}
	if all := as[Suppliers](s.get("owner", "/suppliers"), 200); len(all.Suppliers) != 2 {
		t.Errorf("suppliers %+v", all)
	}
	rate := as[VATRate](s.post("owner", "/vat-rates", obj{"code": "reduced", "from": "2027-01-01", "rate_bp": 600}), 201)
	if rates := as[VATRates](s.get("owner", "/vat-rates"), 200); rate.Rate != 600 || len(rates.Rates) < 5 {
		t.Errorf("rates %+v", rates)
	}
	s.empty(s.delete("owner", "/vat-rates/reduced/2027-01-01"))
	s.delete("owner", "/vat-rates/reduced/2027-01-01").problem(http.StatusConflict, "conflict")
	choices := as[Choices](s.get("desk", "/choices"), 200)
	if len(choices.Operations) != 3 || len(choices.Cautions) != 13 || len(choices.Facts) < 20 || len(choices.Stages) != 6 || choices.Currency != "GBP" {
		t.Errorf("choices: %d operations, %d cautions, %d facts", len(choices.Operations), len(choices.Cautions), len(choices.Facts))
	}
}

func (s *site) empty(a reply) {
	s.t.Helper()
	if a.Status != http.StatusNoContent || len(a.Raw) != 0 {
		s.t.Errorf("%d %s, want an empty answer", a.Status, a.Raw)
	}
}

// deskWork goes through what the desk does.
func (s *site) deskWork() {
	t := s.t
	t.Helper()
	ada := as[CustomerChanged](s.post("desk", "/customers", obj{"name": "Ada Fenn", "phone": "07700 900 111"}), 201)
	as[CustomerChanged](s.put("desk", fmt.Sprintf("/customers/%d", ada.ID), obj{"name": "Ada Fenn", "phone": "07700 900222", "note": "mornings", "version": 1}), 200)
	for _, query := range []string{"text=fenn", "phone=%2B447700900222"} {
		if found := as[Customers](s.get("desk", "/customers?"+query), 200); len(found.Customers) != 1 || found.Customers[0].Note != "mornings" {
			t.Errorf("%s found %+v", query, found)
		}
	}
	car := as[VehicleChanged](s.post("desk", "/vehicles", obj{
		"mark": "AB12 CDE", "make": "Corvane", "model": "Alder", "keeper_id": ada.ID, "kept_from": "2026-01-01",
		"facts": []obj{{"key": "cylinders", "value": "4", "source": "logbook"}},
	}), 201)
	at := fmt.Sprintf("/vehicles/%d", car.ID)
	if found := as[VehicleHits](s.get("desk", "/vehicles?text=ab+12"), 200); len(found.Vehicles) != 1 || found.Vehicles[0].ID != car.ID {
		t.Errorf("found %+v", found)
	}
	as[VehicleChanged](s.put("desk", at, obj{"mark": "AB12 CDE", "make": "Corvane", "colour": "blue", "version": 1}), 200)
	as[Fact](s.put("posy", at+"/facts/cylinders/car", obj{"value": "6"}), 200)
	got := as[VehicleRecord](s.get("posy", at), 200)
	if got.Colour != "blue" || got.Model != "" || got.Keeper.Name != "Ada Fenn" || len(got.Facts) != 1 || !got.Facts[0].Contradicted || got.Facts[0].Value != "6" {
		t.Errorf("the car is %+v", got)
	}
	as[VehicleChanged](s.delete("posy", at+"/facts/cylinders/car?was=6"), 200)
	kept := as[Kept](s.put("desk", at+"/keeper", obj{"new_customer": obj{"name": "Bo Marlowe"}, "day": "2026-10-01", "was_customer_id": ada.ID}), 200)
	who := as[CustomerRecord](s.get("desk", fmt.Sprintf("/customers/%d", ada.ID)), 200)
	if len(who.Cars) != 1 || who.Cars[0].Until.String() != "2026-10-01" || kept.CustomerID == ada.ID {
		t.Errorf("Ada's dealings: %+v", who)
	}
	as[LeftOvers](s.get("desk", at+"/left-overs"), 200)

	c := s.priced()
	card := fmt.Sprintf("/cards/%d", c.ID)
	added := as[Changed](s.post("desk", card+"/lines", obj{"operation_id": s.Check, "after_ids": []any{c.Lines[1].ID}}), 201)
	line := fmt.Sprintf("/lines/%d", added.LineID)
	as[Changed](s.put("desk", line, obj{
		"title": "Look for the noise", "must_do": false, "likely_minutes": 45, "note": "left front", "assigned_to_id": s.Bram.StaffID, "version": 1,
	}), 200)
	as[Changed](s.post("desk", line+"/move", obj{"position": 1}), 200)
	as[Changed](s.put("desk", line+"/after/"+fmt.Sprint(c.Lines[2].ID), nil), 200)
	as[Changed](s.delete("desk", line+"/after/"+fmt.Sprint(c.Lines[1].ID)), 200)
	part := as[Changed](s.post("desk", card+"/parts", obj{"name": "Bush", "qty_milli": 2000, "cost_minor": 450, "line_id": added.LineID}), 201)
	as[Changed](s.put("desk", fmt.Sprintf("/parts/%d", part.PartID), obj{"name": "Bush", "qty_milli": 2000, "cost_minor": 500, "line_id": added.LineID, "version": 1}), 200)
	c = s.card(c.ID)
	if l := c.Lines[0]; l.ID != added.LineID || l.LikelyMinutes != 45 || l.Note != "left front" || len(l.After) != 1 || l.After[0] != c.Lines[3].ID {
		t.Errorf("the line is %+v", l)
	}
	if p := c.Parts[2]; *p.Cost != 500 || *p.MarkUp != 2500 || *p.Unit != 625 || *p.Net != 1250 {
		t.Errorf("the part is %+v", p)
	}
	as[Changed](s.post("desk", fmt.Sprintf("/parts/%d/strike", part.PartID), obj{"reason": "not needed", "version": c.Parts[2].Version}), 200)
	as[Changed](s.post("desk", line+"/strike", obj{"reason": "same as the other", "version": c.Lines[0].Version}), 200)
	as[Changed](s.put("desk", card+"/visit", obj{"booked_for": "2026-10-05", "mileage": 81234, "promised_at": "2026-10-05T17:00:00+01:00", "version": c.Version}), 200)
	c = s.card(c.ID)
	if c.Lines[0].StruckWhy != "same as the other" || *c.Mileage != 81234 || c.PromisedAt.Hour() != 16 {
		t.Errorf("the card is %+v", c.Card)
	}
	day, week := as[Diary](s.get("desk", "/diary/day?day=2026-10-05"), 200), as[Diary](s.get("posy", "/diary/week"), 200)
	if len(day.Days) != 1 || len(day.Days[0].Bookings) != 1 || len(week.Days) != 7 || week.Days[0].Day.String() != "2026-10-05" {
		t.Errorf("the diary has %+v", day)
	}
	s.Clock = s.Clock.Add(20 * time.Minute) // Posy is on the first line meanwhile
	cost := as[CardCost](s.get("owner", card+"/cost"), 200)
	if cost.CardID != c.ID || cost.Currency != "GBP" || len(cost.Accounts) == 0 {
		t.Errorf("the cost is %+v", cost)
	}
	as[Events](s.get("owner", "/events?day=2026-10-05"), 200)
	as[Verdict](s.get("owner", "/events/verify"), 200)
}

// workshop goes through what technicians do.
func (s *site) workshop() {
	t := s.t
	t.Helper()
	as[ClockedOff](s.post("posy", "/clock-off", nil), 200)
	c := s.book()
	s.agree(c.ID)
	line := fmt.Sprintf("/lines/%d", c.Lines[0].ID)
	if got := as[LineCautions](s.get("bram", line+"/cautions"), 200); len(got.Unread) != 1 || len(got.Read) != 0 || got.Note == "" {
		t.Errorf("cautions %+v", got)
	}
	as[Changed](s.post("bram", line+"/cautions-read", obj{"cautions": []string{"brakes"}}), 200)
	on := as[ClockedOn](s.post("bram", line+"/clock-on", nil), 200)
	if k := as[CurrentClocking](s.get("bram", "/clockings/current"), 200); k.Clocking == nil || k.Clocking.ID != on.ClockingID {
		t.Errorf("on %+v", k)
	}
	s.Clock = s.Clock.Add(40 * time.Minute)
	part := as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), obj{"name": "Pads", "qty_milli": 1000, "cost_minor": 900, "supply": "arrived", "line_id": c.Lines[0].ID}), 201)
	snag := as[Snagged](s.post("bram", line+"/snags", obj{"kind": "wrong part", "part_id": part.PartID, "note": "for the other caliper"}), 200)
	if len(snag.Off) != 1 || snag.Off[0] != s.Bram.StaffID {
		t.Errorf("the snag clocked off %v", snag.Off)
	}
	c = s.card(c.ID)
	again := c.Parts[1]
	if c.Parts[0].Supply != jobcard.GoingBack || c.Parts[0].Verdict != jobcard.DoesNotFit || again.Supply != jobcard.Needed || c.Lines[0].WorkState != jobcard.Waiting {
		t.Errorf("after a wrong part: %+v", c.Parts)
	}
	due := as[Changed](s.post("posy", fmt.Sprintf("/parts/%d/supply", again.ID), obj{"version": again.Version, "supply": "ordered", "due_at": "2026-10-06T09:00:00Z"}), 200)
	arrived := as[Changed](s.post("posy", fmt.Sprintf("/parts/%d/supply", again.ID), obj{"version": due.Version, "supply": "arrived"}), 200)
	as[Changed](s.post("posy", fmt.Sprintf("/parts/%d/verdict", again.ID), obj{"version": arrived.Version, "verdict": "fits", "note": "beside the old ones"}), 200)
	found := as[Snagged](s.post("posy", line+"/snags", obj{"kind": "found a fault", "found": obj{"title": "Split hose", "likely_minutes": 30, "severity": "dangerous"}}), 200)
	c = s.card(c.ID)
	if len(c.Findings) != 1 || c.Findings[0].Proposed != found.LedTo || len(c.Snags) != 2 || c.Lines[0].WorkState != jobcard.Open || c.Parts[1].DueAt.IsZero() {
		t.Errorf("after the find: %+v %+v", c.Findings, c.Lines[0])
	}
	photo := as[PhotoChanged](s.photo("posy", c.Lines[0].ID, "the hose", jpegOf(t)), 201)
	for _, path := range []string{"", "/file", "/small"} {
		s.get("posy", fmt.Sprintf("/photos/%d%s", photo.ID, path))
	}
	as[PhotoChanged](s.post("posy", fmt.Sprintf("/photos/%d/strike", photo.ID), nil), 200)
	as[Moved](s.post("posy", line+"/wait", obj{"reason": "a bleed nipple"}), 200)
	as[Moved](s.post("posy", line+"/reopen", obj{"reason": "found one"}), 200)
	// The pads made it dearer, so the customer is asked before it is ticked.
	s.post("posy", line+"/tick", nil).problem(409, "not-agreed")
	as[Changed](s.put("desk", line+"/go-ahead", obj{"reason": "they are at sea"}), 200)
	as[Changed](s.delete("desk", line+"/go-ahead"), 200)
	as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/answers", c.ID), obj{"answer": "agreed", "said_by": "Odette Marlowe", "how": "by phone", "line_ids": []int64{int64(c.Lines[0].ID)}, "up_to_minor": 500_00}), 200)
	as[Moved](s.post("posy", line+"/tick", nil), 200)
	for _, id := range []jobcard.LineID{c.Lines[1].ID, found.LedTo} {
		as[Moved](s.post("posy", fmt.Sprintf("/lines/%d/defer", id), obj{"reason": "another day", "decided_by": "the customer"}), 200)
	}
	as[Changed](s.post("desk", line+"/check", obj{"torque_nm": 110, "note": "all five"}), 200)
	as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/stage", c.ID), obj{"stage": "ready"}), 200)
	if plan := as[Floor](s.get("posy", "/floor"), 200); plan.Mine != nil || len(plan.Staff) != 4 {
		t.Errorf("the floor is %+v", plan)
	}
}

// hoursAndStaff goes through who works when, and how they sign in.
func (s *site) hoursAndStaff() {
	t := s.t
	t.Helper()
	in := as[Attendance](s.post("bram", "/arrive", nil), 200)
	all := as[ClockingDay](s.get("owner", "/clockings"), 200)
	mine := as[ClockingDay](s.get("bram", "/clockings?day=2026-10-05"), 200)
	if len(all.Clockings) != 2 || len(mine.Clockings) != 1 || mine.Worked[0].Worked != 2400 {
		t.Errorf("clockings %+v, Bram's %+v", all, mine)
	}
	k := mine.Clockings[0]
	at := fmt.Sprintf("/clockings/%d", k.ID)
	s.get("posy", at).problem(http.StatusForbidden, "forbidden")
	s.get("posy", fmt.Sprintf("/clockings?staff=%d", s.Bram.StaffID)).problem(http.StatusForbidden, "forbidden")
	fixed := as[Clocking](s.put("bram", at, obj{"from": k.From, "to": k.From.Add(30 * time.Minute), "reason": "went to lunch", "version": k.Version}), 200)
	if got := as[Clocking](s.get("bram", at), 200); got != fixed || !got.To.Equal(k.From.Add(30*time.Minute)) {
		t.Errorf("corrected %+v", got)
	}
	if day := as[ClockingDay](s.get("bram", "/clockings"), 200); len(day.Corrections) != 1 || day.Corrections[0].Reason != "went to lunch" || day.Corrections[0].Became == nil {
		t.Errorf("corrections %+v", day.Corrections)
	}
	c := s.book()
	s.agree(c.ID)
	as[ClockedOn](s.post("posy", fmt.Sprintf("/lines/%d/clock-on", c.Lines[1].ID), nil), 200)
	s.Clock = time.Date(2026, 10, 5, 20, 0, 0, 0, time.UTC)
	if f := as[ForgottenClockings](s.get("posy", "/clockings/forgotten"), 200); len(f.Forgotten) != 1 || !f.Forgotten[0].Likely.Equal(time.Date(2026, 10, 5, 16, 30, 0, 0, time.UTC)) {
		t.Errorf("forgotten %+v", f)
	}
	h := as[Hours](s.get("owner", "/hours"), 200)
	if len(h.Weeks) != 4 || len(h.Forgotten) != 2 || len(h.Today) == 0 {
		t.Errorf("hours %+v", h)
	}
	s.empty(s.put("owner", "/shifts", obj{"version": h.Version, "weeks": []obj{{"staff_id": s.Bram.StaffID, "shifts": []obj{
		{"day": "monday", "starts": "08:30", "ends": "17:30", "break_minutes": 60}, {"day": "sunday", "starts": "09:00", "ends": "12:00"},
	}}}}))
	s.empty(s.post("owner", "/absences", obj{"staff_id": s.Bram.StaffID, "from": "2026-10-08", "to": "2026-10-09", "reason": "holiday"}))
	h = as[Hours](s.get("owner", "/hours"), 200)
	for _, w := range h.Weeks {
		if w.StaffID == s.Bram.StaffID && (len(w.Shifts) != 2 || w.Shifts[0].BreakMinutes != 60 || w.Shifts[1].Day != "sunday" || w.Shifts[1].Ends.String() != "12:00") {
			t.Errorf("Bram's week is %+v", w)
		}
	}
	if len(h.Absences) != 2 || h.Absences[1].Day.String() != "2026-10-09" {
		t.Errorf("away %+v", h.Absences)
	}
	s.empty(s.delete("owner", fmt.Sprintf("/absences?staff=%d&from=2026-10-08&to=2026-10-09", s.Bram.StaffID)))
	as[ClockedOff](s.post("bram", "/go-home", nil), 200)
	at = fmt.Sprintf("/attendance/%d", in.ID)
	was := as[Attendance](s.get("bram", at), 200)
	is := as[Attendance](s.put("bram", at, obj{"from": was.From, "to": "2026-10-05T16:00:00Z", "break_minutes": 30, "reason": "forgot to sign out", "version": was.Version}), 200)
	if is.BreakMinutes != 30 || !is.Corrected || is.Version == was.Version {
		t.Errorf("attendance %+v", is)
	}
	as[Attendance](s.post("owner", "/attendance", obj{"staff_id": s.Posy.StaffID, "from": "2026-10-02T08:00:00Z", "to": "2026-10-02T16:00:00Z", "reason": "the tablet was flat"}), 201)
	as[DayEnd](s.get("owner", "/days-end?day=2026-10-05"), 200)
	s.signIns()
}

func (s *site) signIns() {
	t := s.t
	t.Helper()
	made := as[StaffChanged](s.post("owner", "/staff", obj{"name": "Juno Reave", "role": "technician", "sign_in": "juno", "password": "tideline-crow-88", "pin": "7193", "cost_rate_minor": 1700}), 201)
	at := fmt.Sprintf("/staff/%d", made.ID)
	juno := as[Staff](s.get("owner", at), 200)
	if juno.CostRate != 1700 || !juno.HasPIN || !juno.HasPassword || !juno.Active {
		t.Errorf("Juno is %+v", juno)
	}
	as[StaffChanged](s.put("owner", at, obj{"name": "Juno Reave", "role": "desk", "sign_in": "juno", "cost_rate_minor": 1650, "version": juno.Version}), 200)
	as[StaffChanged](s.put("owner", at+"/password", obj{"password": "harbour-lamp-62"}), 200)
	as[StaffChanged](s.put("owner", at+"/pin", obj{"pin": "8264"}), 200)
	as[StaffChanged](s.delete("desk", at+"/pin-lock"), 200)
	as[StaffChanged](s.put("owner", at+"/active", obj{"active": false}), 200)
	if all := as[StaffList](s.get("owner", "/staff"), 200); len(all.Staff) != 5 || all.Staff[4].Name != "Juno Reave" || all.Currency != "GBP" {
		t.Errorf("the staff are %+v", all)
	}
	token := as[MadeToken](s.post("owner", "/tokens", obj{"name": "Old", "staff_id": s.Posy.StaffID, "days": 30}), 201)
	if all := as[Tokens](s.get("owner", "/tokens"), 200); len(all.Tokens) != 5 || all.Tokens[0].ExpiresAt.IsZero() || all.Tokens[0].Staff != "Posy Thackeray" {
		t.Errorf("the tokens are %+v", all)
	}
	as[TokenChanged](s.delete("owner", fmt.Sprintf("/tokens/%d", token.ID)), 200)

	for range 2 {
		_, err := s.Accounts.SignIn(t.Context(), "ida", cardtest.Password, account.From{Address: "192.0.2.7", Agent: "a browser"})
		s.OK(err)
	}
	at = fmt.Sprintf("/staff/%d/sessions", s.Desk.StaffID)
	list := as[Sessions](s.get("desk", at), 200)
	if len(list.Sessions) != 2 || list.Sessions[0].Agent != "a browser" {
		t.Fatalf("sessions %+v", list)
	}
	s.get("posy", at).problem(http.StatusForbidden, "forbidden")
	as[StaffChanged](s.delete("desk", at+"/"+list.Sessions[0].ID), 200)
	as[StaffChanged](s.delete("owner", at), 200)
	if list := as[Sessions](s.get("owner", at), 200); len(list.Sessions) != 0 {
		t.Errorf("sessions left: %+v", list)
	}
	wrong := s.put("desk", "/me/password", obj{"old_password": "not it at all", "password": "saltwater-heron-5"}).problem(422, "invalid")
	if wrong.at("#/old_password") == "" {
		t.Errorf("a wrong old password: %+v", wrong)
	}
	s.empty(s.put("desk", "/me/password", obj{"old_password": cardtest.Password, "password": "saltwater-heron-5"}))
	if me := as[Me](s.get("desk", "/me"), 200); me.SignIn != "ida" || me.Role != actor.Desk || len(me.Rights) != 10 {
		t.Errorf("me: %+v", me)
	}
	tablet, err := s.Accounts.EnrolTablet(t.Context(), s.Owner, "Ramp 1")
	s.OK(err)
	if all := as[Tablets](s.get("desk", "/tablets"), 200); len(all.Tablets) != 1 || all.Tablets[0].Name != "Ramp 1" || !all.Tablets[0].LastSeen.IsZero() {
		t.Errorf("tablets %+v", all)
	}
	as[TabletChanged](s.delete("desk", fmt.Sprintf("/tablets/%d", tablet.ID)), 200)
}
