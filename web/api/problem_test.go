package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/apperr"
)

func TestWhatGoesWrongIsAProblemInPlainWords(t *testing.T) {
	s := newSite(t)
	c := s.book()
	line := fmt.Sprintf("/lines/%d", c.Lines[0].ID)
	s.tokens["stranger"] = account.TokenPrefix + strings.Repeat("A", 43)
	for _, w := range []struct {
		what, who, method, path string
		body                    any
		status                  int
		kind, at, says          string
	}{
		{"no token", "", "GET", "/garage", nil, 401, "unsigned", "", "Authorization: Bearer"},
		{"an unknown token", "stranger", "GET", "/garage", nil, 401, "unsigned", "", "unknown, expired or revoked"},
		{"no right", "posy", "GET", "/days-end", nil, 403, "forbidden", "", "may not see margins"},
		{"no right, whatever is sent", "posy", "POST", "/cards", "][", 403, "forbidden", "", "may not book in"},
		{"no such card", "desk", "GET", "/cards/987654321", nil, 404, "not-found", "", "there is no such card"},
		{"a card's number that is none", "desk", "GET", "/cards/seven", nil, 404, "not-found", "", "nothing at this address"},
		{"a number beyond all numbers", "desk", "GET", "/cards/99999999999999999999", nil, 404, "not-found", "", "nothing at this address"},
		{"a negative number", "desk", "GET", "/cards/-1", nil, 404, "not-found", "", "nothing at this address"},
		{"a fact that there is not", "posy", "PUT", fmt.Sprintf("/vehicles/%d/facts/mood/car", s.Car), obj{"value": "good"}, 404, "not-found", "", ""},
		{"no such address", "desk", "GET", "/nowhere", nil, 404, "not-found", "", "nothing at this address"},
		{"another method", "desk", "DELETE", "/cards", nil, 405, "method-not-allowed", "", "takes POST only"},
		{"no body", "desk", "POST", "/cards", nil, 400, "malformed", "", "needs a body"},
		{"half a body", "desk", "POST", "/cards", `{"booked_for":`, 400, "malformed", "", "not JSON"},
		{"a body where none is taken", "posy", "POST", line + "/tick", obj{"now": true}, 422, "invalid", "#", "takes no body"},
		{"an unknown field", "desk", "POST", "/customers", obj{"name": "Ada", "is_admin": true}, 422, "invalid", "#/is_admin", "no such field"},
		{"a field in other letters", "desk", "POST", "/customers", obj{"Name": "Ada"}, 422, "invalid", "#/Name", "no such field"},
		{"an unknown field deep down", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "lines": []obj{{"title": "x", "cost": 1}}}, 422, "invalid", "#/lines/0/cost", "no such field"},
		{"a missing field", "desk", "POST", "/customers", obj{}, 422, "invalid", "#/name", "please give this"},
		{"text for a number", "desk", "POST", "/cards", obj{"vehicle_id": "seven", "booked_for": "2026-10-05"}, 422, "invalid", "#/vehicle_id", "a whole number"},
		{"half a number", "desk", "POST", "/cards", obj{"vehicle_id": 1.5, "booked_for": "2026-10-05"}, 422, "invalid", "#/vehicle_id", "a whole number"},
		{"a word that is not one", "posy", "POST", line + "/snags", obj{"kind": "gremlins"}, 422, "invalid", "#/kind", "one of these"},
		{"a day that is none", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "soon", "lines": []obj{{"title": "x"}}}, 422, "invalid", "#/booked_for", "like 2026-10-05"},
		{"a day of long ago", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "0999-01-01", "lines": []obj{{"title": "x"}}}, 422, "invalid", "#/booked_for", "1900 and 2200"},
		{"a moment without a zone", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "promised_at": "2026-10-05T16:40:00"}, 422, "invalid", "#/promised_at", "like 2026-10-05T16:40:00Z"},
		{"a moment of long ago", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "promised_at": "0009-10-05T16:40:00Z"}, 422, "invalid", "#/promised_at", "1900 and 2200"},
		{"a parameter that there is not", "desk", "GET", "/vehicles?text=bd&colour=blue", nil, 422, "invalid", "colour", "no such parameter"},
		{"a parameter twice", "desk", "GET", "/vehicles?text=bd&text=sm", nil, 422, "invalid", "text", "more than once"},
		{"a missing parameter", "desk", "GET", "/vehicles", nil, 422, "invalid", "text", "missing"},
		{"a parameter far out of bounds", "desk", "GET", "/calculators/vat?amount_minor=10000000000", nil, 422, "invalid", "amount_minor", "at most 999999999, please"},
		{"a parameter out of bounds", "desk", "GET", "/vehicles?text=bd&limit=5000", nil, 422, "invalid", "limit", "at most 50"},
		{"a parameter that is no number", "desk", "GET", "/vehicles?text=bd&limit=many", nil, 422, "invalid", "limit", "a whole number"},
		{"a day in a parameter", "owner", "GET", "/days-end?day=2999-01-01", nil, 422, "invalid", "day", "1900 and 2200"},
		// What the services say comes at the field as it is called here.
		{"a rule of a line", "desk", "POST", fmt.Sprintf("/cards/%d/lines", c.ID), obj{"title": "x", "low_minutes": 90, "likely_minutes": 60}, 422, "invalid", "#/likely_minutes", "low must not be above likely"},
		{"a price below nothing", "desk", "POST", fmt.Sprintf("/cards/%d/lines", c.ID), obj{"title": "x", "likely_minutes": 60, "fixed_price_minor": -1}, 422, "invalid", "#/fixed_price_minor", "£0.00"},
		{"a labour type that is not there", "desk", "POST", fmt.Sprintf("/cards/%d/lines", c.ID), obj{"title": "x", "likely_minutes": 60, "labour_type_id": 999}, 422, "invalid", "#/labour_type_id", "not in the garage's list"},
		{"a rule of a line being booked", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "lines": []obj{{"title": "a", "likely_minutes": 6}, {"title": "b", "rate_minor": -1}}}, 422, "invalid", "#/lines/1/rate_minor", "£0.00"},
		{"a rule of a new car", "desk", "POST", "/cards", obj{"vehicle": obj{"mark": "???", "make": "Corvane"}, "customer": obj{"name": "Ada"}, "booked_for": "2026-10-05", "lines": []obj{{"title": "x"}}}, 422, "invalid", "#/vehicle/mark", ""},
		{"a rule of a fact", "desk", "POST", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "lines": []obj{{"title": "x"}}, "facts": []obj{{"key": "cylinders", "value": "many", "source": "car"}}}, 422, "invalid", "#/facts/0/value", "a figure"},
		{"a quantity of nothing", "desk", "POST", fmt.Sprintf("/cards/%d/parts", c.ID), obj{"name": "Pads", "qty_milli": 0}, 422, "invalid", "#/qty_milli", "0.001"},
		{"a part on no line", "desk", "POST", fmt.Sprintf("/cards/%d/parts", c.ID), obj{"name": "Pads", "qty_milli": 1, "line_id": 999}, 422, "invalid", "#/line_id", "not on the card"},
		{"an empty reason", "posy", "POST", line + "/defer", obj{"reason": "  "}, 422, "invalid", "#/reason", "please give the reason"},
		{"nothing found", "posy", "POST", line + "/snags", obj{"kind": "found a fault"}, 422, "invalid", "#/found/title", "what was found"},
		{"a settings' rule", "owner", "PUT", "/garage/settings", SettingsBody{Name: "G", Zone: "Mars/Olympus", Currency: "GBP", Opens: Clock{510}, Closes: Clock{500}, WorkDays: []Weekday{"monday"}, DefaultMarkUp: -1, VATRounding: "line", Version: 1}, 422, "invalid", "#/default_mark_up_bp", "percentage"},
		{"a shift's rule", "owner", "PUT", "/shifts", obj{"version": 1, "weeks": []obj{{"staff_id": s.Posy.StaffID, "shifts": []obj{{"day": "friday", "starts": "17:00", "ends": "08:00"}}}}}, 422, "invalid", "#/weeks/0/shifts/0", "must end after"},
		{"two shifts on one day", "owner", "PUT", "/shifts", obj{"version": 1, "weeks": []obj{{"staff_id": 1, "shifts": []obj{{"day": "friday", "starts": "08:00", "ends": "12:00"}, {"day": "friday", "starts": "13:00", "ends": "17:00"}}}}}, 422, "invalid", "#/weeks/0/shifts/1/day", "one shift a day"},
		{"a time of day that is none", "owner", "PUT", "/shifts", obj{"version": 1, "weeks": []obj{{"staff_id": 1, "shifts": []obj{{"day": "friday", "starts": "8", "ends": "12:00"}}}}}, 422, "invalid", "#/weeks/0/shifts/0/starts", "such as 16:40"},
		{"a weak password", "owner", "PUT", fmt.Sprintf("/staff/%d/password", s.Desk.StaffID), obj{"password": "short"}, 422, "invalid", "#/password", "at least 8"},
		{"a wrong stage", "desk", "POST", fmt.Sprintf("/cards/%d/stage", c.ID), obj{"stage": "collected"}, 422, "invalid", "#/stage", "cannot become"},
		{"not as things stand", "bram", "POST", line + "/check", obj{"torque_nm": 100}, 409, "conflict", "", "not done yet"},
	} {
		a := s.call(w.who, w.method, w.path, w.body)
		if a.Status != w.status {
			t.Errorf("%s: status %d, want %d: %s", w.what, a.Status, w.status, a.Raw)
			continue
		}
		p := a.problem(w.status, w.kind)
		said := p.Detail
		if w.at != "" {
			said = p.at(w.at)
		}
		if said == "" || !strings.Contains(said, w.says) {
			t.Errorf("%s: %q at %q, want words with %q: %s", w.what, said, w.at, w.says, a.Raw)
		}
		if auth := a.Header.Get("WWW-Authenticate"); (w.status == 401) != strings.HasPrefix(auth, "Bearer") {
			t.Errorf("%s: WWW-Authenticate is %q", w.what, auth)
		}
		if (w.status == 405) != (a.Header.Get("Allow") == "POST") {
			t.Errorf("%s: Allow is %q", w.what, a.Header.Get("Allow"))
		}
		if cc := a.Header.Get("Cache-Control"); cc != "no-store" {
			t.Errorf("%s: Cache-Control is %q", w.what, cc)
		}
	}
}

func TestAFaultOfOursIsLoggedOnceAndTellsNothingOfTheInside(t *testing.T) {
	s := newSite(t)
	s.DB.Pool.Exec(t.Context(), `alter table supplier rename column phone to telephone`)
	p := s.get("owner", "/suppliers")
	p.problem(http.StatusInternalServerError, "fault")
	for _, inside := range []string{"phone", "supplier", "column", "SQL", "pgx", ".go"} {
		if strings.Contains(string(p.Raw), inside) {
			t.Errorf("the answer speaks of %q: %s", inside, p.Raw)
		}
	}
	id := strings.TrimPrefix(as[Problem](p, 500).Instance, requestPrefix)
	if n := s.log.count("request_id=" + id); n != 1 || s.log.count("request failed") != 1 {
		t.Errorf("the log has %d lines of the request", n)
	}
}

func TestARefusedRightIsLoggedWithWhoAskedAndNeverWithTheToken(t *testing.T) {
	s := newSite(t)
	p := s.get("posy", "/days-end").problem(http.StatusForbidden, "forbidden")
	id := strings.TrimPrefix(p.Instance, requestPrefix)
	want := fmt.Sprintf("request_id=%s route=/api/v1/days-end address=127.0.0.1 staff_id=%d", id, s.Posy.StaffID)
	if s.log.count(want) != 1 {
		t.Errorf("the log has no line with %q:\n%s", want, s.log.buf.String())
	}
	s.call("", "GET", "/days-end", nil, "Authorization", "Bearer rmp_not-a-token").problem(http.StatusUnauthorized, "unsigned")
	if s.log.count("request refused") != 2 || s.log.count("rmp_") != 0 {
		t.Errorf("the log is:\n%s", s.log.buf.String())
	}
}

func TestARefusalBeforeAnyRouteIsAProblemToo(t *testing.T) {
	s := newSite(t)
	for _, w := range []struct {
		err    error
		status int
		kind   string
	}{
		{apperr.New(apperr.TooMany, "too many requests came from your address"), 429, "too-many"},
		{errors.New("panic: a nut fell in"), 500, "fault"},
		{apperr.New(apperr.Forbidden, "that was sent from another site"), 403, "forbidden"},
		{apperr.New(apperr.TooLarge, "too much"), 413, "too-large"},
	} {
		rec := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(context.WithValue(t.Context(), whoKey{}, actor.Actor{}), "GET", Prefix+"/garage", nil)
		if !Owns(r) {
			t.Error("the request is the interface's")
		}
		s.api.Fail(rec, r, w.err)
		body := rec.Body.String()
		if rec.Code != w.status || rec.Header().Get("Content-Type") != problemType || !strings.Contains(body, typePrefix+w.kind) || strings.Contains(body, "nut") {
			t.Errorf("%v: %d %s", w.err, rec.Code, body)
		}
		if (w.status == 429) != (rec.Header().Get("Retry-After") != "") {
			t.Errorf("%v: Retry-After is %q", w.err, rec.Header().Get("Retry-After"))
		}
	}
	for path, ours := range map[string]bool{Prefix: true, Prefix + "/": true, "/api/v10/x": false, "/": false, "/cards/7": false} {
		if Owns(httptest.NewRequest("GET", path, nil)) != ours {
			t.Errorf("%s: ours is %v", path, !ours)
		}
	}
}
