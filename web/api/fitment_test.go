package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"rampside/internal/jobcard"
)

// fitting goes through everything about the fit of parts.
func (s *site) fitting() {
	t := s.t
	t.Helper()
	text := "engine layout is V and displacement from 1500 to 1700"
	read := as[Conditions](s.post("posy", "/fit/conditions", obj{"text": text}), 200)
	again := as[Conditions](s.post("posy", "/fit/conditions", obj{"tree": read.Tree}), 200)
	if again.Text != read.Text || len(read.Facts) != 2 {
		t.Errorf("read as %q, its tree as %q", read.Text, again.Text)
	}
	judged := as[RuleVerdict](s.post("posy", "/fit/judge", obj{"text": text, "facts": []obj{
		{"key": "displacement_cc", "value": "1598", "source": "logbook"},
	}}), 200)
	if judged.Truth != "unknown" || len(judged.Settle) != 1 || judged.Settle[0].Key != "engine_layout" || judged.Settle[0].Where == "" {
		t.Errorf("judged %+v", judged)
	}
	if kinds := as[PartKinds](s.get("posy", "/fit/part-kinds"), 200); len(kinds.Kinds) != 11 {
		t.Errorf("%d kinds", len(kinds.Kinds))
	}
	set := as[SetChecks](s.post("posy", "/fit/set", obj{"items": []obj{
		{"id": "w", "name": "Wheel", "kind": "wheel", "properties": obj{"axle": "front", "barrel_radius_mm": "160.5", "measured_to_mm": "0"}},
	}, "car": obj{"front_caliper_radius_mm": "159"}}), 200)
	if set.Truth != "false" {
		t.Errorf("the set is %s", set.Truth)
	}

	c := s.book()
	s.agree(c.ID)
	line := fmt.Sprintf("/lines/%d", c.Lines[1].ID)
	part := as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), obj{
		"name": "Thermostat housing", "number": "TH-1604", "qty_milli": 1000, "line_id": c.Lines[1].ID, "supply": "arrived",
	}), 201)
	at := fmt.Sprintf("/parts/%d", part.PartID)
	round := obj{"kind": "tyre", "properties": obj{"tyre_size": "round"}, "version": 0}
	if bad := s.put("posy", at+"/fit", round).problem(http.StatusUnprocessableEntity, "invalid"); bad.at("#/properties/tyre_size") == "" {
		t.Errorf("%+v", bad)
	}
	as[Changed](s.put("posy", at+"/fit", obj{"text": "engine layout is V", "box_words": "V engines only", "version": 0}), 200)
	fit := func() PartFit {
		all := as[CardFit](s.get("posy", fmt.Sprintf("/cards/%d/fit", c.ID)), 200)
		for _, p := range all.Parts {
			if p.PartID == part.PartID {
				return p
			}
		}
		t.Fatalf("the part is not in %+v", all)
		return PartFit{}
	}
	if p := fit(); p.Verdict != jobcard.CannotTell || p.How != jobcard.Reasoned || !p.Held || len(p.Settle) != 1 || p.Version != 1 {
		t.Errorf("the part is %+v", p)
	}
	s.post("posy", line+"/strip", obj{}).problem(http.StatusConflict, "not-found-to-fit")
	s.post("posy", line+"/tick", nil).problem(http.StatusConflict, "not-found-to-fit")
	s.post("posy", at+"/waivers", obj{"verdict": "cannot tell", "reason": "it looks right"}).problem(http.StatusForbidden, "forbidden")
	waived := as[Waived](s.post("desk", at+"/waivers", obj{"verdict": "cannot tell", "reason": "the only one there is"}), 201)
	if p := fit(); p.WaiverID != waived.WaiverID || p.Held {
		t.Errorf("let through, it is %+v", p)
	}
	as[Changed](s.post("posy", at+"/measure", obj{"key": "engine_layout", "value": "inline"}), 200)
	if p := fit(); p.Verdict != jobcard.DoesNotFit || !p.Held || p.Rule == nil || p.Rule.Proof.By == "" {
		t.Errorf("measured, it is %+v", p)
	}
	as[Changed](s.post("posy", at+"/measure", obj{"key": "engine_layout", "value": "V", "was": "inline"}), 200)
	if box := as[BoxRead](s.post("posy", at+"/box", obj{"number": "88-031"}), 200); !box.Other {
		t.Errorf("the box %+v", box)
	}
	as[NumberLink](s.post("desk", "/part-numbers/links", obj{"number": "TH-1604", "other": "88-031", "kind": "same as"}), 200)
	as[BoxRead](s.post("posy", at+"/box", obj{"number": "88 031"}), 200)
	as[Changed](s.post("posy", line+"/strip", obj{}), 200)
	as[Changed](s.post("posy", line+"/strip", obj{"back_on": true}), 200)
	as[Moved](s.post("posy", line+"/tick", nil), 200)
	memory := as[PartMemory](s.get("posy", fmt.Sprintf("/part-numbers/memory?number=88-031&vehicle=%d", s.Car)), 200)
	if len(memory.Hints) != 1 || memory.Hints[0].Alike.Fitted != 1 || memory.Hints[0].Relation != "the same part" || len(memory.Links) != 1 {
		t.Errorf("remembered %+v", memory)
	}
	s.empty(s.delete("desk", "/part-numbers/links?number=TH-1604&other=88-031"))
}

func TestConditionsThatCannotBeReadAreRefusedAtTheirPlace(t *testing.T) {
	s := newSite(t)
	bad := s.post("posy", "/fit/conditions", obj{"text": "engine layout is V and fule is diesel"}).problem(http.StatusUnprocessableEntity, "invalid")
	if bad.at("#/text") == "" {
		t.Errorf("%+v", bad)
	}
	for _, tree := range []any{obj{"all": "x"}, obj{"fact": "engine_layout", "is": []string{"sideways"}}, "words", []int{1}} {
		if bad := s.post("posy", "/fit/conditions", obj{"tree": tree}).problem(http.StatusUnprocessableEntity, "invalid"); bad.at("#/tree") == "" {
			t.Errorf("%v: %+v", tree, bad)
		}
	}
	bad = s.post("posy", "/fit/set", obj{"items": []obj{{"id": "1", "name": "Tyre", "kind": "tyre", "properties": obj{"tyre_size": "round"}}}}).
		problem(http.StatusUnprocessableEntity, "invalid")
	if bad.at("#/items/0/properties/tyre_size") == "" {
		t.Errorf("%+v", bad)
	}
	oil := obj{"id": "1", "name": "Oil", "kind": "engine oil", "properties": obj{"engine_oil": "5W-30"}}
	bad = s.post("posy", "/fit/set", obj{"items": []obj{oil}, "car": obj{"rim_width_in": "wide", "colour": "red"}}).problem(http.StatusUnprocessableEntity, "invalid")
	if bad.at("#/car/rim_width_in") == "" || bad.at("#/car/colour") == "" {
		t.Errorf("%+v", bad)
	}
	if bad := s.post("posy", "/fit/set", obj{"items": []obj{oil, oil}}).problem(http.StatusUnprocessableEntity, "invalid"); bad.at("#/items/1/id") == "" {
		t.Errorf("%+v", bad)
	}
	set := as[SetChecks](s.post("posy", "/fit/set", obj{"items": []obj{{"id": "1", "name": "Tyre", "kind": "tyre", "properties": obj{"tyre_size": "205/55r16 88t"}}},
		"car": obj{"speed_symbol": "v"}}), 200)
	if said := set.Checks[1].Says; !strings.Contains(said, "the car needs V") {
		t.Errorf("a fact is not taken as facts are kept: %s", said)
	}
}
