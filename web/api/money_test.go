package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rampside/internal/actor"
)

// moneyed are the names of fields that hold money, or what gives it away. The
// rate of VAT is public; how the hours of a day are filled is no money.
var moneyed = regexp.MustCompile(`(_minor|mark_up_bp|margin_bp|rate_bp)$|^(currency|price|quote|gross|totals)$`)

// moneyIn names every field of money in an answer.
func moneyIn(raw []byte) []string {
	var v any
	if json.Unmarshal(raw, &v) != nil {
		return nil
	}
	var out []string
	each(v, "", func(at string, o obj) {
		for name := range o {
			if moneyed.MatchString(name) {
				out = append(out, at+"/"+name)
			}
		}
	})
	return out
}

// priced makes a card on which there is money of every kind.
func (s *site) priced() CardSheet {
	s.t.Helper()
	c := s.book()
	as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/lines", c.ID), obj{
		"title": "Valet", "likely_minutes": 60, "fixed_price_minor": 4321, "rate_minor": 7777, "vat_code": "reduced",
	}), http.StatusCreated)
	for _, part := range []obj{
		{"name": "Pads", "qty_milli": 1000, "cost_minor": 2222, "mark_up_bp": 3333, "line_id": c.Lines[0].ID},
		{"name": "Oil", "qty_milli": 4500, "cost_minor": 888, "price_minor": 1234},
	} {
		as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), part), http.StatusCreated)
	}
	s.agree(c.ID)
	as[ClockedOn](s.post("posy", fmt.Sprintf("/lines/%d/clock-on", c.Lines[0].ID), obj{"cautions_read": []string{"brakes"}}), http.StatusOK)
	return s.card(c.ID)
}

// filler puts numbers that there are into paths of the document.
func (s *site) filler(c CardSheet) *strings.Replacer {
	clocking := as[CurrentClocking](s.get("posy", "/clockings/current"), http.StatusOK).Clocking
	in := s.count(`select id from attendance where staff_id = $1`, s.Posy.StaffID)
	return strings.NewReplacer(append(s.stocked(),
		"{version}", fmt.Sprint(s.quoted(c.ID).VersionID), "{card}", fmt.Sprint(c.ID), "{line}", fmt.Sprint(c.Lines[0].ID), "{vehicle}", fmt.Sprint(s.Car), "{customer}", fmt.Sprint(s.Keeper),
		"{operation}", fmt.Sprint(s.Brakes), "{labour}", fmt.Sprint(s.Labour), "{supplier}", fmt.Sprint(s.Supplier),
		"{clocking}", fmt.Sprint(clocking.ID), "{attendance}", fmt.Sprint(in), "{staff}", fmt.Sprint(s.Posy.StaffID), "{photo}", "1", "{part}", fmt.Sprint(c.Parts[0].ID), "{after}", fmt.Sprint(c.Lines[1].ID),
	)...)
}

func TestATechniciansTokenSeesNoMoneyAnywhere(t *testing.T) {
	s := newSite(t)
	c := s.priced()
	as[PhotoChanged](s.photo("posy", c.Lines[0].ID, "worn pads", jpegOf(t)), http.StatusCreated)
	fill := s.filler(c)
	seen, ownersFields := 0, 0
	for _, d := range s.api.Declared() {
		path := strings.TrimPrefix(d.Pattern, Prefix)
		if d.Method != http.MethodGet || path == documentPath {
			continue
		}
		path = fill.Replace(path)
		if strings.HasPrefix(path, "/calculators/") {
			continue // they reckon with what they are told, and know no money of the garage
		}
		if path == "/vehicles" || path == "/customers" {
			path += "?text=bd51"
		}
		if path == "/part-numbers/memory" {
			path += fmt.Sprintf("?number=SL-100&vehicle=%d", s.Car)
		}
		a := s.get("posy", path)
		if !s.Posy.May(d.Need) {
			a.problem(http.StatusForbidden, "forbidden")
			continue
		}
		if a.Status != http.StatusOK {
			t.Errorf("GET %s: %d %s", path, a.Status, a.Raw)
			continue
		}
		seen++
		// What the garage's money is called is no secret.
		if found := moneyIn(a.Raw); len(found) > 0 && path != "/garage" {
			t.Errorf("GET %s shows a technician %v", path, found)
		}
		for _, figure := range []string{"4321", "7777", "2222", "3333", "1234"} {
			if strings.Contains(string(a.Raw), ":"+figure) {
				t.Errorf("GET %s shows a technician the figure %s", path, figure)
			}
		}
		ownersFields += len(moneyIn(s.get("owner", path).Raw))
	}
	if seen < 15 {
		t.Errorf("only %d answers were looked at", seen)
	}
	// The same answers to the owner are full of it, so the walk sees money.
	if ownersFields < 30 {
		t.Errorf("the owner gets %d fields of money in the same answers", ownersFields)
	}
}

func TestATechniciansTokenSeesNoAddressOrTelephone(t *testing.T) {
	s := newSite(t)
	as[CustomerChanged](s.put("desk", fmt.Sprintf("/customers/%d", s.Keeper), obj{
		"name": "Odette Marlowe", "phone": "01632 960123", "email": "odette@example.com", "address": "2 Ropewalk", "note": "pays late", "version": 1,
	}), http.StatusOK)
	c := s.priced()
	as[Changed](s.put("desk", fmt.Sprintf("/cards/%d/visit", c.ID), obj{
		"booked_for": "2026-10-05", "contact_name": "Bo Marlowe", "contact_phone": "07700 900456", "version": c.Version,
	}), http.StatusOK)
	fill := s.filler(c)
	for _, path := range []string{"/cards/{card}", "/vehicles/{vehicle}", "/vehicles?text=bd51", "/vehicles?text=960123", "/diary/day", "/floor"} {
		a := s.get("posy", fill.Replace(path))
		for _, private := range []string{"960123", "900456", "odette@", "Ropewalk", "pays late", "Bo Marlowe"} {
			if a.Status != http.StatusOK || strings.Contains(string(a.Raw), private) {
				t.Errorf("GET %s: %d shows a technician %q", path, a.Status, private)
			}
		}
	}
	if a := s.get("desk", fill.Replace("/cards/{card}")); !strings.Contains(string(a.Raw), "Ropewalk") || !strings.Contains(string(a.Raw), "900456") {
		t.Errorf("the desk does not see them either: %s", a.Raw)
	}
}

func TestEveryOperationIsForThoseWithItsRightAndNobodyElse(t *testing.T) {
	s := newSite(t)
	who := map[string]actor.Actor{"owner": s.Owner, "desk": s.Desk, "posy": s.Posy}
	rights := map[actor.Right]bool{}
	for _, d := range s.api.Declared() {
		path := strings.TrimPrefix(d.Pattern, Prefix)
		if path == documentPath {
			continue
		}
		rights[d.Need] = true
		s.call("", d.Method, addressed(path, ""), nil).problem(http.StatusUnauthorized, "unsigned")
		for name, a := range who {
			got := s.call(name, d.Method, addressed(path, ""), nil)
			refused := got.Status == http.StatusForbidden
			if refused && a.May(d.Need) && !slices.Contains(own, d.Pattern) || !refused && !a.May(d.Need) {
				t.Errorf("%s %s as %s: %d %s", d.Method, path, name, got.Status, got.Raw)
			}
		}
	}
	for _, r := range everyRight {
		if !rights[r] && r != actor.CorrectClockings { // that one is asked for within others
			t.Errorf("no operation needs the right to %s", r)
		}
	}
}

// own are operations that anybody may ask for themselves, and some for others.
var own = []string{
	Prefix + "/staff/{staff}/sessions", Prefix + "/staff/{staff}/sessions/{session}", Prefix + "/me/password", Prefix + "/go-home",
}

func TestATokenOfSomebodyPutOutOpensNothing(t *testing.T) {
	s := newSite(t)
	as[Me](s.get("bram", "/me"), http.StatusOK)
	as[StaffChanged](s.put("owner", fmt.Sprintf("/staff/%d/active", s.Bram.StaffID), obj{"active": false}), http.StatusOK)
	s.get("bram", "/me").problem(http.StatusUnauthorized, "unsigned")
	for _, header := range []string{"Basic d3JlbjpwYXNz", "Bearer", "Bearer ", "rmp_x", "Bearer rmp_", "Bearer " + strings.Repeat("rmp_", 100), s.tokens["owner"]} {
		s.call("", "GET", "/me", nil, "Authorization", header).problem(http.StatusUnauthorized, "unsigned")
	}
	// A cookie is no way in, whatever is in it.
	s.call("", "GET", "/me", nil, "Cookie", "rampside="+s.tokens["owner"]).problem(http.StatusUnauthorized, "unsigned")
	as[Me](s.call("", "GET", "/me", nil, "Authorization", "bearer  "+s.tokens["owner"]), http.StatusOK)
}
