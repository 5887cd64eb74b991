package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
)

// Each edit is made from an older version; nothing may be saved, and the
// record as it stands comes back.
func TestAStaleEditIsRefusedWithTheRecordAsItStands(t *testing.T) {
	s := newSite(t)
	c := s.book()
	part := as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), obj{"name": "Pads", "qty_milli": 1000, "cost_minor": 2000}), http.StatusCreated)
	car := as[VehicleRecord](s.get("desk", fmt.Sprintf("/vehicles/%d", s.Car)), http.StatusOK)
	as[Fact](s.put("posy", fmt.Sprintf("/vehicles/%d/facts/engine_code/car", s.Car), obj{"value": "XJ4"}), http.StatusOK)
	line := fmt.Sprintf("/lines/%d", c.Lines[1].ID)
	s.agree(c.ID)
	on := as[ClockedOn](s.post("posy", line+"/clock-on", obj{}), http.StatusOK)
	in := as[Attendance](s.post("posy", "/arrive", nil), http.StatusOK)
	settings := as[SettingsBody](s.get("owner", "/garage/settings"), http.StatusOK)
	settings.Version += 7
	staff := fmt.Sprintf("/staff/%d", s.Posy.StaffID)

	for _, e := range []struct {
		who, path string
		body      any
		shows     string // in current
	}{
		{"desk", fmt.Sprintf("/cards/%d/visit", c.ID), obj{"booked_for": "2026-10-06", "version": 99}, `"booked_for":"2026-10-05"`},
		{"desk", line, obj{"title": "Other", "must_do": true, "likely_minutes": 20, "version": 99}, `"title":"Look at the rattle"`},
		{"desk", fmt.Sprintf("/parts/%d", part.PartID), obj{"name": "Other", "qty_milli": 1000, "version": 99}, `"cost_minor":2000`},
		{"desk", fmt.Sprintf("/vehicles/%d", s.Car), obj{"mark": car.Mark, "make": "Other", "version": 99}, `"make":"Brisling"`},
		{"desk", fmt.Sprintf("/vehicles/%d/keeper", s.Car), obj{"new_customer": obj{"name": "Ada Fenn"}, "day": "2026-10-05"}, `"name":"Odette Marlowe"`},
		{"posy", fmt.Sprintf("/vehicles/%d/facts/engine_code/car", s.Car), obj{"value": "XJ5"}, `"value":"XJ4"`},
		{"desk", fmt.Sprintf("/customers/%d", s.Keeper), obj{"name": "Other", "version": 99}, `"name":"Odette Marlowe"`},
		{"owner", "/garage/settings", settings, `"zone":"Europe/London"`},
		{"owner", fmt.Sprintf("/operations/%d", s.Service), obj{
			"name": "Other", "labour_type_id": s.Labour, "low_minutes": 1, "likely_minutes": 1, "high_minutes": 1, "vat_code": "standard", "version": 99,
		}, `"name":"Annual service"`},
		{"owner", fmt.Sprintf("/labour-types/%d", s.Labour), obj{"name": "Other", "rate_minor": 1, "version": 99}, `"rate_minor":6000`},
		{"owner", fmt.Sprintf("/suppliers/%d", s.Supplier), obj{"name": "Other", "version": 99}, `"name":"Estuary Motor Factors"`},
		{"posy", fmt.Sprintf("/clockings/%d", on.ClockingID), obj{"from": "2026-10-05T07:00:00Z", "reason": "began earlier", "version": 99}, `"title":"Look at the rattle"`},
		{"posy", fmt.Sprintf("/attendance/%d", in.ID), obj{
			"from": "2026-10-05T07:00:00Z", "to": "2026-10-05T08:00:00Z", "reason": "began earlier", "version": 99,
		}, `"name":"Posy Thackeray"`},
		{"owner", "/shifts", obj{"version": 99, "weeks": []obj{{"staff_id": s.Posy.StaffID, "shifts": []obj{}}}}, `"weeks":[`},
		{"owner", staff, obj{"name": "Other", "role": "technician", "sign_in": "posy", "version": 99}, `"name":"Posy Thackeray"`},
	} {
		events := s.count(`select count(*) from event`)
		p := s.put(e.who, e.path, e.body).problem(http.StatusConflict, "stale")
		b, err := json.Marshal(p.Current)
		s.OK(err)
		if !strings.Contains(string(b), e.shows) {
			t.Errorf("PUT %s: the record as it stands is %s, without %s", e.path, b, e.shows)
		}
		if n := s.count(`select count(*) from event`); n != events {
			t.Errorf("PUT %s wrote %d events", e.path, n-events)
		}
	}
	for _, path := range []string{line + "/strike", fmt.Sprintf("/parts/%d/strike", part.PartID)} {
		s.post("desk", path, obj{"reason": "not wanted", "version": 99}).problem(http.StatusConflict, "stale")
	}
	// What a technician gets to see of a part has no money on it.
	p := s.post("posy", fmt.Sprintf("/parts/%d/supply", part.PartID), obj{"supply": "arrived", "version": 99})
	p.problem(http.StatusConflict, "stale")
	if !strings.Contains(string(p.Raw), `"name":"Pads"`) || strings.Contains(string(p.Raw), "_minor") {
		t.Errorf("a technician's stale part: %s", p.Raw)
	}
}

func TestTwoEditsFromOneVersionKeepTheFirst(t *testing.T) {
	s := newSite(t)
	c := s.book()
	line := fmt.Sprintf("/lines/%d", c.Lines[1].ID)
	edit := func(title string) reply {
		return s.put("desk", line, obj{"title": title, "must_do": true, "likely_minutes": 20, "version": c.Lines[1].Version})
	}
	if done := as[Changed](edit("The first"), http.StatusOK); done.Version != c.Lines[1].Version+1 {
		t.Errorf("the new version is %d", done.Version)
	}
	p := edit("The second").problem(http.StatusConflict, "stale")
	if now := p.Current.(obj); now["title"] != "The first" || now["version"] != float64(c.Lines[1].Version+1) {
		t.Errorf("the record as it stands is %v", now)
	}
	if got := s.card(c.ID).Lines[1].Title; got != "The first" {
		t.Errorf("the line is %q", got)
	}
}
