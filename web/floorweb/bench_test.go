package floorweb_test

import (
	"fmt"
	"net/http"
	"testing"

	"rampside/internal/clocking/clocktest"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/webtest"
)

// housing is a line whose thermostat housing has come, with what its box says.
func housing(t *testing.T, s *site, facts ...vehicle.FactInput) (jobcard.CardID, jobcard.LineID, jobcard.PartID) {
	t.Helper()
	card, ls := s.Book(t, jobcard.Booking{Here: true, Lines: []jobcard.NewLine{s.Line("Thermostat housing"), s.Line("Wiper arms")}, Facts: facts}, false)
	part := s.Part(t, card, ls[0], "Housing", jobcard.Arrived)
	s.put(t, part, "engine layout is V and displacement from 1500 to 1700")
	s.Agree(t, card)
	return card, ls[0], part
}

func (s *site) put(t *testing.T, part jobcard.PartID, rule string) {
	t.Helper()
	_, err := fitment.New(s.DB).Put(t.Context(), s.Posy, fitment.PutInput{PartID: part, Rule: rule})
	clocktest.Ok(t, err)
}

func fact(key, value string, source vehicle.Source) vehicle.FactInput {
	return vehicle.FactInput{Key: key, Value: value, Source: source}
}

func TestTheBenchTakesFourTapsFromTheLineToDone(t *testing.T) {
	s := newSite(t)
	card, line, part := housing(t, s, fact("displacement_cc", "1598", vehicle.FromLogbook))
	b := webtest.Open(t, s.server.URL)
	b.Size(768, 1024)
	b.SetCookie("rampside", "posy")
	b.Go(path(line, ""))
	b.See("up to strip-down only")
	b.Dump("bench-line")
	b.Recount()
	b.Tap("Check Housing")
	if got := b.Focused(); got != "Number on the box" {
		t.Errorf("the cursor is at %q", got)
	}
	b.Dump("bench-before")
	b.Type("sl 100")
	b.Tap("See if it fits")
	b.See("cannot tell")
	b.See("Engine layout")
	b.See("look along the cylinder head")
	b.Audit(48)
	b.Dump("bench-cannot-tell")
	b.Tap("V Engine layout")
	b.See("Noted as read off the car")
	b.See("fits")
	b.Dump("bench-fits")
	b.Tap("Done, back to the line")
	if b.Taps() > 4 {
		t.Errorf("the bench took %d taps, want 4 at most", b.Taps())
	}
	b.SeeNot("up to strip-down only")
	if p, _ := s.Sheet(t, card).Part(part); p.Verdict != jobcard.Fits || p.VerdictHow != jobcard.Reasoned {
		t.Errorf("the part is %s, %s", p.Verdict, p.VerdictHow)
	}
}

func TestThePartForTheOtherEngineIsFoundOutBeforeAnythingComesOff(t *testing.T) {
	s := newSite(t)
	card, line, part := housing(t, s, fact("displacement_cc", "1598", vehicle.FromLogbook), fact("engine_layout", "inline", vehicle.FromCar))
	b := webtest.Open(t, s.server.URL)
	b.Size(768, 1024)
	b.SetCookie("rampside", "posy")
	b.Go("/floor")
	b.See("Housing does not fit")
	b.Tap("Clock on to Thermostat housing")
	b.See("up to strip-down only")
	b.Dump("gate-floor")
	// Neither a tick nor the old parts: each says which part, and leads to it.
	b.Allow("409")
	b.Tap("Tick it done Thermostat housing")
	b.See("you cannot tick it yet")
	b.See("Housing SL-100 does not fit")
	b.Audit(48)
	b.Dump("gate-tick")
	b.Go("/floor")
	b.Tap("Old parts come off Thermostat housing")
	b.See("you cannot take the old parts off yet")
	b.Tap("Check Housing")
	b.Click("How that came about")
	b.See("inline, read off the car")
	b.SeeNot("Let it through") // which is the desk's and the owner's to say
	b.Audit(48)
	b.Dump("bench-does-not-fit")
	b.Night(true)
	b.Axe()
	b.Dump("bench-night")
	b.Night(false)
	if l := s.LineOf(t, card, line); l.WorkState != jobcard.InHand || l.Stripped() {
		t.Errorf("the line is %s, stripped: %t", l.WorkState, l.Stripped())
	}
	// The owner has a reason, and the line goes on.
	b.SetCookie("rampside", "wren")
	b.Go(path(line, fmt.Sprintf("/parts/%d", part)))
	b.Click("Let it through")
	b.Fill("Why is it let through?", "we machine the flange")
	b.Tap("Let it through")
	b.See("the reason is on the card")
	b.SeeNot("up to strip-down only")
	b.SetCookie("rampside", "posy")
	b.Go("/floor")
	b.Tap("Old parts come off Thermostat housing")
	b.See("the old parts are off")
	b.Go("/floor")
	b.Tap("Tick it done Thermostat housing")
	b.See("Ticked")
}

func TestABoxOfAnotherNumberIsPutRightBeforeItIsJudged(t *testing.T) {
	s := newSite(t)
	card, line, part := housing(t, s, fact("displacement_cc", "1598", vehicle.FromLogbook), fact("engine_layout", "V", vehicle.FromCar))
	bench := path(line, fmt.Sprintf("/parts/%d", part))
	s.done(s.post("posy", bench+"/box", "number", "TH-1404"), bench+"#verdict")
	page := s.get("posy", bench)
	s.see(page, http.StatusOK, "cannot tell", "The box says TH-1404", "It is the wrong part", "The card is wrong: take TH-1404")
	s.done(s.post("posy", bench+"/box", "number", "TH-1404", "take", "yes"), bench+"#verdict")
	if p, _ := s.Sheet(t, card).Part(part); p.Number != "TH-1404" || p.Verdict != jobcard.Unchecked {
		t.Errorf("the part is %s, %s", p.Number, p.Verdict)
	}
	s.see(s.get("posy", bench), http.StatusOK, "unchecked", "conditions were given for number SL100")
	a := s.post("posy", bench+"/box", "number", " - ")
	s.see(a, http.StatusUnprocessableEntity, "Please give the number on the box")
	if a.Find("input[name=number]").AttrOr("value", "") != " - " {
		t.Error("what was typed is lost")
	}
	a = s.post("posy", bench+"/measure", "fact", "engine_layout", "value", "round", "was", "V")
	s.see(a, http.StatusUnprocessableEntity)
	s.see(s.post("posy", bench+"/conditions", "version", "1", "rule", "engine layout is"), http.StatusUnprocessableEntity, "Conditions")
	s.see(s.post("posy", bench+"/conditions", "version", "0", "rule", "any car"), http.StatusConflict, "Both versions", "any car", "Save mine over it")
	s.see(s.post("posy", bench+"/waive", "verdict", "unchecked", "reason", "it looks right"), http.StatusForbidden)
	s.see(s.post("ines", bench+"/waive", "verdict", "does not fit", "reason", "so be it"), http.StatusConflict, "by now")
}

func TestOnceStrippedALineWhoseGateClosesAgainIsNotGoneOnWith(t *testing.T) {
	s := newSite(t)
	card, line, _ := housing(t, s, fact("displacement_cc", "1598", vehicle.FromLogbook), fact("engine_layout", "V", vehicle.FromCar))
	s.done(s.post("posy", path(line, "/strip")), path(line, ""))
	s.see(s.get("posy", path(line, "")), http.StatusOK, "Old parts are on again")
	// Somebody looks again, and it is another engine.
	car := s.Sheet(t, card).VehicleID
	_, err := vehicle.New(s.DB).SetFact(t.Context(), s.Bram, vehicle.FactEdit{VehicleID: car, FactInput: fact("engine_layout", "inline", vehicle.FromCar), Was: "V"})
	clocktest.Ok(t, err)
	s.see(s.get("posy", "/floor"), http.StatusOK, "The old parts are off, and Housing SL-100 does not fit")
	a := s.post("posy", path(line, "/on"))
	s.see(a, http.StatusConflict, "you cannot go on with it yet", "Housing SL-100 does not fit", "Check Housing")
	s.done(s.post("posy", path(line, "/strip"), "back_on", "yes"), path(line, ""))
	s.done(s.post("posy", path(line, "/on")), "/floor")
}
