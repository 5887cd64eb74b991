package api

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
)

func (s *site) count(sql string, args ...any) (n int) {
	s.t.Helper()
	s.OK(s.DB.Pool.QueryRow(s.t.Context(), sql, args...).Scan(&n))
	return n
}

func TestTenPostsOfOneKeyAtOnceMakeOneCardAndGiveOneAnswer(t *testing.T) {
	s := newSite(t)
	before := s.count(`select count(*) from card`)
	body := obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "lines": []obj{{"operation_id": s.Service}}}
	answers := make([]reply, 10)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() {
			answers[i] = s.post("desk", "/cards", body, keyHeader, "5f0c1a52-6f0f-4f5e-9a43-0a4de3c6c001")
		})
	}
	all.Wait()
	first := as[Changed](answers[0], http.StatusCreated)
	for i, a := range answers {
		if a.Status != http.StatusCreated || !bytes.Equal(a.Raw, answers[0].Raw) {
			t.Errorf("answer %d: %d %s, the first was %s", i, a.Status, a.Raw, answers[0].Raw)
		}
	}
	if n := s.count(`select count(*) from card`) - before; n != 1 {
		t.Errorf("%d cards were made", n)
	}
	if n := s.count(`select count(*) from event where card_id = $1 and kind = 'card booked'`, first.CardID); n != 1 {
		t.Errorf("%d events say so", n)
	}
}

func TestAKeySentWithAnotherRequestIsAConflict(t *testing.T) {
	s := newSite(t)
	key := []string{keyHeader, "one-key"}
	as[CustomerChanged](s.post("desk", "/customers", obj{"name": "Odo Fenn"}, key...), http.StatusCreated)
	s.post("desk", "/customers", obj{"name": "Ada Fenn"}, key...).problem(http.StatusConflict, "conflict")
	s.post("desk", "/cards", obj{"vehicle_id": s.Car, "booked_for": "2026-10-05", "lines": []obj{{"operation_id": s.Service}}}, key...).
		problem(http.StatusConflict, "conflict")
	if n := s.count(`select count(*) from customer where name like '% Fenn'`); n != 1 {
		t.Errorf("%d customers were made", n)
	}
	// The same key of another token is another key.
	as[CustomerChanged](s.post("owner", "/customers", obj{"name": "Ada Fenn"}, key...), http.StatusCreated)
}

func TestAFailedWriteLeavesItsKeyFree(t *testing.T) {
	s := newSite(t)
	key := []string{keyHeader, "try-again"}
	s.post("desk", "/customers", obj{"name": " "}, key...).problem(http.StatusUnprocessableEntity, "invalid")
	as[CustomerChanged](s.post("desk", "/customers", obj{"name": "Odo Fenn"}, key...), http.StatusCreated)
}

func TestWithoutAKeyTwoRequestsAreTwoChanges(t *testing.T) {
	s := newSite(t)
	one := as[CustomerChanged](s.post("desk", "/customers", obj{"name": "Odo Fenn"}), http.StatusCreated)
	two := as[CustomerChanged](s.post("desk", "/customers", obj{"name": "Odo Fenn"}), http.StatusCreated)
	if one.ID == two.ID {
		t.Error("two requests made one customer")
	}
}

func TestAKeyThatIsNoneIsRefusedAtItsHeader(t *testing.T) {
	s := newSite(t)
	for _, key := range []string{" ", "two words", strings.Repeat("k", keyMax+1), "clé"} {
		p := s.post("desk", "/customers", obj{"name": "Odo Fenn"}, keyHeader, key).problem(http.StatusUnprocessableEntity, "invalid")
		if len(p.Errors) != 1 || p.Errors[0].Header != keyHeader {
			t.Errorf("%q: %+v", key, p)
		}
	}
	if n := s.count(`select count(*) from customer where name = 'Odo Fenn'`); n != 0 {
		t.Errorf("%d customers were made", n)
	}
}

// Every kind of write is sent twice with one key: the second changes nothing
// and answers as the first did.
func TestEveryKindOfWriteIsDoneOnceForOneKey(t *testing.T) {
	s := newSite(t)
	c := s.book()
	s.agree(c.ID)
	c = s.card(c.ID)
	line := fmt.Sprintf("/lines/%d", c.Lines[1].ID)
	customer := as[CustomerRecord](s.get("desk", fmt.Sprintf("/customers/%d", s.Keeper)), http.StatusOK)
	for i, w := range []struct {
		who, method, path string
		body              any
	}{
		{"desk", "PUT", fmt.Sprintf("/customers/%d", s.Keeper), obj{"name": "Odette Marlowe", "phone": "01632 960199", "version": customer.Version}},
		{"desk", "PUT", fmt.Sprintf("/cards/%d/visit", c.ID), obj{"booked_for": "2026-10-05", "keys_note": "on the hook", "version": c.Version}},
		{"desk", "PUT", line, obj{"title": "Look at the rattle", "must_do": true, "likely_minutes": 20, "version": c.Lines[1].Version}},
		{"desk", "PUT", fmt.Sprintf("%s/after/%d", line, c.Lines[0].ID), nil},
		{"desk", "DELETE", fmt.Sprintf("%s/after/%d", line, c.Lines[0].ID), nil},
		{"posy", "POST", line + "/clock-on", nil},
		{"posy", "POST", line + "/snags", obj{"kind": "found a fault", "found": obj{"title": "Split hose", "likely_minutes": 30, "severity": "major"}}},
		{"posy", "POST", "/clock-off", nil},
		{"posy", "PUT", fmt.Sprintf("/vehicles/%d/facts/engine_code/car", s.Car), obj{"value": "XJ4"}},
		{"posy", "DELETE", fmt.Sprintf("/vehicles/%d/facts/engine_code/car?was=XJ4", s.Car), nil},
		{"posy", "POST", line + "/tick", nil},
		{"posy", "POST", line + "/reopen", obj{"reason": "it rattles still"}},
		{"posy", "POST", line + "/wait", obj{"reason": "a bush is needed"}},
		{"posy", "POST", "/go-home", nil},
		{"owner", "POST", "/absences", obj{"staff_id": s.Bram.StaffID, "from": "2026-10-06", "to": "2026-10-07"}},
		{"owner", "DELETE", fmt.Sprintf("/absences?staff=%d&from=2026-10-06&to=2026-10-07", s.Bram.StaffID), nil},
	} {
		key := []string{keyHeader, fmt.Sprintf("write-%d", i)}
		first := s.call(w.who, w.method, w.path, w.body, key...)
		events := s.count(`select count(*) from event`)
		second := s.call(w.who, w.method, w.path, w.body, key...)
		if first.Status >= 300 || second.Status != first.Status || !bytes.Equal(first.Raw, second.Raw) {
			t.Errorf("%s %s: first %d %s, then %d %s", w.method, w.path, first.Status, first.Raw, second.Status, second.Raw)
		}
		if n := s.count(`select count(*) from event`); n != events {
			t.Errorf("%s %s: the second request wrote %d events", w.method, w.path, n-events)
		}
		// Without the key most of them would have been refused or done again.
	}
}

func TestARepeatedTokenComesWithoutItsSecret(t *testing.T) {
	s := newSite(t)
	key := []string{keyHeader, "token-1"}
	body := obj{"name": "Diagnosis laptop", "staff_id": s.Posy.StaffID}
	first := as[MadeToken](s.post("owner", "/tokens", body, key...), http.StatusCreated)
	again := as[MadeToken](s.post("owner", "/tokens", body, key...), http.StatusCreated)
	if first.Secret == "" || again.Secret != "" || again.ID != first.ID {
		t.Errorf("first %+v, then %+v", first, again)
	}
	s.tokens["laptop"] = first.Secret
	if me := as[Me](s.get("laptop", "/me"), http.StatusOK); me.StaffID != s.Posy.StaffID || me.Token != "Diagnosis laptop" {
		t.Errorf("the new token is %+v", me)
	}
}
